"""What may be said of one characteristic: its value, its interval, and how much confidence lies below any limit."""

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array, finite
from ..core.errors import InputError

_TAIL = (0.0005, 0.001, 0.002, 0.003, 0.005, 0.0075, 0.01, 0.015, 0.02, 0.025, 0.03, 0.035, 0.04)

#: Confidence levels at which a statement lists its quantiles: 99 of them, symmetric, closer together in the tails.
P_GRID: tuple[float, ...] = (
    *_TAIL,
    *(round(0.05 + 0.0125 * i, 4) for i in range(73)),
    *(round(1.0 - p, 4) for p in reversed(_TAIL)),
)

#: Lower confidence up to here carries claims; above it only shows where the value may be.
_CLAIMS = 0.05
KINDS = ("smooth", "magnitude", "extreme", "attribute")


@dataclass(frozen=True, eq=False)
class Statement:
    """What the measurement says of the true value of one characteristic, in the unit of the characteristic.

    `interval` holds the true value with probability `coverage` over repeated measurements (two-sided). `quantiles`
    (len(P_GRID),) is the confidence distribution of the true value; its tails carry the one-sided claims. With a
    `reason` nothing can be claimed: `interval`, `quantiles` and, where not even a reading exists, `value` are None.
    """

    kind: str
    value: float | None
    u: float | None
    interval: tuple[float, float] | None
    quantiles: Array | None
    coverage: float = 0.95
    method: str = ""
    notes: tuple[str, ...] = ()
    reason: str | None = None

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise InputError("a statement", "kind", f"be one of {', '.join(KINDS)}", repr(self.kind), "Correct it.")
        if self.quantiles is not None and self.quantiles.shape != (len(P_GRID),):
            raise InputError(
                "a statement", "quantiles", f"be {len(P_GRID)} numbers", f"{self.quantiles.shape}", "Use P_GRID."
            )

    def below(self, x: float) -> float:
        """Confidence that the true value is below `x`; never claims more than the ends of P_GRID, nan with a reason."""
        q = self.quantiles
        if q is None:
            return math.nan
        j = int(np.searchsorted(q, x, side="right")) - 1
        if j < 0:
            return P_GRID[0]
        if j >= len(P_GRID) - 1:
            return P_GRID[-1]
        step = (x - q[j]) / (q[j + 1] - q[j])
        return float(P_GRID[j] + step * (P_GRID[j + 1] - P_GRID[j]))

    def narrowed(self, ratio: float) -> "Statement":
        """The statement as it would be with `ratio` times the doubt about the same value: a prediction."""
        if self.value is None or self.u is None or self.interval is None or self.quantiles is None:
            return self
        low, high = (self.value + ratio * (end - self.value) for end in self.interval)
        quantiles = self.value + ratio * (self.quantiles - self.value)
        return replace(self, u=ratio * self.u, interval=(low, high), quantiles=quantiles)

    def taken_from(self, whole: float) -> "Statement":
        """The statement of `whole` less this characteristic."""
        if self.value is None or self.interval is None or self.quantiles is None:
            return self
        low, high = self.interval
        return replace(
            self, value=whole - self.value, interval=(whole - high, whole - low), quantiles=whole - self.quantiles[::-1]
        )

    def quantile(self, p: float) -> float:
        """Value below which the true value lies with confidence `p` (held at the ends of P_GRID); nan with a reason."""
        return math.nan if self.quantiles is None else float(np.interp(p, P_GRID, self.quantiles))


def ranked(samples: npt.ArrayLike, p: npt.ArrayLike) -> Array:
    """Quantiles (..., ) of samples (M,) at `p`, on ranks of M + 1 (NumPy's "weibull"; Hyndman and Fan's type 6)."""
    return np.quantile(np.asarray(samples, dtype=np.float64), np.asarray(p, dtype=np.float64), method="weibull")


def ends(coverage: float) -> tuple[float, float]:
    """The two probabilities that leave the same amount out at either side."""
    if not 0.0 < coverage < 1.0:
        raise InputError("a statement", "coverage", "lie between 0 and 1", f"{coverage}", "Give 0.95, for example.")
    return (1.0 - coverage) / 2.0, (1.0 + coverage) / 2.0


def shared(p: npt.ArrayLike, among: int) -> Array:
    """Lower-tail probabilities (...) as each of `among` numbers must answer for them (Bonferroni).

    p / among up to 0.05, where claims are made; from there it grows evenly to 0.5, and is p above: no hole in between.
    """
    x = np.asarray(p, dtype=np.float64)
    tail = _CLAIMS / among
    middle = tail + (x - _CLAIMS) / (0.5 - _CLAIMS) * (0.5 - tail)
    return np.where(x < _CLAIMS, x / among, np.where(x < 0.5, middle, x))


def from_samples(
    kind: str,
    value: float,
    samples: npt.ArrayLike,
    *,
    u: float | None = None,
    coverage: float = 0.95,
    method: str = "percentiles of the draws",
    notes: tuple[str, ...] = (),
) -> Statement:
    """Statement from samples (M,) of the true value's confidence (or posterior) distribution, M >= 2.

    Raises
    ------
    InputError : a sample is not finite, or there are fewer than two.
    """
    array = finite(np.asarray(samples, dtype=np.float64), where="samples of a characteristic")
    if array.ndim != 1 or array.size < 2:
        raise InputError(
            "samples of a characteristic",
            "their shape",
            "be (M,) with M of two or more",
            f"{array.shape}",
            "Draw more.",
        )
    lower, upper = ranked(array, ends(coverage))
    return Statement(
        kind=kind, value=float(value), u=float(array.std(ddof=1)) if u is None else u,
        interval=(float(lower), float(upper)), quantiles=ranked(array, P_GRID), coverage=coverage, method=method,
        notes=notes,
    )  # fmt: skip


def not_stated(
    kind: str, reason: str, *, value: float | None = None, coverage: float = 0.95, notes: tuple[str, ...] = ()
) -> Statement:
    """The statement that nothing can be claimed, and why; `value` is a raw reading that claims nothing."""
    return Statement(kind, value, None, None, None, coverage, "none", notes, reason)
