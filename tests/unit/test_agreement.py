"""Counting verdicts and intervals against the truth. Expected counts: by hand from the cases shown."""

from dataclasses import dataclass

import numpy as np

from trysquare.demo.agreement import agreement, true_there
from trysquare.jobs.simulated.true_values import TrueValue


@dataclass
class Judged:
    """What the count looks at in a judged requirement."""

    id: str
    verdict: str
    value: float
    interval: tuple[float, float] | None
    coverage: float = 0.95


@dataclass
class Result:
    requirements: list[Judged]


RESULT = Result([
    Judged("right", "accept", 1.0, (0.9, 1.1)),
    Judged("bold", "accept", 2.0, (1.9, 2.1)),
    Judged("harsh", "reject", 3.0, (2.9, 3.1)),
    Judged("open", "undecided", 4.0, (3.9, 4.1)),
    Judged("mute", "undecided", 5.0, None),
])  # fmt: skip
TRUTH = {
    "right": TrueValue("right", 1.05, True, (1.05,)),
    "bold": TrueValue("bold", 2.5, False, (2.5,)),
    "harsh": TrueValue("harsh", 2.95, True, (2.95,)),
    "open": TrueValue("open", 4.3, True, (4.0, 4.3)),
    "mute": TrueValue("mute", 5.0, True, (5.0,)),
}


def test_verdicts_and_intervals_are_counted():
    there = true_there(RESULT, TRUTH, {})
    found = agreement(RESULT, TRUTH, there)
    assert (found.decided, found.agree, found.undecided, found.truly_beyond) == (3, 1, 2, 1)
    assert found.wrong_accepts == ("bold",)
    assert found.wrong_rejects == ("harsh",)
    assert (found.intervals, found.held, found.missed) == (4, 2, ("bold", "open"))
    assert found.expected == 4 * 0.95
    assert "1 of 3 decided verdicts agree" in found.text()
    assert "requirement bold accepted though truly beyond its limit" in found.text()
    assert "all but bold and open" in found.text()


def test_of_several_places_the_one_that_was_judged_counts():
    there = true_there(RESULT, TRUTH, {"open": np.array([4.0, 4.28])})
    assert there["open"] == 4.0
    assert "open" not in agreement(RESULT, TRUTH, there).missed
    assert true_there(RESULT, TRUTH, {"open": np.array([3.7, 4.0])})["open"] == 4.3  # negative twin: the other place
