"""Decisions from a value and its standard uncertainty: normal, or Student's t. Batched where it pays."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array
from ..core.errors import InputError
from .decision import Decision, Pair, check_rule, decided, threshold
from .law import Law
from .quadrature import grades, panels

_BISECTIONS = 120


@dataclass(frozen=True)
class Prior:
    """What is known of the part before it is measured: N(mean, sd^2), or flat where both are None."""

    mean: float | None = None
    sd: float | None = None
    origin: str = ""

    def __post_init__(self) -> None:
        if (self.mean is None) != (self.sd is None):
            raise InputError(
                "a prior", "mean and sd", "be given together", "one of them", "Give both, or a flat prior."
            )
        if self.sd is not None and not (math.isfinite(self.sd) and self.sd > 0):
            raise InputError("a prior", "sd", "be above zero", repr(self.sd), "Give the spread of the parts.")

    def __str__(self) -> str:
        text = "flat" if self.mean is None else f"normal, mean {self.mean:g} mm, sd {self.sd:g} mm"
        return f"{text} ({self.origin})" if self.origin else text


def tails(value: npt.ArrayLike, law: Law, lower: float | None, upper: float | None) -> tuple[Array, Array]:
    """Confidence that the true value lies below `lower` and above `upper`, for values (...); 0 without a limit."""
    v = np.asarray(value, dtype=np.float64)
    return (
        np.zeros(v.shape) if lower is None else law.below(lower - v),
        np.zeros(v.shape) if upper is None else law.below(v - upper),
    )


def interval(value: float, law: Law, coverage: float = 0.95) -> tuple[float, float]:
    """Two-sided interval that holds the true value with probability `coverage`."""
    half = law.quantile(0.5 + coverage / 2)
    return value - half, value + half


def equal_guard(
    law: Law, lower: float | None, upper: float | None, *, prove: str = "conformity", probability: float = 0.95
) -> float | None:
    """Distance inside each limit at which a value is just accepted; negative when non-conformity is to be proven.

    With one limit: the quantile of the law. With two, the same at both, such that the confidence beyond the one and
    the other together is 1 - P (or P): found by bisection to rounding. None when no value can be accepted.
    """
    check_rule(lower, upper, prove=prove, probability=probability)
    alpha = threshold(prove, probability)
    single = -law.quantile(alpha)
    if lower is None or upper is None:
        return single
    width = upper - lower

    def risk(guard: float) -> float:
        return float(law.below(-guard) + law.below(guard - width))

    inner = width / 2
    if risk(inner) > alpha:
        return None
    outer = min(single, inner)
    for _ in range(_BISECTIONS):
        middle = 0.5 * (outer + inner)
        if middle in (outer, inner):
            break
        outer, inner = (middle, inner) if risk(middle) > alpha else (outer, middle)
    return inner


def judge_normal(
    value: float,
    law: Law,
    lower: float | None,
    upper: float | None,
    *,
    prove: str = "conformity",
    probability: float = 0.95,
) -> Decision:
    """Judge a value with a normal or Student error (ISO 14253-1); see `decision` for what each verdict means.

    Raises
    ------
    InputError : a value that is not finite, no limit, limits in the wrong order, a rule that makes no sense.
    """
    if not math.isfinite(value):
        raise InputError("a decision", "the value", "be finite", repr(value), "Correct it.")
    guard = equal_guard(law, lower, upper, prove=prove, probability=probability)
    low, high = tails(value, law, lower, upper)
    pair: Pair | None = None
    if guard is not None:
        pair = (None if lower is None else guard, None if upper is None else guard)
    return decided((float(low), float(high)), pair, lower, upper, prove=prove, probability=probability)


def p_beyond(value: float, law: Law, lower: float | None, upper: float | None, prior: Prior) -> float:
    """Probability that this part does not conform, given its value and the prior (JCGM 106:2012, 7).

    Flat: the law about the value. Normal prior and normal law: conjugate, in closed form. Normal prior and Student
    law: quadrature.
    """
    if prior.mean is None or prior.sd is None:
        low, high = tails(value, law, lower, upper)
    elif math.isinf(law.df):
        weight = prior.sd**2 / (prior.sd**2 + law.u**2)
        mean = weight * value + (1 - weight) * prior.mean
        low, high = tails(mean, Law(math.sqrt(weight) * law.u), lower, upper)
    else:
        return _by_quadrature(value, law, lower, upper, prior.mean, prior.sd)
    return float(low + high)


def _by_quadrature(value: float, law: Law, lower: float | None, upper: float | None, mean: float, sd: float) -> float:
    """Share of the posterior beyond the limits; panels crowd about the prior, the value and the mode between them."""
    width = 1.0 / math.hypot(1.0 / sd, 1.0 / law.u)

    def log_posterior(x: Array) -> Array:
        return -0.5 * ((x - mean) / sd) ** 2 + law.log_density(value - x)

    line = np.linspace(mean, value, 2001)
    mode = float(line[int(np.argmax(log_posterior(line)))])
    span = (min(mean, value) - 12 * sd, max(mean, value) + 12 * sd)
    fine = width * grades((span[1] - span[0]) / width)
    limits = [x for x in (lower, upper) if x is not None]
    x, w = panels([*limits, *(mean + fine), *(value + fine), *(mode + fine)], span=span)
    log_joint = log_posterior(x)
    joint = w * np.exp(log_joint - log_joint.max())
    beyond = (x < (-math.inf if lower is None else lower)) | (x > (math.inf if upper is None else upper))
    return float(joint[beyond].sum() / joint.sum())
