"""Sources and draws: same bits whatever the chunks, sharing by key, moments, tails."""

import math
from itertools import pairwise

import numpy as np
import pytest

from trysquare.chance.kernels import _uniform
from trysquare.chance.sources import DISTRIBUTIONS, LINKS, SCOPES, Draws, Source
from trysquare.core.errors import InputError

NOISE = Source("noise", "reading", 2.0, "um", "reading")


def source(name: str = "a", **changes: object) -> Source:
    given = {"link": "reading", "u": 1.0, "unit": "mm", "scope": "reading"} | changes
    return Source(name, **given)  # type: ignore[arg-type]


@pytest.mark.parametrize("cuts", [[0, 2000], [0, 1, 2000], [0, 3, 5, 1001, 2000], [0, 7, 14, 777, 778, 1999, 2000]])
@pytest.mark.parametrize("dof", [math.inf, 4.5])
def test_the_same_draws_whatever_the_chunks(cuts: list[int], dof: float) -> None:
    noise, keys = source(dof=dof), ["p", "q", "p"]
    whole = Draws(5, 0, 2000).of(noise, keys)
    pieces = [Draws(5, a, b).of(noise, keys) for a, b in pairwise(cuts)]
    assert np.array_equal(whole, np.concatenate(pieces))


def test_far_draws_are_reached_without_the_near_ones() -> None:
    far = Draws(1, 10**12 + 3, 10**12 + 8)
    assert np.array_equal(far.of(NOISE, ["p"])[2:], Draws(1, 10**12 + 5, 10**12 + 8).of(NOISE, ["p"]))


def test_equal_keys_share_a_draw_and_others_do_not() -> None:
    errors = Draws(1, 0, 50).of(NOISE, ["p", "q", "p"])
    assert np.array_equal(errors[:, 0], errors[:, 2])
    assert not np.isclose(errors[:, 0], errors[:, 1]).any()


def test_a_key_keeps_its_draws_in_any_company() -> None:
    alone = Draws(9, 0, 20).of(NOISE, ["q"])[:, 0]
    assert np.array_equal(alone, Draws(9, 0, 20).of(NOISE, ["z", "y", "q"])[:, 2])


def test_only_the_named_sources_are_drawn() -> None:
    draws, other = Draws(1, 0, 10, only={"noise"}), source("other")
    assert np.array_equal(draws.of(NOISE, ["p"]), Draws(1, 0, 10).of(NOISE, ["p"]))
    assert not draws.of(other, ["p"]).any()
    assert Draws(1, 0, 10).of(other, ["p"]).any()  # the twin: without `only` it is there


def test_no_keys_and_no_uncertainty_give_nothing() -> None:
    assert Draws(1, 0, 10).of(NOISE, []).shape == (10, 0)
    assert not Draws(1, 0, 10).of(source(u=0.0), ["p", "q"]).any()


def test_seed_name_and_key_each_change_the_stream() -> None:
    base = Draws(1, 0, 4).uniform("a", "b")
    for other in (Draws(2, 0, 4).uniform("a", "b"), Draws(1, 0, 4).uniform("b", "b"), Draws(1, 0, 4).uniform("a", "a")):
        assert not np.isclose(base, other).any()


def test_names_and_keys_that_read_the_same_when_joined_stay_apart() -> None:
    draws = Draws(1, 0, 4)
    assert not np.isclose(draws.uniform("a\x1fb", "c"), draws.uniform("a", "b\x1fc")).any()


def test_the_largest_and_smallest_word_stay_inside_zero_and_one() -> None:
    low, high = _uniform(np.uint64(0)), _uniform(np.uint64(2**64 - 1))
    assert low > 0.0
    assert high < 1.0
    assert low == 1.0 - high


# Analytic: each distribution has mean 0, standard deviation u, and this fourth moment (u = 1).
FOURTH = {"normal": 3.0, "rectangular": 9 / 5, "triangular": 12 / 5, "arcsine": 3 / 2}


@pytest.mark.parametrize("distribution", DISTRIBUTIONS)
def test_moments(distribution: str) -> None:
    m = 200_000
    x = Draws(3, 0, m).of(source(u=2.5, distribution=distribution), ["p"])[:, 0] / 2.5
    fourth = FOURTH[distribution]
    assert abs(x.mean()) < 4 / math.sqrt(m)
    assert abs((x**2).mean() - 1) < 4 * math.sqrt((fourth - 1) / m)
    assert abs((x**3).mean()) < 4 * math.sqrt(15 / m)
    assert abs((x**4).mean() - fourth) < 4 * math.sqrt(96 / m)


