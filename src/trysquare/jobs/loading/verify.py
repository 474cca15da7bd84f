"""The sanity of the whole job: what each table cannot see by itself."""

from ...core.errors import InputError
from ..instruments import instruments_of
from ..job import Job
from ..slips import set_aside, slips
from .checks.association import association
from .checks.attributes import attributes, unrecorded
from .checks.datums import datums
from .checks.drawing import drawing
from .checks.instruments import uses
from .checks.measured import measured
from .checks.names import names
from .checks.placed import placed
from .checks.sanity import sanity
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
    association(job, findings)
    attributes(job, findings)
    uses(job, findings)
    if not findings.errors:
        sanity(job, findings)
    if readings_whole and not findings.errors:
        unrecorded(job, findings)
        _readings(job, findings)


def _readings(job: Job, findings: Findings) -> None:
    """Look at the readings as judging will: what contradicts itself is set aside first.

    Where the rest cannot be tied, placed or fitted, nothing can be judged, and only the contradictions are told: the
    first thing to mend.
    """
    try:
        found = slips(job, instruments_of(job))
    except InputError as error:
        findings.errors.append(error)
        return
    told = [slip.warning for slip in found]
    gross = [slip for slip in found if slip.gross]
    sound = set_aside(job, found)
    seen = {station.name: aimed_at(station.readings) for station in sound.stations if station.readings is not None}
    ties(sound, seen, findings)
    measured(sound, seen, findings, doubtful={slip.on for slip in gross})
    if not findings.errors:
        placed(sound, findings)
    if findings.errors and gross:
        findings.errors[:] = [slip.warning for slip in gross]
    else:
        findings.warnings.extend(told)
