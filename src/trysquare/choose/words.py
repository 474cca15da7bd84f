"""From a predicted u to a word: how much of the zone is left for the maker, and in one sentence why."""

import math
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

from ..jobs.job import DIMENSIONS, Requirement

#: Shares of the zone left for the maker: "holds" from the first, "holds if" he keeps to what is left from the second.
HOLDS, LIMITED = 0.6, 0.25


@dataclass(frozen=True)
class ZoneWidth:
    """`width` in mm or rad, None for a limit that leaves the other side open; `sides` that doubt eats from."""

    width: float | None
    sides: int
    note: str = ""


def zone_of(r: Requirement) -> ZoneWidth:
    """How wide the zone of a requirement is. With one limit only it is what lies between nominal and limit."""
    if r.characteristic not in DIMENSIONS:
        return ZoneWidth(r.upper, 1)
    if r.lower is not None and r.upper is not None:
        return ZoneWidth(r.upper - r.lower, 2)
    limit = r.lower if r.upper is None else r.upper
    if r.nominal is None or limit is None or math.isclose(r.nominal, limit, rel_tol=1e-12):
        return ZoneWidth(None, 1, "the zone is open: nothing to share")
    return ZoneWidth(abs(limit - r.nominal), 1, "zone taken from nominal to limit")


def limits_of(r: Requirement) -> Literal["both", "zero", "least", "most"]:
    """How the zone is bounded."""
    if r.characteristic not in DIMENSIONS:
        return "zero"
    if r.lower is None:
        return "most"
    return "least" if r.upper is None else "both"


def factor(probability: float) -> float:
    """Standard uncertainties between a limit and the acceptance limit, normal: 1.645 for 95 %."""
    return NormalDist().inv_cdf(probability)


def target_u(zone: ZoneWidth, probability: float, *, left: float = HOLDS) -> float | None:
    """The u that leaves this share of the zone to the maker."""
    return None if zone.width is None else (1.0 - left) * zone.width / (zone.sides * factor(probability))


def left_of(zone: ZoneWidth, u: float, probability: float) -> float | None:
    """The share of the zone that doubt leaves, 0 to 1."""
    if zone.width is None:
        return None
    return max(0.0, 1.0 - zone.sides * factor(probability) * u / zone.width)


def acceptance(r: Requirement, u: float, probability: float) -> tuple[float | None, float | None]:
    """The values within which the maker must stay, mm or rad; a zone from zero has no lower one."""
    guard = factor(probability) * u
    low = r.lower if r.characteristic in DIMENSIONS else None
    return (None if low is None else low + guard), (None if r.upper is None else r.upper - guard)


def acceptance_text(r: Requirement, limits: tuple[float | None, float | None]) -> str:
    """The same in words, in the unit of the drawing, with the figures that the doubt deserves."""
    turn, unit = (180.0 / math.pi, " deg") if r.characteristic == "angle" else (1.0, " mm")
    low, high = (None if x is None else f"{turn * x:.{_places(r, turn)}f}" for x in limits)
    if low is not None and high is not None:
        return f"{low} to {high}{unit}"
    return f"{high}{unit} or less" if low is None else f"{low}{unit} or more"


def percent(share: float) -> str:
    """A share in whole per cent."""
    return f"{100 * share:.0f} %"


def _places(r: Requirement, turn: float) -> int:
    """Decimals that show a hundredth of the zone."""
    width = zone_of(r).width
    return 4 if not width else min(7, max(0, 2 - math.floor(math.log10(turn * width))))
