"""The arm: how it stands, levers, reach, messages."""

import numpy as np
import pytest

from trysquare.chance.sources import Draws
from trysquare.core.errors import InputError
from trysquare.instruments import arm
from trysquare.instruments.base import Sighting
from trysquare.instruments.parameters import Parameter

SCOPES = {"joint_noise": "pose", "probing_noise": "reading", "tip": "target"}
LINK, SHOULDER = 700.0, 250.0


def model(name="A", link=LINK, **u):
    figures = dict.fromkeys(arm.NEEDED, 0.0) | u
    return arm.from_parameters(
        name,
        {
            key: Parameter(
                figure, arm.NEEDED[key], "point at a station", SCOPES.get(key, "instrument"), value=link
            )
            for key, figure in figures.items()
        },
    )  # fmt: skip


def sighting(points, target="tip-6"):
    n = len(points)
    ids = tuple(f"1:{i}" for i in range(n))
    return Sighting("1", "A", ids, ids, (target,) * n, np.asarray(points, float), np.ones(n, dtype=np.int64))


POINTS = np.array([[600.0, 300, 100], [-200, 900, 700], [300, -400, -200], [1000, 0, 250]])


def _forward(angles, upper=LINK, fore=LINK):
    """Independent: the tip from the joint angles, by plain trigonometry."""
    base, shoulder, elbow = angles
    flat = upper * np.cos(shoulder) + fore * np.cos(shoulder + elbow)
    height = SHOULDER + upper * np.sin(shoulder) + fore * np.sin(shoulder + elbow)
    return np.array([flat * np.cos(base), flat * np.sin(base), height])


def test_the_pose_brings_the_tip_to_the_point():
    pose = model().pose(POINTS)
    for angles, point in zip(pose.angles, POINTS):
        np.testing.assert_allclose(_forward(angles), point, atol=1e-9)
    assert (pose.angles[:, 2] < 0).all()  # elbow up


def test_joints_links_and_levers_against_differences():
    """Independent computation: central differences of the forward trigonometry."""
    pose, h = model().pose(POINTS), 1e-6
    for i, angles in enumerate(pose.angles):
        for j in range(3):
            step = h * np.eye(3)[j]
            expected = (_forward(angles + step) - _forward(angles - step)) / (2 * h)
            np.testing.assert_allclose(pose.per_joint[i, j], expected, atol=1e-5)
        longer = (_forward(angles, LINK + 1, LINK) - _forward(angles), _forward(angles, LINK, LINK + 1) - POINTS[i])
        np.testing.assert_allclose(pose.upper[i], longer[0], atol=1e-9)
        np.testing.assert_allclose(pose.fore[i], longer[1], atol=1e-9)


def test_stretched_arms_are_worse_across_than_bent_ones():
    """Analytic: at distance d from the shoulder the base's noise moves the tip by d u sideways."""
    u = 2e-5
    points = np.array([[400.0, 0, SHOULDER], [1200.0, 0, SHOULDER]])
    draws = model(joint_noise=u).errors(sighting(points), Draws(1, 0, 20_000))
    np.testing.assert_allclose(draws[:, :, 1].std(0), [400 * u, 1200 * u], rtol=0.02)


def test_repeated_poses_average_noise_but_not_the_scales_of_the_joints():
    same = np.repeat(POINTS[:1], 50, axis=0)
    noise = model(joint_noise=1e-5).errors(sighting(same), Draws(1, 0, 500))
    scales = model(joint_eccentricity=1e-5).errors(sighting(same), Draws(1, 0, 500))
    assert noise.mean(1).std() < 0.25 * noise[:, 0].std()
    np.testing.assert_allclose(scales.mean(1), scales[:, 0], atol=1e-15)


def test_tip_turns_with_the_forearm_and_is_shared_by_target():
    errors = model(tip=0.01).errors(sighting(POINTS), Draws(1, 0, 200))
    np.testing.assert_allclose(np.linalg.norm(errors, axis=-1), np.linalg.norm(errors, axis=-1)[:, :1] + [[0] * 4])
    assert np.abs(errors[:, 0] - errors[:, 2]).max() > 0.005
    other = model(tip=0.01).errors(sighting(POINTS, target="tip-3"), Draws(1, 0, 200))
    assert not np.allclose(errors, other)


def test_spread_is_the_deviation_of_what_differs_between_readings():
    noisy = model(joint_noise=2e-5, probing_noise=0.006, joint_eccentricity=1e-4)
    draws = model(joint_noise=2e-5, probing_noise=0.006).errors(sighting(POINTS), Draws(1, 0, 20_000))
    np.testing.assert_allclose(noisy.spread(sighting(POINTS)), draws.std(0), rtol=0.02)


def test_contributions_add_up_and_names():
    full = model(**dict.fromkeys(arm.NEEDED, 1e-3))
    parts = sum(full.errors(sighting(POINTS), Draws(3, 0, 50, only={s.name})) for s in full.sources("1"))
    np.testing.assert_allclose(full.errors(sighting(POINTS), Draws(3, 0, 50)), parts, atol=1e-13)
    assert [s.name for s in full.sources("1")] == [
        "station 1: joints", "station 1: probing", "A: scales of the joints", "A: lengths of the links", "A: tip",
    ]  # fmt: skip
    assert all(s.action for s in full.sources("1"))
    assert np.array_equal(full.points(POINTS), full.observe(POINTS))


@pytest.mark.parametrize(("point", "found"), [([2000.0, 0, 0], "2016 mm"), ([0, 0, 250.0], "0 mm")])
def test_out_of_reach_names_the_reading(point, found):
    with pytest.raises(InputError) as caught:
        model(joint_noise=1e-5).errors(sighting([POINTS[0], point]), Draws(1, 0, 5))
    assert str(caught.value) == (
        f'reading "1:1": the distance from the arm\'s shoulder must lie between 140 and 1400 mm; got {found}. '
        "Move the arm, or correct the reading."
    )
    assert model().within_reach(np.array([POINTS[0], point])).tolist() == [True, False]


def test_a_link_without_length():
    with pytest.raises(InputError, match='arm "A": the value of "link_length" must be above zero; got 0 mm'):
        model(link=0.0)
