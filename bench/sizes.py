"""Sizes and crossings of 2 000 draws, against a loop over the draws with SciPy and NumPy (Qhull, HiGHS).

The loop runs over as many draws as stand in `draws_against` and is scaled; `worst_difference_mm` is between the answers
for those. The rivals get the best form known here: the smallest gap and the largest block as linear programmes over the
planes of least squares, turned until they stay; the largest sphere in a ring at the corners of the Voronoi diagram.
"""

import time
from collections.abc import Callable
from typing import Any

import numpy as np
from scipy.optimize import linprog
from scipy.spatial import Voronoi

from trysquare.core.arrays import Array
from trysquare.core.threads import thread_count
from trysquare.geometry import Cylinder, Plane, point_of_planes, spherical_sizes, width_size

DRAWS, AGAINST = 2000, 100
UP = Cylinder(point_mm=[0.0, 0, 0], direction=[0.0, 0, 1], radius_mm=25.0)


def run(quick: bool = False) -> dict[str, Any]:
    """Four pieces of work (quick: a tenth of the draws)."""
    draws, against = (DRAWS // 10, AGAINST // 10) if quick else (DRAWS, AGAINST)
    rng = np.random.default_rng(5)
    first = np.concatenate([rng.uniform(-30, 30, (100, 2)), np.zeros((100, 1))], 1)
    second = np.concatenate([rng.uniform(-30, 30, (100, 2)), np.full((100, 1), 10.0)], 1)
    A, B = (face + rng.normal(0, [0, 0, 0.005], (draws, 100, 3)) for face in (first, second))
    turn = np.arange(72) * (np.pi / 36)
    rings = (25 + rng.normal(0, 0.005, (draws, 72)))[..., None] * np.stack([np.cos(turn), np.sin(turn), 0 * turn], -1)
    planes = [np.eye(3)[k] + rng.normal(0, 1e-3, (draws, 3)) for k in range(3)]
    corners = [Plane(point_mm=rng.normal(0, 0.01, (draws, 3)), normal=n) for n in planes]
    rows = [
        _row(f"{draws} widths of 200 points, largest block (GX)", "linprog, turned", draws, against,
             lambda: width_size(A, B, "GX").size_mm, lambda i: -_by_linprog(A[i], B[i], -1.0)),
        _row(f"{draws} widths of 200 points, smallest gap (GN)", "linprog, turned", draws, against,
             lambda: width_size(A, B, "GN").size_mm, lambda i: _by_linprog(A[i], B[i], 1.0)),
        _row(f"{draws} rings of 72 points, largest sphere (LS)", "Voronoi diagram", draws, against,
             lambda: spherical_sizes(rings, UP, [0.0]).size_mm[:, 0], lambda i: _by_voronoi(rings[i, :, :2])),
        _row(f"{draws} times three planes", "numpy.linalg.solve in a loop", draws, draws,
             lambda: point_of_planes(*corners).point_mm, lambda i: _by_solve([c.vector[i] for c in corners])),
    ]  # fmt: skip
    return {"rows": rows, "threads": thread_count()}


def _row(
    work: str, rival: str, draws: int, against: int, ours: Callable[[], Array], theirs: Callable[[int], Any]
) -> dict[str, Any]:
    ours()  # compiles
    spent = []
    for _ in range(3):
        begin = time.perf_counter()
        answer = ours()
        spent.append(time.perf_counter() - begin)
    begin = time.perf_counter()
    other = np.array([theirs(i) for i in range(against)])
    loop = (time.perf_counter() - begin) * draws / against
    return {
        "work": work, "against": rival, "seconds": round(min(spent), 4), "seconds_against": round(loop, 2),
        "draws_against": against, "ratio": round(loop / min(spent), 1),
        "worst_difference_mm": float(np.abs(answer[:against] - other).max()),
    }  # fmt: skip


def _by_linprog(A: Array, B: Array, sign: float) -> float:
    """Smallest gap around (sign +1), or less the largest block between (-1), near the planes of least squares."""
    a, b = A.mean(0), B.mean(0)
    n = np.linalg.svd(np.concatenate([A - a, B - b]), full_matrices=False)[2][2]
    n = n if n @ (b - a) > 0 else -n
    middle, width = 0.5 * (a + b), np.inf
    for _ in range(20):
        u, v = np.linalg.svd(n[None])[2][1:]
        rows, limits = [], []
        for X, side in ((A - middle, -sign), (B - middle, sign)):
            rows.append(np.column_stack([-side * (X @ u), -side * (X @ v), np.full(len(X), -side), -np.ones(len(X))]))
            limits.append(-side * (X @ n))
        out = linprog([0, 0, 0, 1], np.concatenate(rows), np.concatenate(limits), bounds=[(None, None)] * 4)
        turned = n - out.x[0] * u - out.x[1] * v
        turned /= np.linalg.norm(turned)
        reached = (B @ turned).max() - (A @ turned).min() if sign > 0 else (A @ turned).max() - (B @ turned).min()
        if not reached < width:
            break
        width, n = reached, turned
    return float(width)


def _by_voronoi(ring: Array) -> float:
    """Diameter of the largest circle that holds no point, about the middle."""
    corners = Voronoi(ring).vertices
    corners = corners[np.linalg.norm(corners, axis=1) < 5.0]
    return float(2 * np.linalg.norm(corners[:, None] - ring, axis=-1).min(1).max())


def _by_solve(planes: list[Array]) -> Array:
    N = np.array([p[3:] for p in planes])
    return np.asarray(np.linalg.solve(N, [p[:3] @ p[3:] for p in planes]))
