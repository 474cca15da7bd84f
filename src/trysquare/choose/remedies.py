"""One named action against the largest contribution, and what it is predicted to bring.

Where the action changes how the job is measured, it is tried out: the same chain under the other conditions. Where it
changes the instrument itself, the contribution is taken as halved, and the text says so.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from ..instruments.catalogue import InstrumentClass
from ..jobs.job import Job, Requirement, Zone
from .case import Case, case_of
from .conditions import GOOD_THERMOMETER_K, SOAKED_K, Conditions
from .largest import Largest
from .places import nearer_by
from .predict import Prediction, Trial, tried

_WITH_POINTS = ("reading", "point", "aim", "pose")
#: What halving an error leaves of its variance, and what twice as many points leave.
_HALVED, _TWICE = 0.25, 0.5
#: An action may better other contributions too: so much more is hoped for than the largest one alone would give.
HOPE = 0.7


@dataclass(frozen=True)
class Remedy:
    """What to do, the share of the contribution's variance that it leaves, and the conditions to try it under; without
    any the contribution is scaled."""

    text: str
    leaves: float
    conditions: Conditions | None = None


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
        self._tried: dict[Conditions, Trial] = {}

    def outlook(self, r: Requirement, now: Prediction, *, needed: float) -> Outlook | None:
        """What the action against the largest contribution would bring; None where there is none, or no hope of it:
        nothing is tried where u would stay far above `needed` even so."""
        if now.u is None or now.largest is None:
            return None
        remedy = remedy_for(self._job, self._case, now.largest)
        if remedy is None:
            return None
        scaled = now.u * math.sqrt(1.0 - now.largest.share * (1.0 - remedy.leaves))
        if remedy.conditions is None:
            return Outlook(remedy.text, scaled)
        if HOPE * scaled > needed:
            return None
        then = self._under(remedy.conditions).predict(r)
        return None if then is None or then.u is None else Outlook(remedy.text, then.u)

    def _under(self, conditions: Conditions) -> Trial:
        if conditions not in self._tried:
            case = case_of(self._job, self._case.cls, conditions, known=self._known)
            self._tried[conditions] = tried(case, draws=self._draws, seed=self._seed, contributions=False)
        return self._tried[conditions]


def remedy_for(job: Job, case: Case, largest: Largest) -> Remedy | None:
    """What to do about a contribution; None where nothing is known."""
    cls, name, source, now = case.cls, largest.name, largest.source, case.conditions
    if name in ("part temperature", "part expansion"):
        return None if cls.where == "laboratory" else _warmth(job, name, now)
    if cls.model == "tracker" and name == "geometry of the axes":
        return Remedy("measure in both faces", 0.0, replace(now, faces=(1, 2)))
    away = case.distance_m
    near = 1.0 if away is None else nearer_by(away, case.nearest_m)
    if away is not None and name in ("angles", "beam through moving air") and near < 1.0:
        text = f"move the stations from {away:.1f} m to {near * away:.1f} m"
        return Remedy(text, near * near, replace(now, nearer=near))
    if source.scope in _WITH_POINTS:
        text = "take twice as many readings at a place" if cls.by_hand else "measure twice as many points"
        return Remedy(text, _TWICE, replace(now, points=2))
    return Remedy(f"{source.action} (taken as halving it)", _HALVED) if source.action else None


def _warmth(job: Job, name: str, now: Conditions) -> Remedy | None:
    """A better thermometer where the temperature is in doubt and that can help, else a part that has soaked."""
    zones = job.zones.values()
    if name == "part temperature" and any(z.u_temperature > GOOD_THERMOMETER_K for z in zones):
        leaves = max((GOOD_THERMOMETER_K / max(z.u_temperature, GOOD_THERMOMETER_K)) ** 2 for z in zones)
        text = f"measure the part's temperature to {GOOD_THERMOMETER_K:g} K"
        return Remedy(text, leaves, replace(now, thermometer=True))
    if any(_off(z) > SOAKED_K for z in zones):
        text = f"let the part soak to within {SOAKED_K:g} K of 20 degC, and measure it to {GOOD_THERMOMETER_K:g} K"
        return Remedy(text, 0.0, replace(now, soaked=True))
    return None


def _off(zone: Zone) -> float:
    """How far a zone is from 20 degC, K."""
    return math.inf if zone.temperature_degC is None else abs(zone.temperature_degC - 20.0)
