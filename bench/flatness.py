"""Flatness of a million points, exact, against Qhull and a linear programme (HiGHS) on the vertices of the hull.

The rival gets its best form: the hull of all points, then the programme on its vertices alone, in the frame of their
principal axes, scaled, and turned to its own normal and solved once more for the orthogonal width. Runs take turns,
medians count. Both answers are judged by the width that their normal leaves over all points, in extended precision.
"""

import statistics
import time
from typing import Any

import numpy as np
from scipy.optimize import linprog
from scipy.spatial import ConvexHull

from trysquare.core.arrays import Array
from trysquare.core.threads import thread_count
from trysquare.geometry import minimum_zone_plane

POINTS, FLOOR, REACH = 1_000_000, 6.0, 30.0
LENGTH, WIDTH, FORM, NOISE = 800.0, 500.0, 0.03, 0.004
TOLERANCE_MM = 1e-9
_TIGHT = {"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10}


def run(quick: bool = False) -> dict[str, Any]:
    """A million points, 5 turns (quick: a tenth of the points, 3 turns)."""
    n = POINTS // 10 if quick else POINTS
    points = plate(n)
    minimum_zone_plane(points[:30_000])  # compiles
    ours, rival = [], []
    for _ in range(3 if quick else 5):
        begin = time.perf_counter()
        zone = minimum_zone_plane(points)
        middle = time.perf_counter()
        normal = by_hull_and_programme(points)
        ours.append(middle - begin)
        rival.append(time.perf_counter() - middle)
    one, other = statistics.median(ours), statistics.median(rival)
    width, width_against = judged(points, zone.normal), judged(points, normal)
    gap = float(zone.certificate.gap_mm)
    row = {
        "work": f"{n} points", "against": "Qhull, then HiGHS on its vertices", "seconds": round(one, 5),
        "seconds_against": round(other, 3), "ratio": round(other / one, 1), "floor": FLOOR, "reach": REACH,
        "width_mm": width, "above_the_other_mm": width - width_against, "gap_to_the_bound_mm": gap,
        "certificate": str(zone.certificate.kind),
        "met": bool(other / one >= FLOOR and width - width_against <= TOLERANCE_MM and gap <= TOLERANCE_MM),
    }  # fmt: skip
    return {"rows": [row], "threads": thread_count(), "form_mm": FORM, "noise_mm": NOISE}


def plate(n: int) -> Array:
    """A plate of 800 mm by 500 mm with waves and noise, lying askew."""
    rng = np.random.default_rng(3)
    x, y = rng.uniform(0, LENGTH, n), rng.uniform(0, WIDTH, n)
    z = FORM * np.sin(x / 130) * np.cos(y / 90) + rng.normal(0, NOISE, n)
    R = np.linalg.qr(np.random.default_rng(4).normal(size=(3, 3)))[0]
    placed: Array = np.column_stack([x, y, z]) @ R.T + [1000.0, 200.0, -50.0]
    return placed


def by_hull_and_programme(points: Array) -> Array:
    """Unit normal of the smallest zone."""
    corners = points[ConvexHull(points).vertices]
    middle = corners.mean(0)
    frame = np.linalg.svd(corners - middle, full_matrices=False)[2]
    for _ in range(2):
        frame = _turned(frame, (corners - middle) @ frame.T)
    return frame[2]


def _turned(frame: Array, q: Array) -> Array:
    """The frame turned to the normal of the smallest zone of heights q[:, 2]."""
    scale = np.abs(q).max(0)
    J = np.column_stack([q[:, :2] / scale[:2], np.ones(len(q))])
    side = -np.ones((len(q), 1))
    h = q[:, 2] / scale[2]
    answer = linprog(
        [0, 0, 0, 1], A_ub=np.block([[-J, side], [J, side]]), b_ub=np.r_[-h, h],
        bounds=[(None, None)] * 3 + [(0, None)], method="highs-ds", options=_TIGHT,
    ).x  # fmt: skip
    slopes = answer[:2] * scale[2] / scale[:2]
    normal = frame[2] - slopes @ frame[:2]
    normal /= np.linalg.norm(normal)
    u = frame[0] - (frame[0] @ normal) * normal
    u /= np.linalg.norm(u)
    return np.array([u, np.cross(normal, u), normal])


def judged(points: Array, normal: Array) -> float:
    """Width that a normal leaves over all points, in extended precision."""
    w = normal.astype(np.longdouble)
    w = w / np.sqrt(w @ w)
    h = (points - points[0]).astype(np.longdouble) @ w
    return float(h.max() - h.min())
