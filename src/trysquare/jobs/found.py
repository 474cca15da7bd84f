"""What was found for one requirement, before it is judged and written down."""

from dataclasses import dataclass

from ..chance.statement import Statement
from ..tolerances.measurand import Measurand
from .job import DIMENSIONS, Requirement
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
        zone = r.characteristic not in DIMENSIONS
        return (None if zone else r.lower), r.upper

    @property
    def tails(self) -> tuple[float, float]:
        """Confidence that the truth lies below the lower limit, and above the upper; 0 where there is none."""
        lower, upper = self.limits
        return (
            0.0 if lower is None else self.statement.below(lower),
            0.0 if upper is None else 1.0 - self.statement.below(upper),
        )
