"""Shares of the variance, by source and by link."""

import numpy as np
import pytest

from trysquare.chance.contributions import by_link, shares
from trysquare.chance.sources import Draws, Source
from trysquare.core.errors import InputError

M = 20_000
AIM = Source("aim", "reading", 3.0, "um", "aim")
HEAT = Source("heat", "corrected reading", 1.0, "um", "day")
TIE = Source("tie", "common frame", 2.0, "um", "station", "rectangular")
ALL = (AIM, HEAT, TIE)
LINK = {s.name: s.link for s in ALL}


def vector(draws: Draws) -> np.ndarray:
    """A deviation (m, 2): aim acts on both components, heat on the first, the tie on the second."""
    aim, heat, tie = draws.of(AIM, ["x", "y"]), draws.of(HEAT, ["d"]), draws.of(TIE, ["s"])
    return aim + np.concatenate([heat, tie], axis=1)


def parts(m: int = M) -> dict[str, np.ndarray]:
    return {s.name: vector(Draws(1, 0, m, only={s.name})) for s in ALL}


def test_shares_are_those_of_the_traces() -> None:
    """Analytic: traces 2 x 9, 1 and 4 of 23."""
    ordered, remainder = shares(parts(), vector(Draws(1, 0, M)))
    assert [name for name, _ in ordered] == ["aim", "tie", "heat"]
    assert dict(ordered) == pytest.approx({"aim": 18 / 23, "tie": 4 / 23, "heat": 1 / 23}, abs=0.02)
    assert abs(remainder) < 0.02
    assert sum(share for _, share in ordered) + remainder == pytest.approx(1.0, abs=1e-12)


def test_a_forgotten_source_stays_in_the_remainder() -> None:
    some = {name: draws for name, draws in parts().items() if name != "tie"}
    _, remainder = shares(some, vector(Draws(1, 0, M)))
    assert remainder == pytest.approx(4 / 23, abs=0.02)


def test_small_sources_are_listed_too() -> None:
    tiny = {f"s{i}": 1e-6 * np.arange(5.0) for i in range(30)}
    ordered, _ = shares(tiny, np.arange(5.0))
    assert len(ordered) == 30
    assert [name for name, _ in ordered] == sorted(tiny)


def test_by_link() -> None:
    links = by_link([("a", 0.5), ("b", 0.3), ("c", 0.25)], {"a": "feature", "b": "reading", "c": "reading"})
    assert links == [("reading", pytest.approx(0.55)), ("feature", 0.5)]
    with pytest.raises(InputError, match='"b" without'):
        by_link([("b", 1.0)], {})


def test_one_component_and_no_variance() -> None:
    assert shares({"a": [1.0, -1.0]}, [2.0, -2.0]) == ([("a", 0.25)], 0.75)
    assert shares({"a": [0.0, 0.0]}, [5.0, 5.0]) == ([("a", 0.0)], 0.0)


def test_folding_first_spoils_the_shares() -> None:
    """The negative twin: shares of the magnitude at zero do not add up (independent simulation, known model)."""
    folded = {name: np.hypot(*draws.T) for name, draws in parts().items()}
    total = np.hypot(*vector(Draws(1, 0, M)).T)
    _, remainder = shares(folded, total)
    assert abs(remainder) > 0.05


@pytest.mark.parametrize(
    ("some", "total", "words"),
    [
        ({"a": [1.0]}, [1.0, 2.0], "two or more"), ({"a": [1.0, 2.0]}, 3.0, "two or more"),
        ({"a": [1.0, np.nan]}, [1.0, 2.0], "finite"), ({"a": np.ones((4, 2))}, np.ones((4, 3)), "components"),
    ],
)  # fmt: skip
def test_bad_draws_are_refused(some: dict[str, object], total: object, words: str) -> None:
    with pytest.raises(InputError, match=words):
        shares(some, total)  # type: ignore[arg-type]
