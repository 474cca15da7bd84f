"""The orthogonal design: variances without chance, few streams only."""

import math

import numpy as np
import pytest

from trysquare.chance.contributions import shares
from trysquare.chance.design import ROWS, Design, ManyStreams
from trysquare.chance.sources import Draws, Source


def source(name="heat", **changes):
    return Source(**({"name": name, "link": "reading", "u": 2.0, "unit": "um", "scope": "day"} | changes))


def test_streams_are_orthogonal_of_mean_zero_and_of_their_variance():
    """Analytic."""
    design = Design({"heat", "ball"})
    columns = np.concatenate([design.of(source(), ["a", "b"]), design.of(source("ball", u=3.0), ["a"])], axis=1)
    np.testing.assert_allclose(columns.mean(0), 0.0, atol=1e-15)
    np.testing.assert_allclose(np.cov(columns.T), np.diag([4.0, 4.0, 9.0]), atol=1e-12)
    assert len(design) == ROWS


def test_equal_keys_share_a_column_whenever_asked():
    design = Design({"heat"})
    first, again = design.of(source(), ["a", "b", "a"]), design.of(source(), ["b"])
    assert np.array_equal(first[:, 0], first[:, 2])
    assert np.array_equal(first[:, 1], again[:, 0])
    assert not design.of(source("other"), ["a"]).any()


def test_a_size_in_doubt_widens_it():
    """Analytic: variance of Student's t, dof / (dof - 2)."""
    assert Design({"heat"}).of(source(dof=8.0), ["a"])[:, 0].var(ddof=1) == pytest.approx(4.0 * 8 / 6)


def test_what_it_cannot_do_goes_back_to_draws():
    design = Design({"heat"})
    design.of(source(), [str(i) for i in range(ROWS - 1)])
    with pytest.raises(ManyStreams):
        design.of(source(), ["one more"])
    with pytest.raises(ManyStreams):
        Design({"heat"}).of(source(dof=2.0), ["a"])


def test_shares_agree_with_those_of_draws():
    """Independent computation: 200 000 draws of a linear chain with sources of one, two and four streams."""
    sources = [source("a"), source("b", u=1.0, dof=12.0), source("c", u=0.5, distribution="rectangular")]
    keys = {"a": ["x"], "b": ["x", "y"], "c": ["p", "q", "r", "s"]}
    A = np.random.default_rng(1).normal(size=(7, 3))

    def chain(draws):
        return np.concatenate([draws.of(s, keys[s.name]) for s in sources], axis=1) @ A

    total = chain(Draws(1, 0, 200_000))
    exact = dict(shares({s.name: chain(Design({s.name})) for s in sources}, total).ordered)
    drawn = dict(shares({s.name: chain(Draws(1, 0, 200_000, only={s.name})) for s in sources}, total).ordered)
    assert exact == pytest.approx(drawn, abs=0.01)
    assert math.fsum(exact.values()) == pytest.approx(1.0, abs=0.01)
