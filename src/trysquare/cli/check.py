"""trysquare check: everything that is wrong with a job, before anything is measured or judged."""

import argparse
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .answer import Answer

if TYPE_CHECKING:
    from ..core.errors import TrysquareError
    from ..jobs.job import Job
    from ..jobs.loading.load import Examined

_WIDTH = 80


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options: JOB, --readings, --against."""
    parser.add_argument("job", metavar="JOB", help="a job folder, or its job.toml")
    parser.add_argument("--readings", metavar="DIR", help="read the readings from this folder instead of the job's")
    parser.add_argument(
        "--against", metavar="OLD", help="compare with an earlier revision: a job folder, or the result.json of one"
    )


def run(args: argparse.Namespace) -> Answer:
    """Look at the whole job; exit 0 whatever is found in it. Raises InputError where there is no job at all."""
    from ..jobs.loading.folder import job_file
    from ..jobs.loading.load import examine

    file, readings = job_file(Path(args.job)), None if args.readings is None else Path(args.readings)
    found = examine(file, readings=readings, measured=None if readings is None else True)
    problems = [_entry(error, "error") for error in found.errors]
    problems += [_entry(warning, "warning") for warning in found.warnings]
    problems += [_entry(note, "note") for note in found.notes]
    document: dict[str, Any] = {
        "ok": not found.errors,
        "problems": problems,
        "errors": len(found.errors),
        "warnings": len(found.warnings),
        "notes": len(found.notes),
        **_counts(found),
        "datum_systems": _systems(found),
    }
    text = _text(args.job, document)
    if found.job is not None and document["datum_systems"]:
        text = "\n".join([text, *(_wrapped(line, "") for line in _held(found.job))])
    if args.against is not None:
        document["against"], said = _against(found, args.job, Path(args.against))
        text = f"{text}\n\n{said}"
    return Answer(document, text)


def _against(found: "Examined", name: str, old: Path) -> tuple[dict[str, Any] | None, str]:
    """The comparison as a document and as text; an unsound job has no register to compare."""
    from ..jobs.against import compare
    from ..jobs.loading.previous import previous
    from ..report.against_text import against_text
    from .check_against import against_document

    before = previous(old)
    if found.job is None:
        return None, "Not compared: mend the errors first."
    comparison = compare(before, found.job, name)
    return against_document(comparison), against_text(comparison)


def _entry(problem: "TrysquareError", severity: str) -> dict[str, Any]:
    return {**problem.as_dict()["error"], "severity": severity}


def _counts(found: "Examined") -> dict[str, int | None]:
    """What the job holds, attributes among the requirements; null where it could not be read."""
    job = found.job
    if job is None:
        return dict.fromkeys(("requirements", "features", "stations", "readings"))
    readings = sum(len(s.readings) for s in job.stations if s.readings) + sum(len(h.lines) for h in job.hand)
    return {
        "requirements": len(job.requirements) + len(job.attributes),
        "features": len(job.features),
        "stations": len(job.stations),
        "readings": readings,
    }


def _systems(found: "Examined") -> list[dict[str, Any]] | None:
    """Who fixes which freedom, for every datum system; null where the job is not sound."""
    from ..jobs.systems import systems_of

    if found.job is None or found.errors:
        return None
    return [system.model_dump(mode="json") for system in systems_of(found.job)]


def _held(job: "Job") -> list[str]:
    """One line for each datum system of a sound job."""
    from ..jobs.systems import fixed_text, systems_of

    return [f"Datums: {fixed_text(system)}." for system in systems_of(job)]


def _text(name: str, document: dict[str, Any]) -> str:
    blocks = [_block(i, problem) for i, problem in enumerate(document["problems"], 1)]
    return "\n\n".join([*blocks, f"{name}\n{_wrapped(_closing(document), '')}"])


def _block(number: int, problem: dict[str, Any]) -> str:
    head = f"{number:>2}  {problem['where']}" + ("" if problem["severity"] == "error" else f"  ({problem['severity']})")
    said = f"{problem['what']} must {problem['rule']}; got {problem['found']}."
    return "\n".join([head, _wrapped(said, "    "), _wrapped(problem["way_out"], "    > ", "      ")])


def _wrapped(text: str, first: str, rest: str | None = None) -> str:
    return textwrap.fill(
        text, _WIDTH, initial_indent=first, subsequent_indent=first if rest is None else rest, break_long_words=False,
        break_on_hyphens=False,
    )  # fmt: skip


def _closing(document: dict[str, Any]) -> str:
    warnings = _number(document["warnings"], "warning")
    warnings += f" and {_number(document['notes'], 'note')}" if document["notes"] else ""
    if not document["ok"]:
        return f"{_number(document['errors'], 'error')} and {warnings}. Mend the errors, then check again."
    held = ", ".join(_number(document[key], key.rstrip("s")) for key in ("requirements", "features", "stations"))
    return f"Sound, with {warnings}. {held}, {_number(document['readings'], 'reading')}."


def _number(count: int, word: str) -> str:
    return f"{count or 'no'} {word}{'' if count == 1 else 's'}"
