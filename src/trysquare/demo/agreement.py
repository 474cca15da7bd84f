"""How a result stands against the truth it was simulated from."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from ..core.arrays import Array
from ..jobs.result import Judged, Result
from ..jobs.simulated.true_values import TrueValue


@dataclass(frozen=True)
class Agreement:
    """Counts over the requirements of one part.

    `intervals` of them have an interval, `held` of these hold the true value, `expected` should by their coverage.
    """

    requirements: int
    truly_beyond: int
    decided: int
    agree: int
    undecided: int
    wrong_accepts: tuple[str, ...]
    wrong_rejects: tuple[str, ...]
    intervals: int
    held: int
    expected: float
    missed: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        return {k: list(v) if isinstance(v, tuple) else v for k, v in asdict(self).items()}

    def text(self) -> str:
        """The sentences for people."""
        verdicts = f"{self.agree} of {self.decided} decided verdicts agree with the truth"
        wrong = [f"requirement {id_} accepted though truly beyond its limit" for id_ in self.wrong_accepts]
        wrong += [f"requirement {id_} rejected though truly within" for id_ in self.wrong_rejects]
        said = f": {', '.join(wrong)}" if wrong else ""
        missed = f" (all but {_listed(self.missed)})" if self.missed else ""
        return (
            f"{verdicts}{said}; {self.undecided} of {self.requirements} are undecided. "
            f"{self.held} of {self.intervals} intervals hold the true value{missed}; "
            f"about {self.expected:.0f} should, and as errors are shared between requirements, misses come in groups."
        )


def agreement(result: Result, truth: Mapping[str, TrueValue], there: Mapping[str, float]) -> Agreement:
    """Compare verdicts with the truth, and intervals with the true values `there`, where each was judged."""
    judged = result.requirements
    stated = [j for j in judged if j.interval is not None]
    missed = tuple(j.id for j in stated if not _holds(j, there[j.id]))
    accepts = tuple(j.id for j in judged if j.verdict == "accept" and not truth[j.id].conforms)
    rejects = tuple(j.id for j in judged if j.verdict == "reject" and truth[j.id].conforms)
    decided = sum(j.verdict != "undecided" for j in judged)
    return Agreement(
        requirements=len(judged), truly_beyond=sum(not truth[j.id].conforms for j in judged), decided=decided,
        agree=decided - len(accepts) - len(rejects), undecided=len(judged) - decided, wrong_accepts=accepts,
        wrong_rejects=rejects, intervals=len(stated), held=len(stated) - len(missed),
        expected=sum(j.coverage for j in stated), missed=missed,
    )  # fmt: skip


def true_there(result: Result, truth: Mapping[str, TrueValue], read: Mapping[str, Array]) -> dict[str, float]:
    """The true value of every requirement at the place where it was judged.

    Of several local sizes one is judged: the one among `read` (what was read at each place, by id) that the result
    states. Its interval says nothing of the others.
    """
    return {j.id: _there(j, truth[j.id], read.get(j.id)) for j in result.requirements}


def _there(judged: Judged, true: TrueValue, read: Array | None) -> float:
    if read is None or judged.value is None or len(read) != len(true.places):
        return true.value
    return true.places[int(np.argmin(np.abs(read - judged.value)))]


def _holds(judged: Judged, value: float) -> bool:
    return judged.interval is not None and judged.interval[0] <= value <= judged.interval[1]


def _listed(ids: tuple[str, ...]) -> str:
    return ids[0] if len(ids) == 1 else f"{', '.join(ids[:-1])} and {ids[-1]}"
