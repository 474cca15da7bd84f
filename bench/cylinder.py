"""Cylinder fits of a Monte Carlo run, against a loop of scipy.optimize.least_squares with analytic Jacobian.

The rival gets its best form: the Levenberg-Marquardt of MINPACK, an exact Jacobian, a start at the nominal cylinder.
Ours gets the points alone. Rival times are taken on some members and scaled to all; runs take turns, medians count.

The rival stops where the sum of squares no longer shows a change, which leaves its parameters some 1e-9 mm from the
optimum whatever its tolerances. The judge of both is therefore the rival's answer after one more Gauss-Newton step in
extended precision, not timed: `error_mm` is ours against it, `error_against_mm` the rival's own.
"""

import statistics
import time
from typing import Any

import numpy as np
from scipy.optimize import least_squares

from trysquare.core.arrays import Array
from trysquare.core.frames import perpendicular
from trysquare.core.threads import thread_count
from trysquare.geometry import fit_cylinder

#: (draws, points, least ratio)
WORK = ((10_000, 50, 200.0), (2_000, 1_000, 30.0))
RIVALS = 40
TOLERANCE_MM = 1e-9
RADIUS, LENGTH, NOISE = 25.0, 80.0, 0.02
Answer = tuple[Array, Array, float]  # point on the axis, direction, radius


def run(quick: bool = False) -> dict[str, Any]:
    """Both sizes of batch, 7 turns each (quick: a tenth of the draws, 3 turns)."""
    rows = [_row(m // 10 if quick else m, n, floor, turns=3 if quick else 7) for m, n, floor in WORK]
    return {"rows": rows, "threads": thread_count(), "noise_mm": NOISE}


def _row(m: int, n: int, floor: float, *, turns: int) -> dict[str, Any]:
    points, at, axis = _draws(m, n)
    fit_cylinder(points[:2])  # compiles
    ours, rival = [], []
    for _ in range(turns):
        begin = time.perf_counter()
        fit = fit_cylinder(points)
        middle = time.perf_counter()
        answers = [_by_scipy(member, at, axis) for member in points[:RIVALS]]
        ours.append(middle - begin)
        rival.append((time.perf_counter() - middle) * m / RIVALS)
    one, other = statistics.median(ours), statistics.median(rival)
    judges = [_polished(member, *answer) for member, answer in zip(points, answers)]
    ours_mm, ours_rad = _error(
        [(fit.point_mm[i], fit.direction[i], float(fit.radius_mm[i])) for i in range(RIVALS)], judges
    )
    rival_mm, _ = _error(answers, judges)
    return {
        "work": f"{m} x {n} points", "against": "scipy least_squares, lm, analytic Jacobian", "seconds": round(one, 5),
        "seconds_against": round(other, 3), "ratio": round(other / one, 1), "floor": floor,
        "error_mm": ours_mm, "error_rad": ours_rad, "error_against_mm": rival_mm, "all_converged": bool(fit.ok.all()),
        "met": bool(other / one >= floor and ours_mm <= TOLERANCE_MM and fit.ok.all()),
    }  # fmt: skip


def _draws(m: int, n: int) -> tuple[Array, Array, Array]:
    """Points (m, n, 3) of a bore with noise, a point on its axis and the axis."""
    rng = np.random.default_rng(0)
    turn, along = rng.uniform(0, 2 * np.pi, n), rng.uniform(-LENGTH / 2, LENGTH / 2, n)
    base = np.column_stack([RADIUS * np.cos(turn), RADIUS * np.sin(turn), along])
    R = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    at = np.array([300.0, -200.0, 150.0])
    return (base + rng.normal(0, NOISE, (m, n, 3))) @ R.T + at, at, R[:, 2]


def _by_scipy(points: Array, at: Array, axis: Array) -> Answer:
    """Point on the axis, direction and radius."""
    u, v = perpendicular(axis)
    q = points - at

    def parts(p: Array) -> tuple[Array, Array, Array, Array]:
        d = axis + p[2] * u + p[3] * v
        length = np.sqrt(d @ d)
        d = d / length
        e = q - (p[0] * u + p[1] * v)
        t = e @ d
        e = e - t[:, None] * d
        rho = np.sqrt((e * e).sum(1))
        return d, e / rho[:, None], t / length, rho

    def distances(p: Array) -> Array:
        return parts(p)[3] - p[4]

    def jacobian(p: Array) -> Array:
        _, normal, t, _ = parts(p)
        a, b = normal @ u, normal @ v
        return np.stack([-a, -b, -t * a, -t * b, -np.ones(len(q))], 1)

    start = [0.0, 0.0, 0.0, 0.0, RADIUS]
    p = least_squares(distances, start, jac=jacobian, method="lm", xtol=1e-12, ftol=1e-12, gtol=1e-12).x
    return at + p[0] * u + p[1] * v, parts(p)[0], p[4]


def _polished(points: Array, at: Array, axis: Array, radius: float) -> Answer:
    """The answer after one Gauss-Newton step on residuals in extended precision."""
    u, v = perpendicular(axis)
    at = at + ((points.mean(0) - at) @ axis) * axis
    q = points.astype(np.longdouble) - at
    a, b, t = q @ u, q @ v, q @ axis
    rho = np.sqrt(a * a + b * b)
    J = np.stack([a / rho, b / rho, t * a / rho, t * b / rho, np.ones(len(q))], 1)
    step = np.linalg.solve((J.T @ J).astype(float), (J.T @ (rho - radius)).astype(float))
    direction = axis + step[2] * u + step[3] * v
    return at + step[0] * u + step[1] * v, direction / np.linalg.norm(direction), radius + step[4]


def _error(found: list[Answer], judges: list[Answer]) -> tuple[float, float]:
    """Largest difference of place (across the axis) and radius, mm, and of direction, rad."""
    mm = rad = 0.0
    for (at, axis, radius), (true_at, true_axis, true_radius) in zip(found, judges, strict=True):
        place = np.linalg.norm(np.cross(at - true_at, true_axis))
        mm = max(mm, float(place), abs(float(radius - true_radius)))
        rad = max(rad, float(np.linalg.norm(np.cross(axis, true_axis))))
    return mm, rad
