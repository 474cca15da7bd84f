"""Smallest circumscribed and largest inscribed circle, sphere and cylinder, and the proof of each."""

import itertools

import numpy as np
import pytest
from minimax_round_made import made

from trysquare.core.errors import InputError, RankError
from trysquare.geometry import (
    circumscribed_circle,
    circumscribed_cylinder,
    circumscribed_sphere,
    fit_cylinder,
    inscribed_circle,
    inscribed_cylinder,
    inscribed_sphere,
)

OUTER = {"circle": circumscribed_circle, "sphere": circumscribed_sphere, "cylinder": circumscribed_cylinder}
INNER = {"circle": inscribed_circle, "sphere": inscribed_sphere, "cylinder": inscribed_cylinder}


@pytest.mark.parametrize("kind", ["circle", "sphere", "cylinder"])
@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("seed", range(4))
def test_shape_made_backwards(kind: str, side: int, seed: int) -> None:
    """Expected value: analytic, by design."""
    points, _, count = made(seed, kind, side, length=60.0)
    shape = (OUTER if side > 0 else INNER)[kind](points)
    assert abs(shape.radius_mm - 10) < 1e-9
    assert set(shape.certificate.contacts) - {-1} == set(range(count))
    assert set(shape.certificate.sides) - {0} == {side}
    assert shape.certificate.gap_mm < 1e-9
    assert (side * shape.residuals_mm).max() < 1e-11
    assert abs(shape.width_mm - np.abs(shape.residuals_mm).max()) < 1e-15
    if kind != "cylinder" or side > 0:
        assert shape.certificate.kind == "global"
    else:
        assert str(shape.certificate.kind).startswith("local, best of")
    centre = shape.point_mm if kind == "cylinder" else shape.center_mm  # negative twin: a contact moved by 1e-6 mm
    out = points[0] - centre
    if kind == "cylinder":
        out = out - (out @ shape.direction) * shape.direction
    points[0] += side * 1e-6 * out / np.linalg.norm(out)
    again = (OUTER if side > 0 else INNER)[kind](points)
    assert 1e-8 < side * (again.radius_mm - shape.radius_mm) < 1e-6


def _circle_through(P: np.ndarray) -> tuple[np.ndarray, float]:
    A = 2 * (P[1:] - P[0])
    centre = np.linalg.lstsq(A, (P[1:] ** 2).sum(1) - P[0] @ P[0] - A @ P.mean(0), rcond=None)[0] + P.mean(0)
    return centre, float(np.linalg.norm(P[0] - centre))


@pytest.mark.parametrize("dims", [2, 3])
def test_smallest_of_all_sets_of_contacts(dims: int) -> None:
    """All pairs, triples (and fours): the smallest that holds the points. Independent computation, brute force."""
    rng = np.random.default_rng(dims)
    for _ in range(6):
        P = rng.normal(size=(9, dims)) * [3, 1, 2][:dims]
        best = np.inf
        for size in range(2, dims + 2):
            for few in itertools.combinations(range(len(P)), size):
                centre, radius = _circle_through(P[list(few)])
                if np.linalg.norm(P - centre, axis=1).max() <= radius * (1 + 1e-12):
                    best = min(best, radius)
        shape = (circumscribed_circle if dims == 2 else circumscribed_sphere)(P)
        assert abs(shape.radius_mm - best) < 1e-12
        assert shape.certificate.kind == "global"


@pytest.mark.parametrize("dims", [2, 3])
def test_largest_of_all_voronoi_vertices(dims: int) -> None:
    """The largest inscribed circle or sphere has its centre at a vertex of the Voronoi diagram within the hull.
    Independent computation: scipy.spatial."""
    from scipy.spatial import Delaunay, Voronoi

    rng = np.random.default_rng(dims)
    for _ in range(5):
        u = rng.normal(size=(60, dims))
        P = u / np.linalg.norm(u, axis=1)[:, None] * (10 + rng.normal(size=(60, 1)) * 0.3)
        vertices = Voronoi(P).vertices
        vertices = vertices[Delaunay(P).find_simplex(vertices) >= 0]
        best = np.linalg.norm(P[:, None] - vertices, axis=-1).min(0).max()
        shape = (inscribed_circle if dims == 2 else inscribed_sphere)(P)
        assert abs(shape.radius_mm - best) < 1e-11
        assert shape.certificate.kind == "global"


