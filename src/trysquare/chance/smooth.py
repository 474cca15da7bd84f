"""Characteristics that follow the readings nearly linearly: sizes, distances, coordinates, angles far from zero."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from .statement import P_GRID, Statement, ends, from_samples, ranked, shared


def smooth(value: float, draws: npt.ArrayLike, *, coverage: float = 0.95) -> Statement:
    """Statement from draws (M,) of the characteristic, each perturbed by one draw of every error.

    Percentiles of the draws (JCGM 101:2008, 7.7, probabilistically symmetric), on ranks of M + 1. Right only where
    the characteristic is near linear over the errors; distances from perfect are `magnitude`, worst-of-surface
    characteristics are `extreme`.

    Raises
    ------
    InputError : a draw is not finite, or there are fewer than two.
    """
    return from_samples("smooth", value, draws, coverage=coverage)


def picked(statement: Statement, draws: npt.ArrayLike, among: int, *, high: bool) -> Statement:
    """The statement of a number that was picked, among several, for lying furthest towards a limit.

    A reading that stands out is partly luck: its interval is that of `coverage` for all `among` numbers at once
    (Bonferroni), and so is the confidence that the truth lies as far out (`high`: towards the upper limit). Confidence
    that the truth lies further in is left as it is: accepting all needs each, an intersection-union test.
    """
    array = np.asarray(draws, dtype=np.float64)
    lower, upper = ranked(array, ends(1.0 - (1.0 - statement.coverage) / among))
    p = np.asarray(P_GRID)
    kept = shared(p, among) if high else 1.0 - shared(1.0 - p, among)
    said = f"{statement.method}; picked among {among}"
    return replace(statement, interval=(float(lower), float(upper)), quantiles=ranked(array, kept), method=said)
