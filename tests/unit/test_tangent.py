"""Touching planes and lines against programmes of scipy and every facet of the hull."""

import numpy as np
import pytest
from scipy.optimize import linprog, minimize, nnls
from scipy.spatial import ConvexHull

from trysquare.core.errors import InputError, RankError
from trysquare.core.threads import threads
from trysquare.geometry import TangentFit, minimum_zone_plane, tangent_line, tangent_plane, zone_line

NORMS = ("minimax", "sum", "squares")


def plate(seed: int, n: int = 60, form: float = 0.02) -> tuple[np.ndarray, np.ndarray]:
    """Points on a rough plate lying askew, and the way out of the material."""
    rng = np.random.default_rng(seed)
    R = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    z = form * (rng.normal(size=n) + np.sin(np.arange(n)))
    return np.column_stack([rng.uniform(-60, 60, n), rng.uniform(-40, 40, n), z]) @ R.T + 200, R[:, 2]


def frame_of(normal: np.ndarray) -> np.ndarray:
    u = np.cross(np.eye(3)[np.abs(normal).argmin()], normal)
    u /= np.linalg.norm(u)
    return np.array([u, np.cross(normal, u), normal])


def turned(F: np.ndarray, p: float, q: float) -> np.ndarray:
    normal = F[2] - p * F[0] - q * F[1]
    return frame_of(normal / np.linalg.norm(normal))


def sum_by_programme(points: np.ndarray, out: np.ndarray) -> float:
    """Mean distance: a linear programme of heights (HiGHS), turned to its normal. Independent computation."""
    q, F = points - points.mean(0), frame_of(out)
    for _ in range(4):
        a, b, h = (q @ F.T).T
        s = np.abs(h).max()
        A = -np.column_stack([np.ones(len(a)), a / 60, b / 60])
        found = linprog([1, 0, 0], A_ub=A, b_ub=-h / s, bounds=[(None, None)] * 3, method="highs-ds").x * s
        F = turned(F, found[1] / 60, found[2] / 60)
    return float((q @ F[2]).max())


def squares_by_programme(points: np.ndarray, out: np.ndarray) -> float:
    """Root of the mean square: least distance programme by non-negative least squares (C. L. Lawson, R. J. Hanson,
    Solving Least Squares Problems, 1974), turned to its normal. Independent computation."""
    q, F = points - points.mean(0), frame_of(out)
    for _ in range(30):
        a, b, h = (q @ F.T).T
        s = np.abs(h).max()
        S = np.array([[a @ a, a @ b], [a @ b, b @ b]]) / len(a)
        free = np.linalg.solve(S, np.array([a @ h, b @ h]) / len(a))
        L = np.linalg.cholesky(S)
        G = np.column_stack([np.ones(len(a)), np.linalg.solve(L, np.array([a, b])).T])
        E = np.vstack([G.T, (h - free[0] * a - free[1] * b) / s])
        r = E @ nnls(E, np.array([0.0, 0, 0, 1]), maxiter=1000)[0] - np.array([0, 0, 0, 1])
        slopes = free + np.linalg.solve(L.T, -r[1:3] / r[3] * s)
        F = turned(F, slopes[0], slopes[1])
    h = q @ F[2]
    return float(np.sqrt(np.mean((h.max() - h) ** 2)))


def achieved(fit: TangentFit) -> float:
    d = -fit.residuals_mm
    return {"minimax": d.max(), "sum": d.mean(), "squares": np.sqrt((d * d).mean())}[fit.norm]


def check(points: np.ndarray, fit: TangentFit, normal: np.ndarray) -> None:
    h = (points - fit.point_mm) @ normal
    assert np.abs(h - fit.residuals_mm).max() < 1e-11
    assert abs(h.max()) < 1e-11  # touches, and nothing outside
    assert abs(fit.width_mm + h.min()) < 1e-11
    assert abs(achieved(fit) - fit.achieved_mm) < 1e-11
    c = fit.certificate
    assert np.abs(h[c.contacts[c.sides == 1]]).max() < 1e-10
    assert c.kind == "global"
    assert 0 <= c.gap_mm < 1e-10


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("norm", NORMS)
def test_planes_against_programmes(norm: str, seed: int) -> None:
    points, out = plate(seed)
    fit = tangent_plane(points, outward=out, norm=norm)
    check(points, fit, fit.normal)
    expected = {
        "minimax": lambda: float(minimum_zone_plane(points).width_mm),
        "sum": lambda: sum_by_programme(points, out),
        "squares": lambda: squares_by_programme(points, out),
    }[norm]()
    assert abs(fit.achieved_mm - expected) < 1e-9
    other = tangent_plane(points, outward=-out, norm=norm)
    assert other.normal @ fit.normal < 0
    twin = points.copy()
    twin[fit.certificate.contacts[fit.certificate.sides == 1][0]] += 1e-6 * fit.normal  # negative twin
    assert abs(tangent_plane(twin, outward=out, norm=norm).achieved_mm - fit.achieved_mm) > 1e-8