@pytest.mark.parametrize("sign", [1, -1])
def test_no_axis_found_by_slsqp_is_better(sign: int) -> None:
    """scipy.optimize.minimize (SLSQP) from the axis found and from others. Independent computation."""
    from scipy.optimize import minimize

    rng = np.random.default_rng(3)
    for _ in range(4):
        turn, z = rng.uniform(0, 2 * np.pi, 40), rng.uniform(-20, 20, 40)
        r = 10 + rng.normal(size=40) * 0.1
        P = np.stack([r * np.cos(turn), r * np.sin(turn), z], 1)

        def distances(x: np.ndarray, P=P) -> np.ndarray:
            d = np.array([x[2], x[3], 1.0]) / np.sqrt(1 + x[2] ** 2 + x[3] ** 2)
            q = P - [x[0], x[1], 0.0]
            return np.linalg.norm(q - (q @ d)[:, None] * d, axis=1)

        best = np.inf
        for start in [np.zeros(4), *(rng.normal(size=(3, 4)) * [0.3, 0.3, 0.01, 0.01])]:
            found = minimize(
                lambda z: z[-1], np.r_[start, (sign * distances(start)).max()], method="SLSQP",
                constraints=[{"type": "ineq", "fun": lambda z, f=distances: z[-1] - sign * f(z[:-1])}],
                options={"ftol": 1e-14, "maxiter": 300},
            )  # fmt: skip
            best = min(best, (sign * distances(found.x[:4])).max())
        shape = (circumscribed_cylinder if sign > 0 else inscribed_cylinder)(P)
        assert sign * shape.radius_mm <= best + 1e-9
        assert shape.certificate.gap_mm < 1e-9


def test_every_direction_is_covered() -> None:
    """A circumscribed cylinder called global has no smaller one along any of many directions. Independent computation:
    each along its own direction, as a circle."""
    rng = np.random.default_rng(9)
    P = rng.normal(size=(25, 3)) * [4, 3, 2]
    shape = circumscribed_cylinder(P)
    assert shape.certificate.kind == "global"
    axes = rng.normal(size=(3000, 3))
    near = shape.direction + rng.normal(size=(3000, 3)) * rng.uniform(0, 0.2, (3000, 1))
    held = circumscribed_cylinder(np.broadcast_to(P, (6000, 25, 3)), direction=np.concatenate([axes, near]))
    assert held.radius_mm.min() > shape.radius_mm - 1e-12
    assert (held.certificate.kind == "global").all()
    assert abs(circumscribed_cylinder(P, direction=shape.direction).radius_mm - shape.radius_mm) < 1e-12


def test_envelope_holds_the_least_squares_cylinder_in_between() -> None:
    points, R, _ = made(0, "cylinder", 0, n=200)
    inside, outside = inscribed_cylinder(points, toward=R[:, 2]), circumscribed_cylinder(points, toward=R[:, 2])
    assert inside.radius_mm < fit_cylinder(points).radius_mm < outside.radius_mm
    assert inside.direction @ R[:, 2] > 0.99
    assert outside.direction @ R[:, 2] > 0.99


def test_open_sides_are_refused() -> None:
    """On less than half a turn an inscribed circle grows without end; a circumscribed one is held by the ends."""
    turn = np.linspace(-1, 1, 40)
    r = 10 + 0.01 * np.sin(17 * turn)
    arc = np.stack([r * np.cos(turn), r * np.sin(turn)], 1)
    with pytest.raises(RankError, match="side open"):
        inscribed_circle(arc)
    ends = circumscribed_circle(arc)
    assert set(ends.certificate.contacts) - {-1} == {0, 39}
    assert abs(ends.radius_mm - np.linalg.norm(arc[0] - arc[-1]) / 2) < 1e-12
    rng = np.random.default_rng(0)
    long = np.column_stack([np.tile(arc, (5, 1)), rng.uniform(0, 30, 200)])
    with pytest.raises(RankError, match="side open"):
        inscribed_cylinder(long)
    assert inscribed_circle(np.concatenate([arc, [[-9.9, 0]]])).radius_mm < 10


def test_smallest_sets_and_refusals() -> None:
    two = circumscribed_circle([[0, 0], [3, 4]])
    assert abs(two.radius_mm - 2.5) < 1e-15
    assert abs(circumscribed_sphere([[0, 0, 0], [2, 3, 6]]).radius_mm - 3.5) < 1e-14
    line = np.outer(np.arange(6.0), [1, 2, 2])
    assert abs(circumscribed_sphere(line).radius_mm - 7.5) < 1e-13
    square = np.array([[0, 0], [1, 0], [1, 1], [0, 1.0]])
    assert abs(circumscribed_circle(square).radius_mm - np.sqrt(0.5)) < 1e-14
    assert abs(inscribed_circle(square).radius_mm - np.sqrt(0.5)) < 1e-14
    with pytest.raises(RankError, match="coincide"):
        circumscribed_circle([[1, 1], [1, 1]])
    with pytest.raises(InputError, match="at least 2"):
        circumscribed_circle([[1, 1]])
    with pytest.raises(RankError, match="plane"):
        inscribed_sphere(np.column_stack([square, np.zeros(4)]))
    with pytest.raises(InputError, match="direction"):
        inscribed_cylinder(np.ones((6, 3)), direction=[0, 0, 0])


def test_far_from_the_origin() -> None:
    """1e4 mm away the answer keeps the digits that the coordinates carry."""
    for kind in OUTER:
        near, far = made(0, kind, 1, offset=0.0)[0], made(0, kind, 1, offset=1e4)[0]
        assert abs(OUTER[kind](near).radius_mm - OUTER[kind](far).radius_mm) < 1e-10
