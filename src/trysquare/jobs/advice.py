"""What next: what to do about the largest contributions to an undecided requirement, and what it would bring.

A prediction scales the variance of what one remedy acts on and keeps the value; it is a prediction, and says so.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ..chance.decision import judge_statement
from ..chance.sources import Source
from ..chance.statement import Statement
from .result import Contribution, Next

#: A thermometer that stays on the part does this well: common practice, no source.
GOOD_THERMOMETER_K = 0.1
#: A tracker is rarely set up nearer to the part: common practice, no source.
NEAREST_M = 3.0
#: Contributions smaller than this are not worth a step.
_WORTH = 0.05


@dataclass(frozen=True)
class Remedy:
    """What to do, whom it helps, and the part of the whole variance that it takes away."""

    cause: str
    share: float
    text: str
    saved: float

    @property
    def ratio(self) -> float:
        """U afterwards over U now."""
        return math.sqrt(max(0.0, 1.0 - self.saved))


@dataclass(frozen=True)
class Case:
    """What the advice needs to know of a requirement: limits, rule, distance of stations (m), unit."""

    limits: tuple[float | None, float | None]
    prove: str
    probability: float
    distances_m: Mapping[str, float]
    unit: str

    def verdict(self, statement: Statement) -> str:
        """The verdict that a statement would get."""
        return judge_statement(statement, *self.limits, prove=self.prove, probability=self.probability).verdict


def advise(
    statement: Statement, contributions: Sequence[Contribution], sources: Mapping[str, Source], case: Case
) -> Next | None:
    """The next step for an undecided requirement: a remedy that decides it if there is one, else the best there is."""
    if statement.reason is not None:
        return Next(text=f"{statement.reason[0].upper()}{statement.reason[1:].rstrip('.')}.")
    found = sorted(remedies(contributions, sources, case.distances_m), key=lambda r: r.ratio)
    if not found or statement.interval is None:
        return None
    deciding = [r for r in found if case.verdict(statement.narrowed(r.ratio)) != "undecided"]
    best = deciding[0] if deciding else found[0]
    then = statement.narrowed(best.ratio)
    now, later = _half(statement), _half(then)
    text = (
        f"{100 * best.share:.0f} % of this uncertainty is {best.cause}. {best.text}: predicted "
        f"U {_two(now)} → {_two(later)} {case.unit}; if the value stays, {_ending(case.verdict(then))}"
    )
    if not deciding:
        text += " " + _needed(statement, case)
    return Next(text=text, predicted_U=later, predicted_interval=then.interval)


def remedies(
    contributions: Sequence[Contribution], sources: Mapping[str, Source], distances_m: Mapping[str, float]
) -> list[Remedy]:
    """One remedy for each contribution worth a step; moving a station helps its angles and its beam together."""
    shares = {c.source: c.share for c in contributions}
    out = []
    for contribution in contributions:
        if contribution.share < _WORTH:
            break
        moved = _moved(contribution, shares, distances_m)
        out.append(moved or _other(contribution, sources.get(contribution.source)))
    return list({r.text: r for r in reversed(out)}.values())


def _moved(c: Contribution, shares: Mapping[str, float], distances_m: Mapping[str, float]) -> Remedy | None:
    """Moving the station nearer: errors of angles shrink with the distance, those of moving air with its 3/2 power."""
    station, _, what = c.source.partition(": ")
    distance = distances_m.get(station.removeprefix("station "))
    if what not in ("angles", "beam through moving air") or distance is None or distance < 1.3 * NEAREST_M:
        return None
    near = max(NEAREST_M, distance / 2)
    angles, air = (shares.get(f"{station}: {name}", 0.0) for name in ("angles", "beam through moving air"))
    k = near / distance
    return Remedy(
        f"the angles of {station} at {distance:.1f} m", angles + air, f"Move it to {near:.1f} m",
        angles * (1 - k**2) + air * (1 - k**3),
    )  # fmt: skip


def _other(c: Contribution, source: Source | None) -> Remedy:
    if source is None:
        return Remedy(c.source, c.share, "Touch twice as many points on the feature", 0.5 * c.share)
    if source.scope == "temperature history" and source.u > GOOD_THERMOMETER_K:
        kept = (GOOD_THERMOMETER_K / source.u) ** 2
        text = f"Let the part soak and know the temperature to {GOOD_THERMOMETER_K} K"
        return Remedy(c.source, c.share, text, (1 - kept) * c.share)
    if source.scope in ("reading", "point", "aim", "pose"):
        return Remedy(c.source, c.share, "Measure twice as many points there", 0.5 * c.share)
    text = source.action[:1].upper() + source.action[1:] or "Halve it"
    return Remedy(c.source, c.share, text, 0.75 * c.share)


def _ending(verdict: str) -> str:
    proven = {"accept": "conformity is proven.", "reject": "non-conformity is proven."}
    return proven.get(verdict, "it stays undecided.")


def _needed(statement: Statement, case: Case) -> str:
    """The U that would decide the value as it stands, or that none would."""
    low, high = 0.02, 1.0
    if case.verdict(statement.narrowed(low)) == "undecided":
        return "The value lies on its limit: no measurement here decides it. Rework, or ask the owner of the drawing."
    for _ in range(20):
        middle = math.sqrt(low * high)
        low, high = (low, middle) if case.verdict(statement.narrowed(middle)) == "undecided" else (middle, high)
    return f"Only U below {_two(low * _half(statement))} {case.unit} would decide it: rework, or a better instrument."


def _half(statement: Statement) -> float:
    low, high = statement.interval or (0.0, 0.0)
    return (high - low) / 2


def _two(x: float) -> str:
    """Two significant figures."""
    if x <= 0:
        return "0"
    return f"{x:.{max(0, 1 - math.floor(math.log10(x)))}f}"
