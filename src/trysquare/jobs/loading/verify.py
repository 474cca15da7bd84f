"""The sanity of the whole job: what each table cannot see by itself."""

from ..job import Job
from .checks.datums import datums
from .checks.drawing import drawing
from .checks.instruments import uses
from .checks.measured import measured
from .checks.names import names
from .checks.placed import placed
from .checks.seen import aimed_at
from .checks.ties import ties
from .findings import Findings


def verify(job: Job, findings: Findings, *, readings_whole: bool) -> None:
    """Add all that is wrong with `job` to `findings`.

    `readings_whole`: every reading file was read without an error; else what needs them is left for the next look.
    """
    names(job, findings)
    drawing(job, findings)
    datums(job, findings)
    uses(job, findings)
    if readings_whole and not findings.errors:
        seen = {station.name: aimed_at(station.readings) for station in job.stations if station.readings is not None}
        ties(job, seen, findings)
        measured(job, seen, findings)
        if not findings.errors:
            placed(job, findings)
