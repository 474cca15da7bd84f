"""Networks: stations tied together by the points they have in common."""

from .residuals import Misfit, suspects
from .tie import TieResult, tie
from .weights import block_covariance

__all__ = ["Misfit", "TieResult", "block_covariance", "suspects", "tie"]
