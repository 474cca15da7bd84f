"""What is left for the maker, and the word for it. Expected values: by hand from the rule (analytic)."""

import math
from dataclasses import replace

import pytest
from choose_jobs import block_job
from scipy.stats import norm

from trysquare.choose.words import acceptance, acceptance_text, factor, left_of, limits_of, target_u, zone_of


@pytest.fixture(scope="module")
def asked(tmp_path_factory):
    job = block_job(tmp_path_factory.mktemp("block"))
    return {r.id: r for r in job.requirements}


def test_the_guard_is_one_sided(asked):
    """Independent computation: scipy's normal quantile."""
    assert factor(0.95) == pytest.approx(norm.ppf(0.95), abs=1e-12)
    assert factor(0.99) == pytest.approx(norm.ppf(0.99), abs=1e-12)


@pytest.mark.parametrize(("id_", "width", "sides"), [("depth", 0.2, 2), ("flat", 0.05, 1), ("size", 0.05, 2)])
def test_target_leaves_exactly_sixty_per_cent(asked, id_, width, sides):
    zone = zone_of(asked[id_])
    assert (zone.width, zone.sides) == (pytest.approx(width), sides)
    u = target_u(zone, 0.95)
    assert u == pytest.approx(0.4 * width / (sides * 1.6448536), rel=1e-6)
    assert left_of(zone, u, 0.95) == pytest.approx(0.6)
    assert left_of(zone, 1.01 * u, 0.95) < 0.6 < left_of(zone, 0.99 * u, 0.95)


def test_never_less_than_nothing_is_left(asked):
    assert left_of(zone_of(asked["flat"]), 10.0, 0.95) == 0.0


def test_one_limit_counts_from_the_nominal(asked):
    one = replace(asked["depth"], upper=None)
    assert zone_of(one).width == pytest.approx(0.1)
    assert zone_of(one).sides == 1
    assert limits_of(one) == "least"
    open_ = replace(asked["depth"], lower=400.0, upper=None)
    assert zone_of(open_).width is None
    assert target_u(zone_of(open_), 0.95) is None
    assert left_of(zone_of(open_), 0.01, 0.95) is None


def test_acceptance_is_the_zone_less_the_guard(asked):
    assert acceptance(asked["depth"], 0.01, 0.95) == pytest.approx((399.9164485, 400.0835515), abs=1e-6)
    assert acceptance(asked["flat"], 0.01, 0.95) == (None, pytest.approx(0.0335515, abs=1e-6))
    assert acceptance_text(asked["depth"], (399.916, 400.084)) == "399.916 to 400.084 mm"
    assert acceptance_text(asked["flat"], (None, 0.0335515)) == "0.0336 mm or less"
    angle = asked["angle"]
    assert acceptance_text(angle, (math.radians(89.96), math.radians(90.04))) == "89.9600 to 90.0400 deg"
