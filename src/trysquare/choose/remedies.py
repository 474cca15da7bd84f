"""One named action against the largest contribution, and what it is predicted to bring.

Where the action changes how the job is measured, it is tried out: the same chain under the other conditions. Where it
changes the instrument itself, the contribution is taken as halved, and the text says so.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from ..instruments.catalogue import InstrumentClass
from ..jobs.job import Job, Zone
from .case import Case, case_of
from .conditions import GOOD_THERMOMETER_K, SOAKED_K
from .places import nearer_by
from .predict import Largest, Prediction, predict

_WITH_POINTS = ("reading", "point", "aim", "pose")
#: What halving an error leaves of its variance.
_HALVED = 0.25


@dataclass(frozen=True)
class Remedy:
    """`case` measured under better conditions, or None where the contribution is halved instead."""

    text: str
    case: Case | None


@dataclass(frozen=True)
class Outlook:
    """What an action is predicted to bring."""

    action: str
    u: float


class Workshop:
    """Tries actions out, each way of measuring once for all requirements that ask for it."""

    def __init__(self, job: Job, case: Case, known: Mapping[str, InstrumentClass], *, draws: int, seed: int) -> None:
        self._job, self._case, self._known = job, case, known
        self._draws, self._seed = draws, seed
        self._tried: dict[str, dict[str, Prediction]] = {}

    def outlook(self, requirement: str, now: Prediction) -> Outlook | None:
        """What the action against the largest contribution would bring; None where there is none."""
        if now.u is None or now.largest is None:
            return None
        remedy = self._remedy(now.largest)
        if remedy is None:
            return None
        if remedy.case is None:
            return Outlook(remedy.text, now.u * math.sqrt(1.0 - now.largest.share * (1.0 - _HALVED)))
        if remedy.text not in self._tried:
            self._tried[remedy.text] = predict(remedy.case, draws=self._draws, seed=self._seed, contributions=False)
        then = self._tried[remedy.text].get(requirement)
        return None if then is None or then.u is None else Outlook(remedy.text, then.u)

    def _remedy(self, largest: Largest) -> Remedy | None:
        cls, name, source = self._case.cls, largest.name, largest.source
        if name in ("part temperature", "part expansion"):
            return self._warmth(name)
        if cls.model == "tracker" and name == "geometry of the axes":
            return self._under("measure in both faces", faces=(1, 2))
        away = self._case.distance_m
        if away is not None and name in ("angles", "beam through moving air") and nearer_by(away) < 1.0:
            near = nearer_by(away)
            return self._under(f"move the stations from {away:.1f} m to {near * away:.1f} m", nearer=near)
        if source.scope in _WITH_POINTS:
            what = "take twice as many readings at a place" if cls.by_hand else "measure twice as many points"
            return self._under(what, points=2)
        return Remedy(f"{source.action} (taken as halving it)", None) if source.action else None

    def _warmth(self, name: str) -> Remedy | None:
        if self._case.cls.where == "laboratory":
            return None
        zones = self._job.zones.values()
        if name == "part temperature" and any(z.u_temperature > GOOD_THERMOMETER_K for z in zones):
            return self._under(f"measure the part's temperature to {GOOD_THERMOMETER_K:g} K", thermometer=True)
        if any(_off(z) > SOAKED_K for z in zones):
            text = f"let the part soak to within {SOAKED_K:g} K of 20 degC, and measure it to {GOOD_THERMOMETER_K:g} K"
            return self._under(text, soaked=True)
        return None

    def _under(self, text: str, **better: object) -> Remedy:
        if text in self._tried:
            return Remedy(text, self._case)
        conditions = replace(self._case.conditions, **better)  # type: ignore[arg-type]
        return Remedy(text, case_of(self._job, self._case.cls, conditions, known=self._known))


def _off(zone: Zone) -> float:
    """How far a zone is from 20 degC, K."""
    return math.inf if zone.temperature_degC is None else abs(zone.temperature_degC - 20.0)
