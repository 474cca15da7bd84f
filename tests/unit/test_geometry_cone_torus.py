"""Cones and tori: found without a start, honest where they are hardly there, refused where they are not."""

import numpy as np
import pytest

from trysquare.core.errors import InputError, RankError
from trysquare.geometry import fit_cone, fit_cylinder, fit_sphere, fit_torus, parameter_u

D = np.pi / 180


def turned(points: np.ndarray, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """The points in another pose, and where z went."""
    rng = np.random.default_rng(seed)
    R = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    return points @ R.T + [100.0, -50.0, 30.0], R[:, 2]


def cone(half: float, arc: float, n: int = 40, radius: float = 10.0, seed: int = 0, noise: float = 0.0) -> np.ndarray:
    """Points of a cone, angles in degrees, radius at half height; they never reach the apex."""
    rng = np.random.default_rng(seed)
    a = np.r_[0, arc, rng.uniform(0, arc, n - 2)] * D
    reach = min(radius / np.sin(half * D), 4 * radius, 2 * arc * D * radius) / 2
    along = rng.uniform(-reach, reach, n)
    rho, t = radius + along * np.sin(half * D), along * np.cos(half * D)
    points = np.column_stack([rho * np.cos(a), rho * np.sin(a), t])
    return points + rng.normal(0, noise, points.shape)


def torus(major: float, minor: float, arc: float, around: float, mid: float = 0.0, n: int = 60, seed: int = 0):
    rng = np.random.default_rng(seed)
    a = rng.permutation(np.r_[0, arc, rng.uniform(0, arc, n - 2)]) * D
    b = (mid + np.r_[-around / 2, around / 2, rng.uniform(-around / 2, around / 2, n - 2)]) * D
    rho = major + minor * np.cos(b)
    return np.column_stack([rho * np.cos(a), rho * np.sin(a), minor * np.sin(b)])


@pytest.mark.parametrize("half", [0.5, 1, 10, 45, 80, 85, 89])
@pytest.mark.parametrize("arc", [360, 90, 20, 5])
def test_exact_cones_are_found(half: float, arc: float) -> None:
    """Analytic: points of a cone leave nothing."""
    for seed in range(3):
        points, axis = turned(cone(half, arc, seed=seed), seed)
        fit = fit_cone(points)
        assert np.abs(fit.residuals_mm).max() < 1e-11
        scale = max(1.0, float(parameter_u(fit, u_mm=1.0).u["half_angle_rad"]))
        assert abs(fit.half_angle_rad - half * D) < 1e-11 * scale
        assert np.linalg.norm(np.cross(fit.direction, axis)) < 1e-11 * scale
        apex = np.array([100.0, -50.0, 30.0]) - axis * 10 / np.tan(half * D)
        assert np.linalg.norm(fit.apex_mm - apex) < 1e-9 * scale / (half * D) ** 2


@pytest.mark.parametrize(("major", "minor"), [(10, 0.2), (10, 4), (10, 9), (1000, 300)])
@pytest.mark.parametrize(("arc", "around", "mid"), [
    (360, 360, 0), (360, 90, 0), (360, 60, 180), (90, 360, 0), (90, 90, 90), (20, 360, 0), (20, 40, 180), (5, 90, 0),
    (5, 5, 0), (5, 5, 180),
])  # fmt: skip
def test_exact_tori_are_found(major: float, minor: float, arc: float, around: float, mid: float) -> None:
    """Analytic: points of a torus leave nothing."""
    points, axis = turned(torus(major, minor, arc, around, mid), 1)
    fit = fit_torus(points)
    assert np.abs(fit.residuals_mm).max() < 1e-11 * max(1, major / 100)
    u = parameter_u(fit, u_mm=1e-13 * max(10.0, major)).u  # the points themselves are rounded
    assert abs(fit.major_radius_mm - major) < 100 * u["major_radius_mm"] + 1e-12 * major
    assert abs(fit.minor_radius_mm - minor) < 100 * u["minor_radius_mm"] + 1e-12 * major
    assert np.linalg.norm(np.cross(fit.direction, axis)) < 100 * np.linalg.norm(u["direction"]) + 1e-12


def test_residuals_are_positive_outside() -> None:
    points = np.concatenate([cone(20, 360), [[100.0, 0, 0]]])
    assert fit_cone(points, weights=np.r_[np.ones(40), 0]).residuals_mm[-1] > 50
    points = np.concatenate([torus(10, 3, 360, 360), [[10.0, 0, 0]]])
    assert abs(fit_torus(points, weights=np.r_[np.ones(60), 0]).residuals_mm[-1] + 3) < 1e-9


def test_direction_is_towards_the_wider_end_and_radius_at_the_centroid() -> None:
    fit = fit_cone(cone(20, 200) * [1, 1, -1])
    assert fit.direction[2] < -0.999999
    middle = cone(20, 200) * [1, 1, -1]
    assert abs((fit.point_mm - middle.mean(0)) @ fit.direction) < 1e-12
    assert abs(fit.radius_mm - np.tan(20 * D) * (fit.point_mm - fit.apex_mm) @ fit.direction) < 1e-10


@pytest.mark.parametrize("noise", [0.0, 0.001])
def test_a_cylinder_answers_as_a_cone_and_is_offered(noise: float) -> None:
    rng = np.random.default_rng(3)
    a, t = rng.uniform(0, 6.28, 60), rng.uniform(0, 30, 60)
    points = np.column_stack([10 * np.cos(a), 10 * np.sin(a), t]) + rng.normal(0, noise, (60, 3))
    fit = fit_cone(points)
    u = parameter_u(fit, u_mm=max(noise, 1e-14)).u["half_angle_rad"]
    assert fit.half_angle_rad < 4 * u
    assert abs(fit.radius_mm - fit_cylinder(points).radius_mm) < 3 * noise + 1e-10
    assert any("a cylinder does as well" in note and "Fit a cylinder" in note for note in fit.notes)
    assert not fit_cone(cone(2, 360, noise=0.001)).notes  # the negative twin


def test_a_plane_is_no_cone() -> None:
    rng = np.random.default_rng(4)
    flat = np.column_stack([rng.uniform(-5, 5, (40, 2)), np.zeros(40)])
    with pytest.raises(RankError, match=r"one plane.*Fit a plane") as e:
        fit_cone(turned(flat, 2)[0])
    assert e.value.ratio < e.value.threshold
    with pytest.raises(RankError, match=r"one plane.*Fit a plane"):
        fit_torus(flat)
    rough = flat + rng.normal(0, 0.01, flat.shape)
    assert any("a plane does as well" in note for note in fit_cone(rough).notes)


@pytest.mark.parametrize("fit", [fit_cone, fit_torus])
def test_coincident_and_collinear(fit) -> None:
    with pytest.raises(RankError, match="coincide"):
        fit(np.full((12, 3), 7.0))
    with pytest.raises(RankError, match="one line"):
        fit(np.arange(12.0)[:, None] * [1, 2, 3])
    with pytest.raises(InputError, match="at least"):
        fit(np.zeros((5, 3)))


def test_a_sphere_or_a_cylinder_is_no_torus_or_says_so() -> None:
    rng = np.random.default_rng(5)
    d = rng.normal(size=(60, 3))
    ball = 5 * d / np.linalg.norm(d, axis=1, keepdims=True) + rng.normal(0, 0.001, (60, 3))
    a, t = rng.uniform(0, 6.28, 60), rng.uniform(0, 30, 60)
    tube = np.column_stack([10 * np.cos(a), 10 * np.sin(a), t]) + rng.normal(0, 0.001, (60, 3))
    for points, word in ((ball, "sphere"), (tube, "cylinder")):
        try:
            said = " ".join(fit_torus(points).notes)
        except RankError as error:
            said = str(error)
        assert word in said
    assert fit_sphere(ball).sum_of_squares_mm2 < 1e-4


@pytest.mark.parametrize(("fit", "good"), [(fit_cone, cone(20, 200)), (fit_torus, torus(10, 3, 200, 200))])
def test_batch_reports_per_member(fit, good: np.ndarray) -> None:
    good = good[:40]
    bad = np.arange(40.0)[:, None] * [1, 2, 3]
    batch = fit(np.stack([good, bad, good + 1.0]))
    assert batch.ok.tolist() == [True, False, True]
    assert np.isnan(batch.residuals_mm[1]).all()
    assert batch.rank[1] < batch.rank[0]
    assert np.abs(batch.direction[2] - batch.direction[0]).max() < 1e-10
    alone = fit(good + 1.0)
    for name in alone.PARAMETERS:
        assert np.allclose(getattr(batch, name)[2], getattr(alone, name), rtol=0, atol=1e-9)


def test_short_arc_of_a_cone_answers() -> None:
    fit = fit_cone(cone(30, 5, noise=0.001))
    u = parameter_u(fit)
    assert fit.ok
    assert u.u["radius_mm"] > 0.05
    assert fit.notes


def test_toward_chooses_between_tori() -> None:
    """A patch at the top of a torus is all but symmetric: the hint decides where two fit about as well."""
    points = torus(10, 4, 40, 40, 90)
    axis = fit_torus(points).direction
    assert (fit_torus(points, toward=-axis).direction == -axis).all()