@pytest.mark.parametrize(
    ("distribution", "half"), [("rectangular", math.sqrt(3)), ("triangular", math.sqrt(6)), ("arcsine", math.sqrt(2))]
)
def test_bounded_distributions_keep_their_bounds(distribution: str, half: float) -> None:
    x = Draws(3, 0, 50_000).of(source(distribution=distribution), ["p"])
    assert np.abs(x).max() <= half
    assert np.abs(x).max() > 0.98 * half


def test_degrees_of_freedom_give_student_tails() -> None:
    """Analytic: Student's t quantile with 4 degrees of freedom at 97.5 %, 2.776 (any table); normal 1.960."""
    m, scale = 100_000, 4 * math.sqrt(0.05 * 0.95 / 100_000)
    x = Draws(3, 0, m).of(source(dof=4), ["p"])[:, 0]
    assert abs((np.abs(x) > 2.7764451).mean() - 0.05) < scale
    assert (np.abs(x) > 1.959964).mean() > 0.05 + 5 * scale  # the twin: normal tails would be far off


def test_the_doubtful_scale_is_shared_by_the_keys_of_a_source() -> None:
    x = Draws(3, 0, 100_000).of(source(dof=8), ["p", "q"])
    plain = Draws(3, 0, 100_000).of(source(), ["p", "q"])
    assert np.allclose(x[:, 0] / plain[:, 0], x[:, 1] / plain[:, 1])
    assert abs(np.corrcoef(x.T)[0, 1]) < 0.02
    assert np.corrcoef((x**2).T)[0, 1] > 0.05
    assert abs(np.corrcoef((plain**2).T)[0, 1]) < 0.02  # the twin


def test_keys_are_independent() -> None:
    m, keys = 20_000, [f"k{i}" for i in range(30)]
    x = Draws(11, 0, m).of(NOISE, keys)
    off = np.corrcoef(x.T)[np.triu_indices(len(keys), 1)]
    assert np.abs(off).max() < 4.5 / math.sqrt(m)
    assert 0.8 < off.std() * math.sqrt(m) < 1.2
    later = np.corrcoef(x[:-1, 0], x[1:, 0])[0, 1]
    assert abs(later) < 4 / math.sqrt(m)


@pytest.mark.parametrize(
    ("changes", "what"),
    [
        ({"link": "air"}, "link"), ({"scope": "all"}, "scope"), ({"distribution": "flat"}, "distribution"),
        ({"u": -1.0}, "u"), ({"u": math.nan}, "u"), ({"dof": 0.0}, "dof"), ({"dof": math.nan}, "dof"),
    ],
)  # fmt: skip
def test_a_bad_source_says_what_is_wrong(changes: dict[str, object], what: str) -> None:
    with pytest.raises(InputError) as caught:
        source(**changes)
    assert caught.value.what == what
    assert 'source "a"' in str(caught.value)


def test_draws_backwards_are_refused() -> None:
    with pytest.raises(InputError, match="start and stop"):
        Draws(1, 5, 3)


def test_links_and_scopes_are_lists_without_repeats() -> None:
    assert len(set(LINKS)) == len(LINKS) == 7
    assert len(set(SCOPES)) == len(SCOPES)


def test_sources_with_one_doubt_share_their_scale():
    """Analytic: the noise of one instrument at two stations is independent, its size is the same unknown."""
    one, two = (Source(f"station {k}: noise", "reading", 1.0, "mm", "reading", dof=3, doubt="noise") for k in (1, 2))
    draws = Draws(5, 0, 4000)
    a, b = (np.abs(draws.of(s, [f"{s.name}{i}" for i in range(40)])).mean(1) for s in (one, two))
    assert np.corrcoef(a, b)[0, 1] > 0.8
    apart = Source("station 2: noise", "reading", 1.0, "mm", "reading", dof=3)
    c = np.abs(draws.of(apart, [f"{apart.name}{i}" for i in range(40)])).mean(1)
    assert abs(np.corrcoef(a, c)[0, 1]) < 0.1
