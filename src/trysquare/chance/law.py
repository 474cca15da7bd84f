"""The law of a reading's error: normal, or Student's t where the standard uncertainty has degrees of freedom."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array
from ..core.errors import InputError


@dataclass(frozen=True)
class Law:
    """Errors u T, T standard normal, or Student's t with `df` degrees of freedom (GUM G.3).

    With finite `df`, `u` is the scale of T (what GUM calls u), not the standard deviation of u T.
    """

    u: float
    df: float = math.inf

    def __post_init__(self) -> None:
        if not (math.isfinite(self.u) and self.u > 0):
            raise InputError(
                "a reading's error", "u", "be above zero", repr(self.u), "Give the standard uncertainty of the value."
            )
        if not self.df >= 1:
            raise InputError(
                "a reading's error", "df", "be 1 or more", repr(self.df), "Leave it out where u is well known."
            )

    def below(self, error: npt.ArrayLike) -> Array:
        """Probability that an error lies below `error` (...), exact in the lower tail."""
        from scipy.special import ndtr, stdtr

        t = np.asarray(error, dtype=np.float64) / self.u
        return np.asarray(ndtr(t) if math.isinf(self.df) else stdtr(self.df, t), dtype=np.float64)

    def log_density(self, error: npt.ArrayLike) -> Array:
        """Logarithm of the probability density of an error (...), per unit of u."""
        from scipy.special import gammaln

        t = np.asarray(error, dtype=np.float64) / self.u
        if math.isinf(self.df):
            return -0.5 * t * t - math.log(math.sqrt(2 * math.pi) * self.u)
        half = self.df / 2
        log_c = float(gammaln(half + 0.5) - gammaln(half)) - 0.5 * math.log(self.df * math.pi) - math.log(self.u)
        return log_c - (half + 0.5) * np.log1p(t * t / self.df)

    def density(self, error: npt.ArrayLike) -> Array:
        """Probability density of an error (...), per unit of u."""
        return np.exp(self.log_density(error))

    def quantile(self, p: float) -> float:
        """The error below which a share `p` of all errors lies."""
        from scipy.special import ndtri, stdtrit

        return self.u * float(ndtri(p) if math.isinf(self.df) else stdtrit(self.df, p))
