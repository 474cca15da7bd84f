"""What next: for a requirement that is not decided, the largest contribution, what to do about it, what it would bring.

The prediction scales the variance of that one contribution and keeps the value; it is a prediction, and says so.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from ..chance.decision import judge_statement
from ..chance.sources import Source
from ..chance.statement import Statement
from ..core.arrays import Array
from .result import Contribution, Next

#: A thermometer that stays on the part does this well: common practice, no source.
_GOOD_THERMOMETER_K = 0.1
#: A tracker is rarely set up nearer to the part: common practice, no source.
_NEAREST_M = 3.0


@dataclass(frozen=True)
class Remedy:
    """What to do about one contribution and by which factor its variance would fall."""

    text: str
    factor: float


def advise(
    statement: Statement,
    limits: tuple[float | None, float | None],
    contributions: Sequence[Contribution],
    sources: Mapping[str, Source],
    *,
    probability: float,
    prove: str,
    distances_m: Mapping[str, float],
    unit: str,
) -> Next | None:
    """The next step for an undecided requirement; None where nothing can be predicted."""
    if statement.reason is not None:
        return Next(text=f"{statement.reason[0].upper()}{statement.reason[1:].rstrip('.')}.")
    if not contributions or statement.quantiles is None or statement.value is None or statement.interval is None:
        return None
    largest = contributions[0]
    remedy = _remedy(largest, sources, distances_m)
    ratio = math.sqrt(max(0.0, 1.0 - largest.share * (1.0 - remedy.factor)))
    then = _narrowed(statement, ratio)
    verdict = judge_statement(then, *limits, prove=prove, probability=probability).verdict
    before, after = _half(statement), _half(then)
    text = (
        f"{100 * largest.share:.0f} % of this uncertainty is {largest.source}. {remedy.text}: predicted "
        f"U {_two(before)} to {_two(after)} {unit}; if the value stays, " + _ending(verdict)
    )
    return Next(text=text, predicted_U=after, predicted_interval=then.interval)


def _ending(verdict: str) -> str:
    if verdict == "accept":
        return "conformity is proven."
    if verdict == "reject":
        return "non-conformity is proven."
    return "it stays undecided: the value lies too near its limit. Rework, or ask the owner of the drawing."


def _remedy(largest: Contribution, sources: Mapping[str, Source], distances_m: Mapping[str, float]) -> Remedy:
    source = sources.get(largest.source)
    station, _, what = largest.source.partition(": ")
    distance = distances_m.get(station.removeprefix("station "))
    if distance is not None and "angle" in what and distance > 1.3 * _NEAREST_M:
        near = max(_NEAREST_M, distance / 2)
        return Remedy(f"Move {station} from {distance:.1f} m to {near:.1f} m", (near / distance) ** 2)
    if source is None:
        return Remedy("Touch twice as many points on the feature", 0.5)
    if source.scope == "temperature history":
        good = min(1.0, _GOOD_THERMOMETER_K / source.u)
        return Remedy(f"Measure the part's temperature to {_GOOD_THERMOMETER_K} K", good * good)
    if source.scope in ("reading", "point", "aim", "pose"):
        return Remedy(_sentence(source.action) or "Measure twice as many points", 0.5)
    return Remedy(_sentence(source.action) or "Halve it", 0.25)


def _sentence(action: str) -> str:
    return action[:1].upper() + action[1:]


def _narrowed(statement: Statement, ratio: float) -> Statement:
    """The statement as it would be with `ratio` times the doubt about the same value."""
    value = statement.value or 0.0

    def near(x: Array | float) -> Any:
        return value + ratio * (x - value)

    return replace(
        statement,
        u=None if statement.u is None else ratio * statement.u,
        interval=None if statement.interval is None else (near(statement.interval[0]), near(statement.interval[1])),
        quantiles=None if statement.quantiles is None else near(statement.quantiles),
    )


def _half(statement: Statement) -> float:
    low, high = statement.interval or (0.0, 0.0)
    return (high - low) / 2


def _two(x: float) -> str:
    """Two significant figures."""
    if x <= 0:
        return "0"
    return f"{x:.{max(0, 1 - math.floor(math.log10(x)))}f}"
