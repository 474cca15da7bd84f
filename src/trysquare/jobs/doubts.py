"""Why nothing can be stated of some requirements: something in the readings on which they rest is wrong."""

from collections.abc import Sequence
from dataclasses import dataclass

from ..chance.statement import Statement, not_stated
from ..networks import Misfit
from .chain import Chain
from .job import Requirement

_LEFT_OUT = "the value leaves the readings in question out"


@dataclass(frozen=True)
class Doubt:
    """A `reason` in words, and what it throws in doubt.

    What rests on one of `features` or is one of `requirements`; with `tie` what needs the tie of the stations, and
    what was seen from one of `stations`. `note` says what the value that is still shown is worth.
    """

    reason: str
    features: frozenset[str] = frozenset()
    requirements: frozenset[str] = frozenset()
    tie: bool = False
    stations: frozenset[str] = frozenset()
    note: str = _LEFT_OUT

    def touches(self, chain: Chain, requirement: Requirement) -> bool:
        """Whether `requirement` rests on it, its datums included."""
        if requirement.id in self.requirements or chain.features_behind(requirement) & self.features:
            return True
        if not self.tie or requirement.id in chain.unmeasured:
            return False
        stations = chain.stations_behind(requirement)
        return len(stations) > 1 or bool(stations & self.stations)

    def statement(self, instead_of: Statement) -> Statement:
        """That nothing can be stated, for this reason; the value stays where there is one."""
        value = instead_of.value
        notes = (self.note,) if self.note and value is not None else ()
        return not_stated(instead_of.kind, self.reason, value=value, notes=notes)


def reasons(chain: Chain, doubts: Sequence[Doubt]) -> dict[str, Doubt]:
    """The first doubt that touches each requirement, by id; the others are not in it."""
    found = {r.id: next((d for d in doubts if d.touches(chain, r)), None) for r in chain.job.requirements}
    return {id_: doubt for id_, doubt in found.items() if doubt is not None}


def so_many(times: float) -> str:
    """A count in words, without the figures that say nothing."""
    return f"{times:.0f}" if times < 1000 else "over 1000"


def untied(misfits: Sequence[Misfit]) -> list[Doubt]:
    """The doubt about stations that do not fit together; none where they do.

    A sighting so far off was of another point, of one that moved, or in another unit, and no declared error covers it.
    What one station saw alone stands, unless that station is among those in question.
    """
    gross = [misfit for misfit in misfits if misfit.gross]
    if not gross:
        return []
    worst = gross[0]
    reason = (
        f"cannot be stated: the stations do not fit together; tie point {worst.point} from station {worst.station} is "
        f"{worst.normalised:.0f} standard uncertainties off. Read it again, check its unit, or leave it out"
    )
    return [Doubt(reason, tie=True, stations=frozenset(misfit.station for misfit in gross), note="")]
