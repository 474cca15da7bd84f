"""Where to draw the line for a whole process: the equal guard for a target risk, and the one of least cost."""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..core.arrays import Array
from ..core.errors import InputError
from .population import Population, Risks
from .quadrature import grades

_BISECTIONS = 200
_TIE = 1e-13  # costs closer than this, in parts of the larger cost, are equal to rounding


def guard_for_risk(population: Population, target: float) -> float | None:
    """The equal guard at which the global consumer's risk is `target`; None: every part may be accepted.

    The risk falls as the guard grows; found by bisection to rounding. A negative guard lies outside the limits.
    """
    if not 0 < target < 1:
        raise InputError(
            "a decision", "the target consumer's risk", "lie between 0 and 1", f"{target:g}", "Correct it."
        )

    def excess(guard: float) -> float:
        return target - population.risks(*population.guarded(guard)).consumer

    if population.risks(-math.inf, math.inf).consumer <= target:
        return None
    wide, narrow = population.guard_range()
    reach = narrow - wide
    while excess(wide) >= 0:
        wide -= reach
        reach *= 2
    return _root(excess, wide, narrow)


@dataclass(frozen=True)
class Cheapest:
    """The equal guard of least expected cost; `accepts` "all" or "none" (guard None) where that is cheaper still."""

    guard: float | None
    cost: float
    accepts: str


def cheapest_guard(population: Population, wrong_accept: float, wrong_reject: float) -> Cheapest:
    """The equal guard of least expected cost per part: `wrong_accept` and `wrong_reject` cost per such part.

    Every local minimum is the root of the cost's slope (a guard that grows by dg trades, at both acceptance limits,
    wrong acceptances against wrong rejections); the least of them and of the two ends is taken.
    """
    check_costs(wrong_accept, wrong_reject)
    everything = population.risks(-math.inf, math.inf)
    ends = (
        Cheapest(None, wrong_accept * everything.consumer, "all"),
        Cheapest(None, wrong_reject * everything.conforming, "none"),
    )
    best = min(ends, key=lambda end: end.cost)

    def slope(guard: float) -> float:
        return _slope(population, guard, wrong_accept, wrong_reject)

    grid = _guard_grid(population)
    slopes = [slope(g) for g in grid]
    for i in np.flatnonzero((np.array(slopes[:-1]) < 0) & (np.array(slopes[1:]) >= 0)):
        guard = _root(slope, grid[i], grid[i + 1])
        cost = expected_cost(population.risks(*population.guarded(guard)), wrong_accept, wrong_reject)
        if cost < best.cost - _TIE * max(wrong_accept, wrong_reject):
            best = Cheapest(guard, cost, "some")
    return best


def expected_cost(risks: Risks, wrong_accept: float, wrong_reject: float) -> float:
    """Expected cost per part."""
    return wrong_accept * risks.consumer + wrong_reject * risks.producer


def check_costs(wrong_accept: float, wrong_reject: float) -> None:
    """Raise `InputError` unless both are finite and not negative, and one is above zero."""
    if not (0 <= wrong_accept < math.inf and 0 <= wrong_reject < math.inf and wrong_accept + wrong_reject > 0):
        raise InputError(
            "a decision", "the costs", "be zero or more, and not both zero", f"{wrong_accept:g} and {wrong_reject:g}",
            "Give what one wrong acceptance and one wrong rejection cost, in the same currency.",
        )  # fmt: skip


def _guard_grid(population: Population) -> Array:
    wide, narrow = population.guard_range()
    even = np.linspace(wide, narrow, 161)
    near = population.law.u * grades(max(abs(wide), abs(narrow)) / population.law.u)
    return np.unique(np.concatenate([even, near[(near > wide) & (near < narrow)]]))


def _slope(population: Population, guard: float, wrong_accept: float, wrong_reject: float) -> float:
    """Change of the expected cost with the guard: sum over both acceptance limits of the cost weighed there."""
    total = 0.0
    for limit in population.guarded(guard):
        if math.isfinite(limit):
            x, share, conforms = population.nodes(limit)
            joint = share * population.law.density(limit - x)
            total += wrong_reject * float(joint[conforms].sum()) - wrong_accept * float(joint[~conforms].sum())
    return total


def _root(function: Callable[[float], float], below: float, above: float) -> float:
    """The root of `function`, negative at `below` and not at `above`: bisection to rounding."""
    low, high = float(below), float(above)
    for _ in range(_BISECTIONS):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        low, high = (middle, high) if function(middle) < 0 else (low, middle)
    return high
