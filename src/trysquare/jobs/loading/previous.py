"""An earlier revision to compare with: a job folder, a job file, or the result document of a judged job."""

from pathlib import Path

from pydantic import ValidationError

from ...core.errors import InputError
from ..register_lines import Register, of_job, of_result
from ..result import FORMAT, Result
from .folder import JOB_FILE
from .load import load

RESULT_FILE = "result.json"


def previous(path: Path) -> Register:
    """The register of an earlier revision; the readings of an earlier job are not looked at.

    Raises
    ------
    InputError : there is neither a job nor a result, or it is not sound.
    """
    file = path / RESULT_FILE if path.is_dir() and not (path / JOB_FILE).is_file() else path
    if file.suffix == ".json" and file.is_file():
        return of_result(_result(file), str(path))
    return of_job(load(path, measured=False), str(path))


def _result(file: Path) -> Result:
    try:
        return Result.model_validate_json(file.read_bytes())
    except (ValidationError, OSError) as error:
        found = f"{error.error_count()} things that do not fit" if isinstance(error, ValidationError) else str(error)
        raise InputError(
            str(file), "the earlier result", f"be a result document, {FORMAT}", found,
            f"Name the {RESULT_FILE} that judge wrote, or the earlier job folder.",
        ) from None  # fmt: skip
