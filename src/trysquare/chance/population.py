"""A process, how its parts read, and the risks of accepting by the reading.

JCGM 106:2012, 9: parts X follow the process, a part reads Y = X + error, and is accepted when Y lies within the
acceptance limits. Global consumer's risk: the share of all parts that is accepted and does not conform. Global
producer's risk: the share that is rejected and does conform.
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array
from ..core.errors import InputError
from .law import Law
from .quadrature import grades, panels

Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Process:
    """What the process makes: N(centre, spread^2), or lognormal with median `centre` and log spread `spread`."""

    centre: float
    spread: float
    lognormal: bool = False

    def __post_init__(self) -> None:
        if not (math.isfinite(self.spread) and self.spread > 0):
            raise InputError("a process", "its spread", "be above zero", repr(self.spread), "Give its sd.")
        if self.lognormal and self.spread > 20:
            raise InputError(
                "a process", "its log sd", "be at most 20", f"{self.spread:g}", "Give the sd of ln(value)."
            )
        if not math.isfinite(self.centre) or (self.lognormal and not self.centre > 0):
            rule = "be above zero" if self.lognormal else "be finite"
            raise InputError("a process", "its centre", rule, repr(self.centre), "Give its mean or median.")

    def value(self, z: Array) -> Array:
        """The part at z standard deviations."""
        return self.centre * np.exp(self.spread * z) if self.lognormal else self.centre + self.spread * z

    def standard(self, x: Array) -> Array:
        """Inverse of `value`; -inf where no part can be."""
        if not self.lognormal:
            return (x - self.centre) / self.spread
        with np.errstate(divide="ignore"):
            return np.log(np.maximum(x, 0.0) / self.centre) / self.spread

    def __str__(self) -> str:
        if self.lognormal:
            return f"lognormal, median {self.centre:g} mm, log sd {self.spread:g}"
        return f"normal, mean {self.centre:g} mm, sd {self.spread:g} mm"


@dataclass(frozen=True)
class Risks:
    """Shares of all parts: accepted wrongly, rejected wrongly, conforming, accepted."""

    consumer: float
    producer: float
    conforming: float
    accepted: float


@dataclass(frozen=True)
class Population:
    """A process, the law of the readings' error, and the limits: -inf or inf where there is none."""

    process: Process
    law: Law
    lower: float = -math.inf
    upper: float = math.inf

    def nodes(self, *edges: float) -> tuple[Array, Array, Flags]:
        """Parts x (n,), their share of the population, and whether each conforms; sharp edges at `edges`."""
        u, process = self.law.u, self.process
        reach = float(np.abs(process.value(np.array([-12.0, 12.0])) - self._middle()).max())
        near = [e + u * grades(min(reach / u + 8.0, 1e12)) for e in edges if math.isfinite(e)]
        limits = [np.array([x for x in (self.lower, self.upper) if math.isfinite(x)])]
        step = 0.5 / max(1.0, process.spread) if process.lognormal else 0.5
        z, w = panels(list(process.standard(np.concatenate(near + limits))), step=step)
        x = process.value(z)
        share = w * np.exp(-0.5 * z * z) / math.sqrt(2 * math.pi)
        return x, share, (x >= self.lower) & (x <= self.upper)

    def _middle(self) -> float:
        return next((x for x in (self.lower, self.upper) if math.isfinite(x)), self.process.centre)

    def risks(self, acceptance_lower: float, acceptance_upper: float) -> Risks:
        """Global risks when readings from `acceptance_lower` to `acceptance_upper` are accepted (absolute 1e-12)."""
        x, share, conforms = self.nodes(acceptance_lower, acceptance_upper)
        accepted, rejected = self._reads_between(x, acceptance_lower, acceptance_upper)
        return Risks(
            consumer=float((share * accepted)[~conforms].sum()),
            producer=float((share * rejected)[conforms].sum()),
            conforming=float(share[conforms].sum()),
            accepted=float((share * accepted).sum()),
        )

    def _reads_between(self, x: Array, low: float, high: float) -> tuple[Array, Array]:
        """Probabilities that a part x reads between `low` and `high`, and that it does not: small ones exactly."""
        if not low < high:
            return np.zeros(x.shape), np.ones(x.shape)
        below, above = self._chance(low - x), self._chance(x - high)  # of reading below low, above high
        left, right = self._chance(high - x) - below, self._chance(x - low) - above
        accepted = np.where(x > high, left, np.where(x < low, right, 1.0 - below - above))
        return accepted, np.where((x < low) | (x > high), 1.0 - accepted, below + above)

    def _chance(self, error: Array) -> Array:
        return np.asarray(self.law.below(error))

    def conforming_given(self, value: float) -> float:
        """Probability that a part which reads `value` conforms, with the process as prior."""
        x, share, conforms = self.nodes(value)
        joint = share * self.law.density(value - x)
        if not joint.sum() > 0:
            raise InputError(
                "a decision", "the value", "be possible for the process", f"{value:g}", "Check the process."
            )
        return float(joint[conforms].sum() / joint.sum())

    def guarded(self, guard: float) -> tuple[float, float]:
        """Acceptance limits `guard` inside the limits."""
        return self.lower + guard, self.upper - guard

    def guard_range(self) -> tuple[float, float]:
        """From a guard that accepts all that reads within 9 spreads of the process, to one that accepts nothing."""
        ends = self.process.value(np.array([-9.0, 9.0]))
        low, high = float(ends[0]) - 9 * self.law.u, float(ends[1]) + 9 * self.law.u
        outward = [self.lower - low] * math.isfinite(self.lower) + [high - self.upper] * math.isfinite(self.upper)
        first = min(-max(outward), -9 * self.law.u)
        if math.isfinite(self.lower) and math.isfinite(self.upper):
            return first, (self.upper - self.lower) / 2
        inward = high - self.lower if math.isfinite(self.lower) else self.upper - low
        return first, max(inward, 9 * self.law.u)