def test_each_norm_is_best_at_its_own() -> None:
    measures = {"minimax": np.max, "sum": np.mean, "squares": lambda x: np.sqrt((x * x).mean())}
    differ = 0
    for seed in range(8):
        points, out = plate(seed)
        d = {norm: -tangent_plane(points, outward=out, norm=norm).residuals_mm for norm in NORMS}
        for best, measure in measures.items():
            values = {norm: measure(x) for norm, x in d.items()}
            assert values[best] < min(values.values()) + 1e-12
            differ += len({round(float(x), 9) for x in values.values()}) == 3
    assert differ > 5  # the norms are not one and the same: the test could fail


@pytest.mark.parametrize("seed", range(6))
def test_sum_of_thick_sets_against_every_facet(seed: int) -> None:
    """The nearest facet to the centroid, of those that face outward. Independent computation (Qhull)."""
    rng = np.random.default_rng(seed)
    points = rng.normal(size=(20, 3))
    hull = ConvexHull(points)
    near = -(hull.equations[:, :3] @ points.mean(0) + hull.equations[:, 3])
    best = near.argmin()
    fit = tangent_plane(points, outward=hull.equations[best, :3], norm="sum")
    assert abs(fit.achieved_mm - near[best]) < 1e-12
    assert fit.certificate.kind == "global"
    assert sorted(fit.certificate.contacts[fit.certificate.contacts >= 0]) == sorted(hull.simplices[best])


