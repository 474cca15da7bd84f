"""What was found while looking at a job: errors stop it, warnings travel with its results, notes do not."""

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
    notes: list[TrysquareError] = field(default_factory=list)

    def error(
        self, path: KeyPath, rule: str, found: str, way_out: str, *, what: str = "", source: str = ""
    ) -> None:  # fmt: skip
        """The value at `path` of the job file breaks `rule`, which rests on `source`."""
        self.errors.append(self.document.error(path, _cited(rule, source), found, way_out, what=what))

    def warn(
        self, path: KeyPath, rule: str, found: str, way_out: str, *, what: str = "", source: str = ""
    ) -> None:  # fmt: skip
        """The job can be done as it is, but its results will say this."""
        self.warnings.append(self.document.error(path, _cited(rule, source), found, way_out, what=what))

    def note(self, path: KeyPath, rule: str, found: str, way_out: str, *, what: str = "", source: str = "") -> None:
        """Odd, and worth a look; nothing depends on it."""
        self.notes.append(self.document.error(path, _cited(rule, source), found, way_out, what=what))

    def adopt(self, path: KeyPath, error: InputError, *, source: str = "") -> None:
        """An error of a floor below, placed at `path` of the job file."""
        what = f"{named(self.document.data, path)}: {error.what}"
        self.error(path, error.rule, error.found, error.way_out, what=what, source=source)

    def in_file(self, error: FormatError) -> None:
        """An error that knows its own file and line."""
        self.errors.append(error)


def _cited(rule: str, source: str) -> str:
    """A rule with what it rests on; a rule of the job file itself has no source."""
    return f"{rule} [{source}]" if source else rule
