"""What was found while looking at a job: errors that stop it, warnings that travel with its results."""

from dataclasses import dataclass, field

from ...core.errors import FormatError, InputError, TrysquareError
from .locate import Path as KeyPath
from .toml_file import Document, named


@dataclass(frozen=True)
class Findings:
    """Collects in the order found; `document` is the job file that key paths refer to."""

    document: Document
    errors: list[TrysquareError] = field(default_factory=list)
    warnings: list[TrysquareError] = field(default_factory=list)

    def error(self, path: KeyPath, rule: str, found: str, way_out: str, *, what: str = "") -> None:
        """The value at `path` of the job file breaks `rule`."""
        self.errors.append(self.document.error(path, rule, found, way_out, what=what))

    def warn(self, path: KeyPath, rule: str, found: str, way_out: str, *, what: str = "") -> None:
        """The job can be done as it is, but its results will say this."""
        self.warnings.append(self.document.error(path, rule, found, way_out, what=what))

    def adopt(self, path: KeyPath, error: InputError) -> None:
        """An error of a floor below, placed at `path` of the job file."""
        what = f"{named(self.document.data, path)}: {error.what}"
        self.error(path, error.rule, error.found, error.way_out, what=what)

    def in_file(self, error: FormatError) -> None:
        """An error that knows its own file and line."""
        self.errors.append(error)
