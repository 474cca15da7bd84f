"""Magnitudes: shape, edges and invariances. Coverage is in tests/statistics."""

import math

import numpy as np
import pytest

from trysquare.chance.magnitude import confidence_of_magnitude, largest, magnitude
from trysquare.core.errors import InputError

_RNG = np.random.default_rng(3)
_E = {k: _RNG.normal(size=(2000, k)) for k in (1, 2, 3)}


@pytest.mark.parametrize("k", [1, 2, 3])
@pytest.mark.parametrize("size", [0.0, 1e-9, 0.4, 2.0, 30.0])
def test_interval_holds_the_reading_and_nothing_negative(k, size):
    d = np.zeros(k)
    d[-1] = size
    s = magnitude(d, d + _E[k])
    assert 0.0 <= s.interval[0] <= s.value <= s.interval[1]
    assert s.interval[1] > size + 1.5
    assert np.all(np.diff(s.quantiles) >= 0.0)
    assert s.quantiles[0] >= 0.0


def test_turning_the_axes_changes_nothing():
    turn = np.linalg.qr(np.random.default_rng(4).normal(size=(3, 3)))[0]
    d, e = np.array([0.5, -1.0, 0.3]), _E[3] * [3.0, 1.0, 0.5]
    a, b = magnitude(d, d + e), magnitude(d @ turn, (d + e) @ turn)
    assert a.interval == pytest.approx(b.interval, rel=1e-6)
    assert a.quantiles == pytest.approx(b.quantiles, rel=1e-5, abs=1e-9)


def test_scale_of_a_zone_diameter():
    d = np.array([1.0, 2.0])
    a, b = magnitude(d, d + _E[2]), magnitude(d, d + _E[2], scale=2.0)
    assert b.value == pytest.approx(2 * math.sqrt(5.0))
    assert b.u == pytest.approx(2 * a.u)
    assert b.interval == pytest.approx((2 * a.interval[0], 2 * a.interval[1]))


def test_u_is_taken_along_the_vector():
    e = _E[2] * [3.0, 0.1]
    assert magnitude([5.0, 0.0], e + np.array([5.0, 0.0])).u == pytest.approx(3.0, rel=0.05)
    assert magnitude([0.0, 5.0], e + np.array([0.0, 5.0])).u == pytest.approx(0.1, rel=0.05)
    assert magnitude([0.0, 0.0], e).u == pytest.approx(math.sqrt((9.0 + 0.01) / 2), rel=0.05)


def test_no_doubt_at_all():
    s = magnitude([3.0, 4.0], np.tile([3.0, 4.0], (30, 1)))
    assert (s.value, s.u, s.interval) == (5.0, 0.0, (5.0, 5.0))
    assert np.all(confidence_of_magnitude([3.0, 4.0], np.tile([3.0, 4.0], (30, 1)), [0.1, 0.9]) == 5.0)


def test_direction_without_doubt_counts_in_full():
    """Analytic: |(x, 4)| with x in doubt is hypot(4, |x|), so its interval is that of |x| mapped."""
    e = _E[1][:, 0]
    alone = magnitude([3.0], (3.0 + e)[:, None])
    both = magnitude([3.0, 4.0], np.stack([3.0 + e, np.full(2000, 4.0)], axis=1))
    assert both.interval == pytest.approx(np.hypot(4.0, alone.interval), rel=1e-9)


def test_nearly_singular_covariance_goes_over_into_the_singular_one():
    e = np.stack([_E[1][:, 0], 1e-3 * _E[2][:, 1]], axis=1)
    flat = e * [1.0, 0.0]
    d = np.array([3.0, 4.0])
    assert magnitude(d, d + e).interval == pytest.approx(magnitude(d, d + flat).interval, abs=0.08)


def test_limit_smaller_than_the_doubt_is_not_met_by_a_lucky_reading():
    """The two-sided cap: a reading of 0.01 cannot show that the truth is below half a standard uncertainty."""
    d = np.array([0.01, 0.0])
    assert magnitude(d, d + _E[2]).below(0.5) < 0.8
    free = confidence_of_magnitude(d, d + _E[2], [0.9])
    assert free[0] == 0.0  # the plain inversion would call it met


def test_confidence_follows_the_interval_far_from_zero():
    d = np.array([40.0, 0.0])
    s = magnitude(d, d + _E[2])
    assert s.quantile(0.025) == pytest.approx(s.interval[0], abs=0.08)
    assert s.quantile(0.975) == pytest.approx(s.interval[1], abs=0.08)
    c = confidence_of_magnitude(d, d + _E[2], [0.025, 0.5, 0.975])
    assert c == pytest.approx([40 - 1.96, 40.0, 40 + 1.96], abs=0.15)


def test_largest_of_one_is_itself_and_of_two_is_no_better_than_the_worse():
    near, far = np.array([1.0, 0.0]), np.array([6.0, 0.0])
    a, b = magnitude(near, near + _E[2]), magnitude(far, far + _E[2])
    assert largest([a]) is a
    both = largest([a, b])
    assert both.value == 6.0
    assert both.interval[1] == b.interval[1]
    assert both.interval[0] <= b.interval[0] + 0.05
    for limit in (7.0, 8.0, 9.0):
        assert both.below(limit) == pytest.approx(min(a.below(limit), b.below(limit)), abs=1e-9)
    for limit in (3.0, 3.5, 4.0):  # proving non-conformity takes twice the evidence
        assert both.below(limit) == pytest.approx(2 * b.below(limit), rel=0.2)


@pytest.mark.parametrize(
    ("vector", "draws"),
    [([1.0, 2.0, 3.0, 4.0], np.zeros((50, 4))), ([1.0], np.zeros((5, 1))), ([1.0, 2.0], np.zeros((50, 3))),
     ([math.nan], np.zeros((50, 1)))],
)  # fmt: skip
def test_bad_input_is_refused(vector, draws):
    with pytest.raises(InputError):
        magnitude(vector, draws)