def heights_over(points: np.ndarray, angles: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    s = np.sin(angles[0])
    n = np.array([s * np.cos(angles[1]), s * np.sin(angles[1]), np.cos(angles[0])])
    return points @ n, n


@pytest.mark.parametrize("seed", range(5))
def test_squares_of_thick_sets_against_a_search_from_many_starts(seed: int) -> None:
    """Simplex searches from 60 directions of the whole ball. Independent computation (scipy.optimize)."""
    rng = np.random.default_rng(seed)
    points = rng.normal(size=(25, 3)) * [3, 2, 2]

    def cost(angles: np.ndarray) -> float:
        h, _ = heights_over(points, angles)
        return float(np.sqrt(np.mean((h.max() - h) ** 2)))

    starts = np.column_stack([rng.uniform(0, np.pi, 60), rng.uniform(0, 2 * np.pi, 60)])
    tight = {"xatol": 1e-10, "fatol": 1e-12, "maxiter": 2000}
    best = min((minimize(cost, start, method="Nelder-Mead", options=tight) for start in starts), key=lambda x: x.fun)
    out = heights_over(points, best.x)[1] + [0.2, -0.1, 0.3]
    fit = tangent_plane(points, outward=out, norm="squares")
    check(points, fit, fit.normal)
    assert abs(best.fun - fit.achieved_mm) < 1e-8
    assert best.fun > fit.achieved_mm - 1e-11
    aside = tangent_plane(points, outward=-out, norm="squares")  # the best of all lies on the other side
    assert aside.achieved_mm > fit.achieved_mm
    assert str(aside.certificate.kind).startswith(("global", "local, best of"))


@pytest.mark.parametrize("norm", NORMS)
def test_lines(norm: str) -> None:
    """In a plane, in space looked at along a direction, and as a plane parallel to that direction: one answer."""
    rng = np.random.default_rng(11)
    flat = np.column_stack([rng.uniform(-50, 50, 40), 0.05 * rng.normal(size=40)])
    fit = tangent_line(flat, outward=[0.1, 1], norm=norm)
    left = np.array([-fit.direction[1], fit.direction[0]])
    check(flat, fit, left)
    assert left[1] > 0
    R = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    R *= np.linalg.det(R)
    space = np.column_stack([flat, rng.uniform(-5, 5, 40)]) @ R.T + 30
    seen = tangent_line(space, outward=R[:, 1], norm=norm, view=R[:, 2])
    plane = tangent_plane(space, outward=R[:, 1], norm=norm, parallel_to=-R[:, 2])
    for other in (seen, plane):
        assert abs(other.achieved_mm - fit.achieved_mm) < 1e-12
        assert other.certificate.kind == "global"
    assert np.abs(seen.direction - R[:, :2] @ fit.direction).max() < 1e-12
    assert np.abs(plane.normal - R[:, :2] @ left).max() < 1e-12
    check(space, plane, plane.normal)
    turn = np.linspace(-0.01, 0.01, 100_001)
    h = flat @ np.array([-np.sin(turn), np.cos(turn)])
    d = h.max(0) - h
    values = {"minimax": d.max(0), "sum": d.mean(0), "squares": np.sqrt((d * d).mean(0))}[norm]
    assert -1e-12 < values.min() - fit.achieved_mm < 1e-5
    if norm == "minimax":
        assert abs(fit.achieved_mm - zone_line(flat).width_mm) < 1e-13


@pytest.mark.parametrize("norm", NORMS)
def test_held_square_to_a_direction(norm: str) -> None:
    points, out = plate(5)
    fit = tangent_plane(points, outward=out, norm=norm, perpendicular_to=-out)
    assert np.abs(fit.normal - out).max() < 1e-15
    check(points, fit, fit.normal)
    free = tangent_plane(points, outward=out, norm=norm)
    assert free.achieved_mm < fit.achieved_mm


@pytest.mark.parametrize("norm", NORMS)
def test_many_points_are_reduced_exactly(norm: str) -> None:
    rng = np.random.default_rng(12)
    n = 30_000
    x, y = rng.uniform(-60, 60, n), rng.uniform(-40, 40, n)
    points = np.column_stack([x, y, 0.01 * np.sin(x / 9) + 0.004 * rng.normal(size=n)])
    many = tangent_plane(points, outward=[0, 0, 1], norm=norm)
    check(points, many, many.normal)
    expected = {"minimax": lambda: float(minimum_zone_plane(points).width_mm),
                "sum": lambda: sum_by_programme(points, np.array([0, 0, 1.0])),
                "squares": lambda: squares_by_programme(points[_corners(points)], np.array([0, 0, 1.0]))}  # fmt: skip
    if norm != "squares":
        assert abs(many.achieved_mm - expected[norm]()) < 1e-9
    else:
        h = points @ many.normal
        for tilt in rng.normal(0, 1e-5, (50, 3)):
            w = (many.normal + tilt) / np.linalg.norm(many.normal + tilt)
            h = points @ w
            assert np.sqrt(np.mean((h.max() - h) ** 2)) >= many.achieved_mm - 1e-12


def _corners(points: np.ndarray) -> np.ndarray:
    return ConvexHull(points).vertices


@pytest.mark.parametrize("norm", NORMS)
def test_batches_failures_and_default_side(norm: str) -> None:
    points = np.array([plate(s)[0] for s in range(5)])
    points[1] = np.arange(60)[:, None] * [1.0, 2.0, 0.0]
    batch = tangent_plane(points, norm=norm, outward=[plate(s)[1] for s in range(5)])
    assert batch.ok.tolist() == [True, False, True, True, True]
    assert np.isnan(batch.achieved_mm[1])
    assert batch.certificate.kind[1] == "none"
    for k in (0, 2, 4):
        one = tangent_plane(points[k], norm=norm, outward=plate(k)[1])
        assert abs(one.achieved_mm - batch.achieved_mm[k]) < 1e-13
        assert np.abs(one.normal - batch.normal[k]).max() < 1e-12
    draws = points[0] + np.random.default_rng(1).normal(0, 1e-3, (6, 60, 3))
    normals = tangent_plane(draws, norm=norm).normal
    assert normals[0][np.abs(normals[0]).argmax()] > 0
    assert (normals @ normals[0] > 0.99).all()


@pytest.mark.parametrize("norm", NORMS)
@pytest.mark.parametrize("thin", [1.0, 1e-3])
def test_threads_change_no_digit(norm: str, thin: float) -> None:
    draws = np.random.default_rng(2).normal(size=(70, 20, 3)) * [3, 2, 2 * thin]
    many = np.random.default_rng(3).normal(size=(25_000, 3)) * [3, 2, 2 * thin]
    for points in (draws, many):
        with threads(1):
            one = tangent_plane(points, outward=[0, 0, 1], norm=norm)
        with threads(2):
            two = tangent_plane(points, outward=[0, 0, 1], norm=norm)
        assert np.array_equal(one.residuals_mm, two.residuals_mm)
        assert np.array_equal(one.certificate.contacts, two.certificate.contacts)
        assert np.array_equal(one.certificate.kind, two.certificate.kind)


def test_bad_input() -> None:
    points, out = plate(1)
    with pytest.raises(InputError, match="one of minimax"):
        tangent_plane(points, norm="best")
    with pytest.raises(RankError, match="line"):
        tangent_plane(np.arange(9)[:, None] * [1.0, 2.0, 3.0], norm="squares", outward=[0, 0, 1])
    with pytest.raises(RankError, match="line"):
        tangent_plane(np.arange(9)[:, None] * [1.0, 2.0, 3.0])
    with pytest.raises(InputError, match="looked along"):
        tangent_line(points)
    with pytest.raises(InputError, match="finite"):
        tangent_plane(np.where(np.arange(180).reshape(60, 3) == 7, np.nan, points), outward=out)
    with pytest.raises(InputError, match="outward"):
        tangent_plane(points, outward=[0, 0, 0])
