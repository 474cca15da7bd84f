"""From a state on the surface to the parameters that people use, and how these move with it."""

from dataclasses import dataclass

import numpy as np

from ...core.arrays import Array
from ..kernels.turn_rows import BALL, CONE, HOOP, RING, TORUS, TUBE
from .held import ANGLE, AXIS, MAJOR, RADIUS
from .revolved import Settled

_FLIP_NORMAL = np.array([-1.0, 1.0, -1.0, -1.0, -1.0, 1.0, -1.0])  # of the parameters when N and v turn over
_FLIP_ALONG = np.array([1.0, -1.0, 1.0, -1.0, 1.0, -1.0, 1.0])  # when G and v do


@dataclass(frozen=True)
class Parameters:
    """Of m members: `at` (m, 3) centre or axis point; frame (m, 3, 3), rows u, v and w, the axis; radius (m); `more`
    (m) half angle of a cone, minor radius of a torus (whose `radius` is the major one); residuals (m, 1 or 2, n),
    positive outside; cofactor (m, k, k) of the parameters along the frame, in the order of results.Fit.
    """

    at: Array
    frame: Array
    radius: Array
    more: Array
    residuals: Array
    cofactor: Array


def parameters(done: Settled, held: int = 0) -> Parameters:
    """The parameters of every member, with no cofactors for what is `held`; NaN passes through."""
    with np.errstate(all="ignore"):
        s, residuals, C = _outward(done)
        p = _parameters(done.kind, s, residuals, C, done.middles)
        for i in _held_rows(done.kind, held, p.cofactor.shape[-1]):
            p.cofactor[:, i] = p.cofactor[:, :, i] = 0.0
        return p


def _held_rows(kind: int, held: int, k: int) -> list[int]:
    """Places of what is held among the parameters."""
    first = 3 if kind in (HOOP, TORUS) else 2
    rows = [first, first + 1] if held & AXIS else []
    return rows + ([k - 1] if held & (RADIUS | ANGLE) else []) + ([k - 2] if held & MAJOR else [])


def _outward(done: Settled) -> tuple[Array, Array, Array]:
    """States, residuals and cofactors with normals away from the axis (torus: from its tube), cones widening."""
    s, C = done.states.copy(), done.spread.copy()
    residuals = done.residuals.copy()
    inward = s[:, 14 if done.kind == TORUS else 12] < 0
    s[inward, 3:9] *= -1
    s[inward, 12::2] *= -1
    residuals[inward, 0] *= -1
    C[inward] *= np.outer(_FLIP_NORMAL, _FLIP_NORMAL)
    if done.kind == HOOP:
        return s, residuals, C
    narrowing = s[:, 13] < 0
    s[narrowing, 6:12] *= -1
    s[narrowing, 13] *= -1
    C[narrowing] *= np.outer(_FLIP_ALONG, _FLIP_ALONG)
    return s, residuals, C


def _parameters(kind: int, s: Array, residuals: Array, C: Array, middles: Array) -> Parameters:
    k, g, c = s[:, 12], s[:, 13], s[:, 14]
    K = np.hypot(k, g)
    p, q, r0 = k / K, g / K, 1 / K
    N, v, G = s[:, 3:6], s[:, 6:9], s[:, 9:12]
    u, w = p[:, None] * N + q[:, None] * G, p[:, None] * G - q[:, None] * N
    frame = np.stack([u, v, w], 1)
    at = s[:, :3] - r0[:, None] * u
    D = _moves(kind, p, q, K)
    if kind in (TUBE, CONE):
        t = -(at * w).sum(1)
        rows = _axis_rows(D, t)
        radius, more = r0, np.arctan2(g, k)
        if kind == CONE:
            rows = np.concatenate([rows, _cone_rows(D, t, -(at * u).sum(1), -(at * v).sum(1), p, q)], 1)
            radius = r0 + t * q / p
        else:
            rows = np.concatenate([rows, D[:, 5:6]], 1)
        at = at + t[:, None] * w
    elif kind == TORUS:
        at = at + (q / c)[:, None] * w
        side = np.where(r0 < p / c, -1.0, 1.0)
        rows, radius, more = _torus_rows(D, p, q, c, side), side * (r0 - p / c), 1 / c
    else:
        rows, radius, more = _round_rows(kind, D, frame), r0, np.zeros(len(s))
        if kind in (RING, BALL):
            frame = np.broadcast_to(np.eye(3), frame.shape).copy()
    return Parameters(at + middles, frame, radius, more, residuals, rows @ C @ np.swapaxes(rows, 1, 2))


def _moves(kind: int, p: Array, q: Array, K: Array) -> Array:
    """How (axis point along u, v, w; axis towards u, v; its distance r0; lean) (7) move with a state's parameters."""
    D = np.zeros((len(p), 7, 7))
    r0 = 1 / K
    D[:, 0, 0], D[:, 2, 0] = p, -q
    D[:, 1, 1], D[:, 4, 1] = -r0 * p, -q
    D[:, 0, 2], D[:, 2, 2], D[:, 3, 2], D[:, 5, 2], D[:, 6, 2] = p * r0**2, q * r0**2, q * r0, -p * r0**2, -q * r0
    D[:, 2, 3], D[:, 3, 3] = r0, 1.0
    D[:, 1, 4], D[:, 4, 4] = -r0 * q, p
    if kind == HOOP:
        D[:, 2, 5] = 1.0
    else:
        D[:, 0, 5], D[:, 2, 5], D[:, 3, 5], D[:, 5, 5], D[:, 6, 5] = q * r0**2, -p * r0**2, -p * r0, -q * r0**2, p * r0
    return D


def _axis_rows(D: Array, t: Array) -> Array:
    """Axis point at the height t of the centroid, across; tilts."""
    return np.concatenate([D[:, :2] + t[:, None, None] * D[:, 3:5], D[:, 3:5]], 1)


def _cone_rows(D: Array, t: Array, a: Array, b: Array, p: Array, q: Array) -> Array:
    """Radius at the height of the centroid, which lies at a, b, t from the axis point; half angle."""
    rise = -D[:, 2] + a[:, None] * D[:, 3] + b[:, None] * D[:, 4]
    radius = D[:, 5] + (q / p)[:, None] * rise + (t / p**2)[:, None] * D[:, 6]
    return np.stack([radius, D[:, 6]], 1)


def _torus_rows(D: Array, p: Array, q: Array, c: Array, side: Array) -> Array:
    """Centre along u, v, w; tilts; major and minor radius."""
    bend = np.zeros_like(D[:, 0])
    bend[:, 6] = 1 / c**2
    up = (q / c)[:, None]
    w = D[:, 2] + (p / c)[:, None] * D[:, 6] - q[:, None] * bend
    major = side[:, None] * (D[:, 5] + up * D[:, 6] + p[:, None] * bend)
    return np.stack([D[:, 0] + up * D[:, 3], D[:, 1] + up * D[:, 4], w, D[:, 3], D[:, 4], major, -bend], 1)


def _round_rows(kind: int, D: Array, frame: Array) -> Array:
    """Centre and radius of circle and sphere along x, y, z; of a circle in space along its frame, with tilts."""
    if kind == HOOP:
        return D[:, :6]
    d = 2 if kind == RING else 3
    centre = np.swapaxes(frame, 1, 2)[:, :d] @ D[:, :3]
    return np.concatenate([centre, D[:, 5:6]], 1)
