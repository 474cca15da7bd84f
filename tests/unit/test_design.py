"""The orthogonal design: variances without chance, of sources with few streams."""

import numpy as np
import pytest

from trysquare.chance.contributions import shares
from trysquare.chance.design import FEW, ROWS, Design
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
    assert not design.many


def test_a_size_in_doubt_widens_it():
    """Analytic: variance of Student's t, dof / (dof - 2)."""
    assert Design({"heat"}).of(source(dof=8.0), ["a"])[:, 0].var(ddof=1) == pytest.approx(4.0 * 8 / 6)


def test_what_it_cannot_serve_stands_still_and_is_named():
    design = Design({"heat", "noise", "loose"})
    assert design.of(source(), ["day"]).any()
    assert not design.of(source("noise"), [str(i) for i in range(FEW + 1)]).any()
    assert not design.of(source("noise"), ["0"]).any()
    assert not design.of(source("loose", dof=2.0), ["a"]).any()
    assert design.many == {"noise", "loose"}
    assert design.of(source(), ["another"]).any()


def test_no_more_sources_than_columns():
    names = [f"s{i}" for i in range(20)]
    design = Design(names)
    for name in names:
        design.of(source(name), [str(i) for i in range(10)])
    assert design.many == set(names[12:])  # 127 columns


SOURCES = [source("a"), source("b", u=1.0, dof=12.0), source("c", u=0.5, distribution="rectangular")]
KEYS = {"a": ["x"], "b": ["x", "y"], "c": ["p", "q", "r", "s"]}
A = np.random.default_rng(1).normal(size=(7, 3))


def errors(draws):
    return np.concatenate([draws.of(s, KEYS[s.name]) for s in SOURCES], axis=1)


def test_shares_agree_with_those_of_draws():
    """Independent computation: 200 000 draws of a linear chain with sources of one, two and four streams."""
    total = errors(Draws(1, 0, 200_000)) @ A
    design = Design({s.name for s in SOURCES})
    ran = 5.0 + errors(design) @ A
    exact = dict(shares({s.name: design.alone([s.name], ran) for s in SOURCES}, total).ordered)
    drawn = {s.name: errors(Draws(1, 0, 200_000, only={s.name})) @ A for s in SOURCES}
    assert exact == pytest.approx(dict(shares(drawn, total).ordered), abs=0.01)
    pair = shares({"a and b": design.alone(["a", "b"], ran)}, total).ordered
    assert pair[0][1] == pytest.approx(exact["a"] + exact["b"], abs=1e-12)


def test_products_of_two_errors_stay_out():
    """Analytic: what only a product of two errors does is no source's own doing."""
    design = Design({s.name for s in SOURCES})
    e = errors(design)
    ran = e @ A + np.outer(e[:, 0] * e[:, 1] + e[:, 2] ** 2, np.ones(3))
    for s in SOURCES:
        plain = design.alone([s.name], e @ A)
        np.testing.assert_allclose(design.alone([s.name], ran), plain, atol=1e-12)
    assert not design.alone(["unheard of"], ran).any()
