"""What was found for one requirement, before it is judged and written down."""

from dataclasses import dataclass

from ..chance.statement import Statement
from ..tolerances.measurand import Measurand
from .job import Requirement
from .result import Contribution


@dataclass(frozen=True)
class Found:
    """All that was found for one requirement."""

    requirement: Requirement
    statement: Statement
    value: Measurand | None
    drawn: Measurand | None
    contributions: list[Contribution]
    remainder: float | None

    @property
    def limits(self) -> tuple[float | None, float | None]:
        """Lower and upper limit; a zone from zero has no lower one."""
        r = self.requirement
        zone = r.characteristic not in ("size", "distance", "angle")
        return (None if zone else r.lower), r.upper
