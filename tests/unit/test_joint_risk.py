"""Joint risk of a part against the plain count of joint draws beyond any limit (independent computation)."""

import numpy as np
import pytest

from trysquare.chance.magnitude import magnitude
from trysquare.chance.smooth import smooth
from trysquare.chance.statement import not_stated
from trysquare.jobs.found import Found
from trysquare.jobs.job import Requirement
from trysquare.jobs.joint import joint_risk
from trysquare.jobs.stating import state
from trysquare.tolerances.measurand import Measurand

DRAWS, U = 20_000, 0.01
Z, OTHER = np.random.default_rng(8).normal(size=(2, DRAWS))


def asked(lower, upper, kind="distance"):
    return Requirement("", "", kind, ("a", "b"), (), 10.0, lower, upper, False, "", None, None, None, False, None, 0)


def smooth_found(value, errors, lower=9.95, upper=10.05):
    drawn = value + errors[:, None]
    measured = Measurand("smooth", (np.array([value]),))
    return Found(asked(lower, upper), smooth(value, drawn[:, 0]), measured, Measurand("smooth", (drawn,)), [], None)


def counted(cases):
    """Of the draws of smooth requirements, those beyond any limit."""
    out = np.zeros(DRAWS, dtype=bool)
    for f in cases:
        x, (low, high) = f.drawn.vectors[0][:, 0], f.limits
        out |= (x < low) | (x > high)
    return out.mean()


@pytest.mark.parametrize(
    "cases",
    [
        [smooth_found(9.97, U * Z), smooth_found(9.97, U * Z)],
        [smooth_found(9.97, U * Z), smooth_found(10.03, U * Z)],
        [smooth_found(9.97, U * Z), smooth_found(9.97, -U * Z)],
        [smooth_found(10.0, U * Z, 9.982, 10.018), smooth_found(10.0, U * Z, 9.985, 10.05)],
        [smooth_found(9.96, U * Z), smooth_found(10.04, U * OTHER)],
    ],
    ids=["one error, same side", "one error, other sides", "opposite errors", "both limits close", "independent"],
)
def test_what_errors_have_in_common_counts_on_the_side_where_it_acts(cases):
    """Accepted or not: two requirements at opposite limits cannot both fail by one error."""
    found = {str(i): f for i, f in enumerate(cases)}
    assert joint_risk(found, 1) == pytest.approx(counted(cases), abs=0.002)


def test_of_several_places_the_judged_one_counts():
    """The second of two places lies near the limit; its error is that of another requirement, turned round."""
    sizes = np.array([10.0, 10.03])
    drawn = sizes + np.stack([U * OTHER, U * Z], axis=-1)
    requirement = asked(9.95, 10.05, "size")
    value, draws = Measurand("smooth", (sizes,)), Measurand("smooth", (drawn,))
    both = Found(requirement, state(requirement, value, draws, 1), value, draws, [], None)
    same, turned = (joint_risk({"1": both, "2": smooth_found(10.03, s * U * Z)}, 1) for s in (1, -1))
    assert same == pytest.approx(max(both.tails[1], 0.0228), abs=0.002)
    assert turned == pytest.approx(both.tails[1] + 0.0228, abs=0.002)


def test_an_angle_near_180_degrees_fails_downwards():
    errors = np.stack([U * Z, U * OTHER], axis=-1)
    d = np.array([0.03, 0.0])
    said = magnitude(d, d + errors).taken_from(np.pi)
    value, drawn = (Measurand("magnitude", (v,), less_from=np.pi) for v in (d, d + errors))
    angle = Found(asked(np.pi - 0.05, None, "angle"), said, value, drawn, [], None)
    for sign, joint in ((1, 0.0228), (-1, 0.0456)):
        other = smooth_found(10.03, sign * U * Z)
        assert joint_risk({"1": angle, "2": other}, 1) == pytest.approx(joint, abs=0.004)


def test_where_one_cannot_be_stated_there_is_none():
    lost = Found(asked(9.0, 11.0), not_stated("smooth", "why not"), None, None, [], None)
    assert joint_risk({"1": lost, "2": smooth_found(10.0, U * Z)}, 1) is None
