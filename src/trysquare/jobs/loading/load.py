"""From a job folder to a `Job`, or to all that is wrong with it."""

from dataclasses import dataclass, replace
from pathlib import Path

from pydantic import ValidationError

from ...core.errors import FormatError, TrysquareError
from ..job import Job
from .build import decision_of, nests_of, part_of, place_of, targets_of, zones_of
from .build_drawing import associations_of, attributes_of, features_of, requirements_of
from .build_sets import Sets, sets_of
from .findings import Findings
from .folder import job_file
from .messages import translate
from .schema import FORMAT, JobFile
from .toml_file import Document, read_document
from .verify import verify


@dataclass(frozen=True)
class Examined:
    """What looking at a job folder gave: the job where nothing is wrong, every error, every warning, every note."""

    job: Job | None
    errors: tuple[TrysquareError, ...]
    warnings: tuple[TrysquareError, ...]
    notes: tuple[TrysquareError, ...] = ()


def load(path: Path, *, readings: Path | None = None, measured: bool = True) -> Job:
    """Load the job in folder `path` (or the job file `path`).

    `readings`: folder of the reading files, when it is not the job's own. With `measured` False no reading file is
    looked at: the job as planned, for choosing and simulating.

    Raises
    ------
    InputError, FormatError : the first thing that is wrong; `problems` gives all.
    """
    found = examine(path, readings=readings, measured=measured)
    if found.errors or found.job is None:
        raise found.errors[0]
    return found.job


def problems(path: Path, *, readings: Path | None = None) -> list[TrysquareError]:
    """All that is wrong with a job; empty where it can be judged. Warnings are not among them: see `examine`."""
    return list(examine(path, readings=readings, measured=True).errors)


def examine(path: Path, *, readings: Path | None = None, measured: bool | None = None) -> Examined:
    """Look at everything in a job folder; nothing is raised and nothing is written.

    `measured` None: the job counts as planned while none of its reading files is there.
    """
    try:
        file = job_file(path)
        document = read_document(file, file.name)
        findings = Findings(document)
        tables = _tables(document, findings)
    except TrysquareError as error:
        return Examined(None, (error,), ())
    if tables is None:
        return Examined(None, tuple(findings.errors), ())
    if measured is None:
        measured = _begun(tables, readings or file.parent, findings)
    job = _job(tables, file.parent, readings or file.parent, measured, findings)
    errors, warnings, notes = (
        _in_order(found, file.name) for found in (findings.errors, findings.warnings, findings.notes)
    )
    if errors:
        return Examined(None, errors, warnings, notes)
    return Examined(replace(job, warnings=tuple(str(warning) for warning in warnings)), (), warnings, notes)


def _begun(tables: JobFile, folder: Path, findings: Findings) -> bool:
    """Whether any reading file is there; where none is, a warning says that the job is only planned."""
    files = [station.readings for station in tables.station] + [hand.readings for hand in tables.hand]
    files += [recorded.readings for recorded in tables.recorded]
    named = [file for file in files if file is not None]
    if any((folder / file).is_file() for file in named):
        return True
    found = f"{len(named)} named, none there yet" if named else "none named"
    findings.warn(
        ("station",), "have their reading files before the job is judged", found,
        "Nothing to mend: the drawing was looked at, and choose works as it is.", what="stations and hand tools",
    )  # fmt: skip
    return False


def _in_order(found: list[TrysquareError], job_file_name: str) -> tuple[TrysquareError, ...]:
    """The job file's first, by line; then the other files', each in the order found."""

    def key(error: TrysquareError) -> tuple[bool, int]:
        mine = isinstance(error, FormatError) and error.file == job_file_name
        return not mine, (error.line or 0) if mine and isinstance(error, FormatError) else 0

    return tuple(sorted(found, key=key))


def _tables(document: Document, findings: Findings) -> JobFile | None:
    """The job file's tables, or None with all their errors among the findings."""
    findings.errors.extend(_format_errors(document))
    if findings.errors:
        return None
    try:
        return JobFile.model_validate(document.data, context={"units": document.data.get("units", "mm")})
    except ValidationError as error:
        findings.errors.extend(translate(error, JobFile, document))
        return None


def _format_errors(document: Document) -> list[FormatError]:
    """A file of a newer format is not judged key by key: only that it is newer is said."""
    said = document.data.get("format")
    name, _, number = said.rpartition("/") if isinstance(said, str) else ("", "", "")
    known_name, _, known_number = FORMAT.rpartition("/")
    if name == known_name and number.isdecimal() and int(number) > int(known_number):
        way_out = "Install a newer Trysquare, or write the job in the older format."
        return [document.error(("format",), f'be "{FORMAT}" for this version', f'"{said}", which is newer', way_out)]
    if said is None:
        return [document.error(("format",), "be given", "nothing", f'Begin the file with: format = "{FORMAT}"')]
    return []


def _job(tables: JobFile, folder: Path, readings: Path, measured: bool, findings: Findings) -> Job:
    """The job, built and verified; where the findings hold errors it is good for nothing but further looking."""
    zones = zones_of(tables.part, findings)
    decision = decision_of(tables.decision, findings)
    seen = any(station.air is None for station in tables.station)
    features = features_of(tables, zones, findings)
    job = Job(
        folder=folder, title=tables.title, standard=tables.standard, seed=tables.seed, draws=tables.draws,
        part=part_of(tables.part, findings), zones=zones, place=place_of(tables.place, findings, seen=seen),
        decision=decision, features=features, datums=dict(tables.datum), associations=associations_of(tables),
        requirements=requirements_of(tables, features, decision, findings), targets=targets_of(tables),
        nests=nests_of(tables),
        ties=tuple(tables.tie), instruments={}, stations=(), hand=(), inputs=(findings.document.source,), warnings=(),
        general=None if tables.general is None else tables.general.stated(),
        attributes=attributes_of(tables, findings),
    )  # fmt: skip
    before = len(findings.errors)
    sets: Sets = sets_of(tables, job, readings if measured else None, findings)
    job = replace(
        job, instruments=sets.instruments, stations=sets.stations, hand=sets.hand,
        inputs=(*job.inputs, *sets.inputs),
        attributes=tuple(replace(a, records=sets.records.get(a.id, ())) for a in job.attributes),
    )  # fmt: skip
    verify(job, findings, readings_whole=measured and len(findings.errors) == before)
    return job
