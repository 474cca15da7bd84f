"""Roundness of a million points, against linprog (HiGHS) and SLSQP from the least-squares circle on reduced points.

The rivals get their best form: the least-squares circle from sums, a thousand of the points; those beyond the zone
found are added, the farthest first, and the problem is solved again until none is left. linprog solves the linear
problem about the centre, which moves until it stays; SLSQP gets exact gradients. Both answers are judged on all points.
Ours gets the points alone, and proves that no other centre does better.
"""

import statistics
import time
from collections.abc import Callable
from typing import Any

import numpy as np
from scipy.optimize import linprog, minimize

from trysquare.core.arrays import Array
from trysquare.core.threads import thread_count
from trysquare.geometry import zone_circle

N = 1_000_000
FLOOR = 6.0
FEW, MORE = 1000, 200
#: name, arc in degrees
WORK = (("full circle", 360.0), ("arc of 30 degrees", 30.0))
Solver = Callable[[Array, Array], Array]


def run(quick: bool = False) -> dict[str, Any]:
    """Both arcs, each rival (quick: a tenth of the points, 3 turns)."""
    n, turns = (N // 10, 3) if quick else (N, 5)
    rows = [
        _row(name, _points(n, arc), rival, solver, turns)
        for name, arc in WORK
        for rival, solver in (("linprog (HiGHS)", _by_linprog), ("SLSQP", _by_slsqp))
    ]
    return {"rows": rows, "threads": thread_count()}


def _points(n: int, degrees: float) -> Array:
    rng = np.random.default_rng(3)
    turn = np.radians(rng.uniform(-degrees / 2, degrees / 2, n))
    r = 50 + 0.01 * np.cos(3 * turn) + 0.004 * np.cos(7 * turn + 1) + rng.normal(0, 0.001, n)
    return np.stack([r * np.cos(turn) + 10, r * np.sin(turn) - 7], 1)


def _row(name: str, P: Array, rival: str, solver: Solver, turns: int) -> dict[str, Any]:
    zone_circle(P[:5000])  # compiles
    ours, theirs = [], []
    for _ in range(turns):
        begin = time.perf_counter()
        zone = zone_circle(P)
        middle = time.perf_counter()
        centre = _reduced(P, solver)
        ours.append(middle - begin)
        theirs.append(time.perf_counter() - middle)
    one, other = statistics.median(ours), statistics.median(theirs)
    width, against = (float(np.ptp(np.linalg.norm(P - c, axis=1))) for c in (zone.center_mm, centre))
    return {
        "work": f"{len(P)} points, {name}", "against": f"{rival} from least squares, reduced points",
        "seconds": round(one, 5), "seconds_against": round(other, 4), "ratio": round(other / one, 1), "floor": FLOOR,
        "width_mm": width, "width_against_less_ours_mm": against - width, "proof": str(zone.certificate.kind),
        "gap_mm": float(zone.certificate.gap_mm),
        "met": bool(other / one >= FLOOR and width <= against + 1e-12 and zone.certificate.kind == "global"),
    }  # fmt: skip


def _reduced(P: Array, solver: Solver) -> Array:
    """Centre of the smallest zone by the rival, on few points, until no other lies beyond."""
    centre = _least_squares(P)
    few = np.arange(0, len(P), max(1, len(P) // FEW))
    for _ in range(20):
        centre = solver(P[few], centre)
        d = np.hypot(*(P[few] - centre).T)
        r = np.hypot(P[:, 0] - centre[0], P[:, 1] - centre[1])
        over = np.maximum(r - d.max(), d.min() - r)
        more = np.flatnonzero(over > 1e-13)
        if not len(more):
            break
        if len(more) > MORE:
            more = more[np.argpartition(over[more], -MORE)[-MORE:]]
        few = np.concatenate([few, more])
    return centre


def _least_squares(P: Array) -> Array:
    """Centre by the linear fit (I. Kasa 1976) and two Gauss-Newton steps."""
    middle = P.mean(0)
    Q = P - middle
    s = np.einsum("ij,ij->i", Q, Q)
    centre = np.linalg.solve(2 * (Q.T @ Q), Q.T @ s)
    for _ in range(2):
        u = Q - centre
        r = np.sqrt(np.einsum("ij,ij->i", u, u))
        u /= r[:, None]
        m, N = u.mean(0), u.T @ u / len(Q)
        centre = centre + np.linalg.solve(N - np.outer(m, m), u.T @ r / len(Q) - m * r.mean())
    return middle + centre


def _by_linprog(P: Array, centre: Array) -> Array:
    for _ in range(12):
        u = P - centre
        r = np.hypot(*u.T)
        size = np.ptp(r)
        J, h = np.column_stack([u / r[:, None], np.ones(len(P))]), (r - r.mean()) / size
        A = np.block([[-J, -np.ones((len(P), 1))], [J, -np.ones((len(P), 1))]])
        tight = {"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10}
        free = [(None, None)] * 3 + [(0, None)]
        found = linprog([0, 0, 0, 1], A_ub=A, b_ub=np.r_[-h, h], bounds=free, method="highs-ds", options=tight)
        step = found.x[:2] * size
        centre = centre + step
        if np.abs(step).max() < 1e-12:
            break
    return centre


def _by_slsqp(P: Array, centre: Array) -> Array:
    r = np.hypot(*(P - centre).T)
    one, size = np.ones((len(P), 1)), np.ptp(r)
    base = r.mean()

    def parts(z: Array) -> tuple[Array, Array]:
        u = centre + size * z[:2] - P
        d = np.hypot(*u.T)
        return (d - base) / size, u / d[:, None]

    def slack(z: Array) -> Array:
        d = parts(z)[0]
        return np.r_[z[2] - d, d - z[3]]

    def slopes(z: Array) -> Array:
        u = parts(z)[1]
        return np.block([[-u, one, 0 * one], [u, 0 * one, -one]])

    h = (r - base) / size
    found = minimize(
        lambda z: z[2] - z[3], [0, 0, h.max(), h.min()], jac=lambda z: np.array([0, 0, 1.0, -1.0]), method="SLSQP",
        constraints={"type": "ineq", "fun": slack, "jac": slopes}, options={"ftol": 1e-13, "maxiter": 200},
    )  # fmt: skip
    return centre + size * found.x[:2]
