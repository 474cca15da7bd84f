"""Parts held and weights, every shape: against scipy.optimize.least_squares over the free parameters alone.

Independent computation: distances written anew from centre, axis and radii; the rival starts at the shape that made the
points.
"""

import numpy as np
import pytest
from scipy.optimize import least_squares

from trysquare.core.errors import InputError
from trysquare.geometry import (
    fit_circle,
    fit_cone,
    fit_cylinder,
    fit_line,
    fit_plane,
    fit_sphere,
    fit_torus,
    parameter_u,
)

AXIS = np.array([2.0, -1.0, 2.0]) / 3
AT = np.array([30.0, -20.0, 10.0])
U = np.array([1.0, 2.0, 0.0]) / np.sqrt(5)
V = np.cross(AXIS, U)
R, SMALL, ANGLE = 12.0, 4.0, 0.35


def directed(a: float, b: float) -> np.ndarray:
    d = AXIS + a * U + b * V
    return d / np.linalg.norm(d)


def polar(points: np.ndarray, at: np.ndarray, axis: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    d = points - at
    t = d @ axis
    return np.linalg.norm(d - t[:, None] * axis, axis=1), t


def cylinder(p: np.ndarray, x: np.ndarray) -> np.ndarray:
    return polar(x, AT + p[0] * U + p[1] * V, directed(p[2], p[3]))[0] - R - p[4]


def cone(p: np.ndarray, x: np.ndarray) -> np.ndarray:
    rho, t = polar(x, AT + p[0] * U + p[1] * V, directed(p[2], p[3]))
    return np.cos(ANGLE + p[5]) * (rho - R - p[4]) - np.sin(ANGLE + p[5]) * t


def torus(p: np.ndarray, x: np.ndarray) -> np.ndarray:
    rho, t = polar(x, AT + p[0] * U + p[1] * V + p[2] * AXIS, directed(p[3], p[4]))
    return np.hypot(rho - R - p[5], t) - SMALL - p[6]


def sphere(p: np.ndarray, x: np.ndarray) -> np.ndarray:
    return np.linalg.norm(x - AT - p[:3], axis=1) - R - p[3]


def circle(p: np.ndarray, x: np.ndarray) -> np.ndarray:
    rho, t = polar(x, AT + p[0] * U + p[1] * V + p[2] * AXIS, directed(p[3], p[4]))
    return np.concatenate([rho - R - p[5], t])


def made(name: str, seed: int, n: int = 60, noise: float = 0.05, turn: float = 2.0) -> np.ndarray:
    """Points of a part of the shape, with noise."""
    rng = np.random.default_rng(seed)
    a, z, b = rng.uniform(0, turn, n), rng.uniform(-10, 10, n), rng.uniform(-2, 2, n)
    rho, t = {
        "cylinder": (np.full(n, R), z), "cone": (R + np.tan(ANGLE) * z, z), "circle": (np.full(n, R), 0 * z),
        "torus": (R + SMALL * np.cos(b), SMALL * np.sin(b)), "sphere": (R * np.cos(b / 2), R * np.sin(b / 2)),
    }[name]  # fmt: skip
    x = AT + (rho * np.cos(a))[:, None] * U + (rho * np.sin(a))[:, None] * V + t[:, None] * AXIS
    return x + rng.normal(0, noise, x.shape)


OFF = 0.1  # what is held lies this far off what the points would choose, in mm or in a tenth of it in rad
CASES = [
    ("cylinder", fit_cylinder, cylinder, 5, {}, ()),
    ("cylinder", fit_cylinder, cylinder, 5, {"radius_mm": R + OFF}, (4,)),
    ("cylinder", fit_cylinder, cylinder, 5, {"direction": directed(OFF / 10, 0)}, (2, 3)),
    ("cylinder", fit_cylinder, cylinder, 5, {"radius_mm": R + OFF, "direction": directed(OFF / 10, 0)}, (2, 3, 4)),
    ("cone", fit_cone, cone, 6, {}, ()),
    ("cone", fit_cone, cone, 6, {"half_angle_rad": ANGLE + OFF / 10}, (5,)),
    ("cone", fit_cone, cone, 6, {"direction": directed(OFF / 10, 0)}, (2, 3)),
    ("cone", fit_cone, cone, 6, {"half_angle_rad": ANGLE + OFF / 10, "direction": directed(OFF / 10, 0)}, (2, 3, 5)),
    ("torus", fit_torus, torus, 7, {}, ()),
    ("torus", fit_torus, torus, 7, {"minor_radius_mm": SMALL + OFF}, (6,)),
    ("torus", fit_torus, torus, 7, {"major_radius_mm": R + OFF}, (5,)),
    ("torus", fit_torus, torus, 7, {"major_radius_mm": R + OFF, "minor_radius_mm": SMALL + OFF}, (5, 6)),
    ("torus", fit_torus, torus, 7, {"direction": directed(OFF / 10, 0)}, (3, 4)),
    ("torus", fit_torus, torus, 7, {"direction": directed(OFF / 10, 0), "major_radius_mm": R + OFF}, (3, 4, 5)),
    (
        "torus", fit_torus, torus, 7,
        {"direction": directed(OFF / 10, 0), "major_radius_mm": R + OFF, "minor_radius_mm": SMALL + OFF}, (3, 4, 5, 6),
    ),
    ("sphere", fit_sphere, sphere, 4, {}, ()),
    ("sphere", fit_sphere, sphere, 4, {"radius_mm": R + OFF}, (3,)),
    ("circle", fit_circle, circle, 6, {}, ()),
    ("circle", fit_circle, circle, 6, {"radius_mm": R + OFF}, (5,)),
    ("circle", fit_circle, circle, 6, {"normal": directed(OFF / 10, 0)}, (3, 4)),
    ("circle", fit_circle, circle, 6, {"radius_mm": R + OFF, "normal": directed(OFF / 10, 0)}, (3, 4, 5)),
]  # fmt: skip
NAMES = [f"{c[0]} {' '.join(c[4])}" for c in CASES]
VALUES = {"radius_mm": R, "half_angle_rad": ANGLE, "minor_radius_mm": SMALL, "major_radius_mm": R}


def rival(distances, count: int, points: np.ndarray, held: dict, fixed: tuple[int, ...], w: np.ndarray):
    """Least sum of squares over the free parameters, the full parameters there, and the covariance of unit weight."""
    base = np.zeros(count)
    for i in fixed:
        for name, value in held.items():
            if np.ndim(value) == 0:
                size = {"radius_mm": {4: count == 5, 5: True, 3: count == 4}.get(i, False), "half_angle_rad": i == 5}
                if size.get(name, (name == "major_radius_mm" and i == 5) or (name == "minor_radius_mm" and i == 6)):
                    base[i] = value - VALUES[name]
    tilts = {5: 2, 6: 2 if distances is cone else 3, 7: 3}.get(count)
    if tilts in fixed:
        base[tilts] = OFF / 10
    free = [i for i in range(count) if i not in fixed]
    root = np.sqrt(w)

    def left(q: np.ndarray) -> np.ndarray:
        p = base.copy()
        p[free] = q
        e = distances(p, points)
        return np.tile(root, len(e) // len(root)) * e

    done = least_squares(left, np.zeros(len(free)), x_scale="jac", xtol=1e-15, ftol=1e-15, gtol=1e-15)
    p = base.copy()
    p[free] = done.x
    return 2 * done.cost, p


@pytest.mark.parametrize("weighted", [False, True])
@pytest.mark.parametrize("case", CASES, ids=NAMES)
def test_against_least_squares(case, weighted: bool) -> None:
    name, fit, distances, count, held, fixed = case
    points = made(name, 1)
    w = np.random.default_rng(2).uniform(0.2, 3.0, len(points)) if weighted else np.ones(len(points))
    found = fit(points, **held, **({"weights": w} if weighted else {}))
    least, p = rival(distances, count, points, held, fixed, w)
    assert abs(found.sum_of_squares_mm2 - least) < 1e-9 * least
    assert found.ok
    assert found.rank == count - len(fixed)
    assert found.freedom == len(points) * (2 if name == "circle" else 1) - count + len(fixed)
    e = distances(p, points)
    expected = np.copysign(np.hypot(e[:60], e[60:]), e[:60]) if name == "circle" else e
    assert np.abs(found.residuals_mm - expected).max() < 1e-6  # what the rival leaves of its own
    for key, value in held.items():
        assert np.abs(np.abs(getattr(found, key)) - np.abs(value)).max() < 1e-13 * np.max(np.abs(value)) + 1e-15, key


@pytest.mark.parametrize("case", CASES, ids=NAMES)
def test_uncertainty_against_draws(case) -> None:
    """Spread of 1 500 draws; what is held has none."""
    name, fit, _, _, held, _ = case
    exact = made(name, 3, noise=0.0, turn=4.0)
    draws = fit(exact + np.random.default_rng(4).normal(0, 0.002, (1500, *exact.shape)), **held)
    told = parameter_u(fit(exact, **held), u_mm=0.002)
    assert draws.ok.all()
    for key, u in told.u.items():
        values = np.asarray(getattr(draws, key))
        if name in ("cylinder", "cone"):  # the height of the centroid wanders along the axis
            height = (draws.point_mm - draws.point_mm.mean(0)) @ AXIS
            values = values - {"point_mm": height[:, None] * AXIS}.get(key, 0.0)
            if name == "cone" and key == "radius_mm":
                values = values - height * np.tan(ANGLE)
        spread = values.std(0)
        assert np.allclose(spread, u, rtol=0.12, atol=0.02 * np.max(u) + 1e-12), key
        if key in held:
            assert spread.max() < 1e-12
            assert np.max(u) < 1e-12


def test_line_and_plane() -> None:
    rng = np.random.default_rng(5)
    points = rng.normal(size=(30, 3)) * [10, 8, 0.1]
    tilted = fit_plane(points, normal=[0, 0.1, -2])
    assert np.allclose(tilted.normal, np.array([0, 0.1, -2]) / np.hypot(0.1, 2))
    assert abs(tilted.residuals_mm.mean()) < 1e-14
    assert (tilted.rank, tilted.freedom) == (1, 29)
    assert abs(parameter_u(tilted, u_mm=1.0).covariance[:3, :3].trace() - 1 / 30) < 1e-12
    assert fit_plane(points, normal=[0, 0.1, -2], toward=[0, 0, 1]).normal[2] > 0
    line = fit_line(points, direction=[3, 0, 0])
    assert np.allclose(line.residuals_mm, np.hypot(*(points - points.mean(0))[:, 1:].T))
    assert (line.rank, line.freedom) == (2, 58)
    flat = fit_line(points[:, :2], direction=[0, -1])
    assert np.allclose(flat.residuals_mm, points[:, 0] - points[:, 0].mean())
    assert (flat.rank, flat.freedom) == (1, 29)


def test_circle_in_a_plane_with_its_radius_held() -> None:
    a = np.random.default_rng(6).uniform(0, 0.3, 40)
    points = np.column_stack([50 * np.cos(a), 50 * np.sin(a)]) + np.random.default_rng(7).normal(0, 0.01, (40, 2))
    found = fit_circle(points, radius_mm=50.5)
    done = least_squares(lambda c: np.linalg.norm(points - c, axis=1) - 50.5, [0.0, 0.0], xtol=1e-15, ftol=1e-15)
    assert np.abs(found.center_mm - done.x).max() < 1e-6
    assert found.radius_mm == 50.5
    assert parameter_u(found).u["radius_mm"] == 0


def test_held_per_trial() -> None:
    points = np.stack([made("cylinder", i) for i in range(3)])
    radii = np.array([11.9, 12.0, 12.1])
    batch = fit_cylinder(points, radius_mm=radii)
    assert np.array_equal(batch.radius_mm, radii)
    for i in range(3):
        assert np.abs(batch.point_mm[i] - fit_cylinder(points[i], radius_mm=radii[i]).point_mm).max() < 1e-10


def test_weight_of_two_is_the_point_twice() -> None:
    points = made("cone", 8)
    w = np.r_[2.0, np.ones(58), 0.0]
    twice = fit_cone(np.concatenate([points[:1], points[:59]]))
    once = fit_cone(points, weights=w)
    assert abs(once.half_angle_rad - twice.half_angle_rad) < 1e-12
    assert np.abs(once.apex_mm - twice.apex_mm).max() < 1e-10
    assert once.freedom == 59 - 6


@pytest.mark.parametrize("case", CASES, ids=NAMES)
def test_uncertainty_with_weights_that_say_nothing_of_the_points(case) -> None:
    """Uneven weights, points all known alike: spread of 1 500 draws; the plain covariance would be too small."""
    name, fit, _, _, held, _ = case
    exact = made(name, 3, noise=0.0, turn=4.0)
    w = np.random.default_rng(5).uniform(0, 1, len(exact)) ** 3
    draws = fit(exact + np.random.default_rng(4).normal(0, 0.001, (1500, *exact.shape)), weights=w, **held)
    told = parameter_u(fit(exact, weights=w, **held), u_mm=0.001, alike=True).u
    key = {"cylinder": "radius_mm", "cone": "half_angle_rad", "torus": "minor_radius_mm"}.get(name, "center_mm")
    key = key if key not in held else {"cylinder": "direction", "cone": "direction", "torus": "center_mm"}[name]
    if key not in held:
        assert np.allclose(np.asarray(getattr(draws, key)).std(0), told[key], rtol=0.12, atol=0.02 * np.max(told[key]))
    if not held:  # what is held here is wrong on purpose
        assert 0.85 < np.median(parameter_u(draws, alike=True).point_u_mm) / 0.001 < 1.05


def test_plane_and_line_with_weights_that_say_nothing_of_the_points() -> None:
    rng = np.random.default_rng(6)
    base = rng.uniform(-10, 10, (40, 3)) * [1, 1, 0]
    w = rng.uniform(0, 1, 40) ** 3
    draws = base + rng.normal(0, 0.001, (3000, 40, 3))
    for fit, name in ((fit_plane, "normal"), (fit_line, "direction")):
        points = draws if fit is fit_plane else draws * [1, 0.001, 1]
        one = base if fit is fit_plane else base * [1, 0.001, 1]
        told = parameter_u(fit(one, weights=w), u_mm=0.001, alike=True).u[name]
        spread = getattr(fit(points, weights=w), name).std(0)
        across = 2 if fit is fit_line else 0
        assert abs(spread[across] / told[across] - 1) < 0.08


@pytest.mark.parametrize(
    ("fit", "held", "words"),
    [
        (fit_cylinder, {"radius_mm": -1}, "radius_mm must be above 0"),
        (fit_cylinder, {"radius_mm": [1.0, 2.0]}, "radius_mm must have the shape"),
        (fit_cylinder, {"direction": [0, 0, 0]}, "direction must have a length above 0"),
        (fit_cone, {"half_angle_rad": 1.6}, "below a right angle"),
        (fit_torus, {"major_radius_mm": np.nan}, "finite"),
        (fit_cone, {"loss": "cauchy"}, "loss must be one of"),
        (fit_sphere, {"weights": np.ones(3)}, "weights must be"),
    ],
)
def test_bad_options(fit, held, words: str) -> None:
    with pytest.raises(InputError, match=words):
        fit(made("cylinder", 9), **held)


def test_a_circle_in_a_plane_has_no_normal() -> None:
    with pytest.raises(InputError, match="normal must be left out"):
        fit_circle(np.eye(3)[:, :2], normal=[0, 0, 1])
