"""What can go wrong, in one tree.

    TrysquareError
    ├── InputError           a value, an array or an option breaks a rule           exit code 2
    │   └── FormatError      the same, in a file: carries `file` and `line`
    ├── NumericalError       the data cannot carry the answer
    │   ├── RankError        directions left open: carries `ratio` and `threshold`
    │   └── ConvergenceError an iteration stopped short of its goal
    ├── StoreError           a result could not be written; nothing half-written remains
    ├── MissingExtraError    an optional library is absent: names the extra to install
    └── Cancelled            the user stopped a long run; nothing was written

Each says where, what must hold, what was found and the way out, as attributes and as one sentence.
"""

from typing import Any


class TrysquareError(Exception):
    """Base of every error that the house raises on purpose."""

    exit_code = 2

    def __init__(self, where: str, what: str, rule: str, found: str, way_out: str) -> None:
        self.where, self.what, self.rule, self.found, self.way_out = where, what, rule, found, way_out
        super().__init__(str(self))

    def __str__(self) -> str:
        return f"{self.where}: {self.what} must {self.rule}; got {self.found}. {self.way_out}"

    def as_dict(self) -> dict[str, Any]:
        """The one JSON shape of an error."""
        keys = ("where", "what", "rule", "found", "way_out")
        return {"error": {key: getattr(self, key) for key in keys}}


class InputError(TrysquareError):
    """A value, an array or an option breaks a rule."""


class FormatError(InputError):
    """A file breaks a rule, at a line."""

    def __init__(self, file: str, line: int | None, what: str, rule: str, found: str, way_out: str) -> None:
        self.file, self.line = file, line
        super().__init__(f"{file}:{line}" if line else file, what, rule, found, way_out)


class NumericalError(TrysquareError):
    """The data cannot carry the answer."""


class RankError(NumericalError):
    """Directions are left open by the data; `ratio` fell below `threshold`."""

    def __init__(
        self, where: str, what: str, rule: str, found: str, way_out: str, *, ratio: float, threshold: float
    ) -> None:
        self.ratio, self.threshold = ratio, threshold
        super().__init__(where, what, rule, found, way_out)


class ConvergenceError(NumericalError):
    """An iteration stopped short of its goal."""


class StoreError(TrysquareError):
    """A result could not be written."""


class MissingExtraError(TrysquareError):
    """An optional library is absent."""

    def __init__(self, library: str, extra: str, purpose: str) -> None:
        super().__init__(
            purpose,
            f"the library {library}",
            "be installed",
            "no such module",
            f'In the folder of its source: python -m pip install ".[{extra}]", from the package index that you trust.',
        )


class Cancelled(TrysquareError):  # noqa: N818 - a cancel is no error of the program
    """The user stopped a long run."""

    exit_code = 130

    def __init__(self, where: str) -> None:
        super().__init__(where, "the run", "be left to finish for a result", "cancelled", "Nothing was written.")

    def __str__(self) -> str:
        return f"{self.where}: cancelled. {self.way_out}"
