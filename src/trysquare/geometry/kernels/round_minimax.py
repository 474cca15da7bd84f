"""Smallest zone, smallest circumscribed and largest inscribed circle, sphere and cylinder, one member at a time.

Each step solves the linear problem within a box exactly (`least_max`); where fewer contacts than unknowns hold the
optimum, a Newton step on the conditions of the optimum, with those contacts, follows (R. Fletcher, E. Sainz de la Maza,
Math. Programming 43, 1989), no longer than the box: where the contacts hold a saddle its curvature is raised by just as
much as that takes (J. J. Moré, D. C. Sorensen, SIAM J. Sci. Stat. Comput. 4, 1983), and the same again once what the
curvature of the distances added counts. A step is taken when what is made small falls; the box shrinks when it does
not, or by less than a tenth of what was promised. (Both papers named from memory.)
"""

import math

import numpy as np

from ...core.compiled import kernel
from .least_max import least_max
from .round_newton import newton
from .round_state import INNER, OUTER, TUBE, ZONE, distances, move, reach, slopes

MET, NO_DECREASE, OPEN, LIMIT = range(4)
_PASSES = 150
_EPS = 2.3e-16
_FREE = 1e9  # half-width of the box for the radius of a zone, in half-widths of the zone: none
_CORRECTIONS = 3
_LEAST = 1e-10  # weight of a contact; below it is none
_POLISH = 6  # Newton steps of less than 1e-6 of the size that are taken on trust


@kernel()
def _level(mode, low, high):
    """What is made small."""
    return high if mode == OUTER else (-low if mode == INNER else 0.5 * (high - low))


@kernel()
def _rows(mode, k, low, high, rho, A, b):
    """The rows of the linear problem over A[:k], the slopes: b scaled to |b| <= 1. Returns the scale."""
    n = rho.size
    scale = 0.5 * (high - low) if mode == ZONE else high - low
    if not scale > 0.0:
        scale = high if high > 0.0 else 1.0
    for i in range(n):
        if mode == ZONE:
            b[i] = (rho[i] - 0.5 * (low + high)) / scale
            A[k, i] = -1.0
        elif mode == OUTER:
            b[i] = (rho[i] - high) / scale
        else:
            b[i] = (low - rho[i]) / scale
            for j in range(k):
                A[j, i] = -A[j, i]
    return scale


@kernel()
def _corrected(mode, k, low, high, scale, rho, A, x, b):
    """b such that the linear rows meet the distances rho found after the step x: what the curvature added counts."""
    for i in range(rho.size):
        if mode == ZONE:
            b[i] = (rho[i] - 0.5 * (low + high)) / scale
        else:
            b[i] = ((rho[i] - high) if mode == OUTER else (low - rho[i])) / scale
        for j in range(k):
            b[i] -= A[j, i] * x[j]


@kernel()
def _vertex(index, p):
    """Whether rows alone hold the linear problem, and no side of the box."""
    for j in range(p + 1):  # noqa: SIM110 - compiled
        if index[j] < 0:
            return False
    return True


@kernel()
def _longest(x, k):
    """The largest of the first k."""
    most = 0.0
    for i in range(k):
        most = max(most, abs(x[i]))
    return most


@kernel()
def _try(kind, mode, P, s, x, scale, half, trial, rho):
    """The level after the step."""
    move(kind, s, x, scale, half, trial)
    low, high = distances(kind, P, trial, rho)
    return _level(mode, low, high)


@kernel()
def _take(index, sign, weight, to_index, to_sign, to_weight):
    """Copy contacts."""
    for j in range(index.size):
        to_index[j] = index[j]
        to_sign[j] = sign[j]
        to_weight[j] = weight[j]


@kernel()
def press_one(kind, mode, P, s, A, b, rho, e, index, sign, weight, info):
    """Bring the state s of one member to its optimum. Returns the level there."""
    k = kind
    p = A.shape[0]
    x, y, box = np.zeros(p), np.zeros(p), np.empty(p)
    trial, other = np.empty(12), np.empty(12)
    index2, sign2, weight2 = np.empty(6, np.int64), np.empty(6), np.empty(6)
    kept, kept_sign, kept_weight = np.empty(6, np.int64), np.empty(6), np.empty(6)
    half = reach(P, s) if kind == TUBE else 1.0
    if not half > 0.0:
        half = 1.0
    low, high = distances(kind, P, s, rho)
    level = _level(mode, low, high)
    size = high if kind != TUBE else math.sqrt(high * high + half * half)
    delta = 0.5 * high
    polish = 0
    held = False
    info[0] = LIMIT
    for turn in range(_PASSES):
        info[1] = turn
        low, high = distances(kind, P, s, rho)
        eps = _EPS * max(size, high)
        slopes(kind, P, s, half, A)
        scale = _rows(mode, k, low, high, rho, A, b)
        for j in range(p):
            box[j] = delta / scale if j < k else _FREE
        bound = least_max(A, b, mode == ZONE, box, x, index, sign, weight, e)
        fall = ((1.0 if mode == ZONE else 0.0) - bound) * scale
        vertex = _vertex(index, p)
        held = held and not vertex
        if not fall > 2.0 * eps:
            info[0] = MET
            break
        first = _try(kind, mode, P, s, x, scale, half, trial, rho)
        step = _longest(x, k) * scale
        fine = sound = taken = False
        _take(index, sign, weight, index2, sign2, weight2)
        promised, room, raised = fall, delta, -1.0
        for _ in range(_CORRECTIONS):
            model, raised = newton(
                kind, mode, P, s, half, scale, scale / high, room / scale, raised, A, b, index2, sign2, weight2, y, e
            )
            room = 2.0 * delta
            sound = model < math.inf
            if not sound:
                break
            second = _try(kind, mode, P, s, y, scale, half, other, rho)
            far = _longest(y, k) * scale
            fine = far < 1e-6 * high and second <= level + 8.0 * eps and second <= first and polish < _POLISH
            if fine or second < min(first, level):
                first, step = second, far
                promised = ((1.0 if mode == ZONE else 0.0) - model) * scale
                trial, other = other, trial
                taken = True
                break
            _corrected(mode, k, low, high, scale, rho, A, y, b)
        if taken or sound:
            _take(index2, sign2, weight2, kept, kept_sign, kept_weight)
        if first < level or fine:
            held = taken
            if level - first > 0.5 * promised and step > 0.45 * delta:
                delta *= 2.0
            elif level - first < 0.1 * promised and not fine:
                delta = 0.5 * min(delta, step)
            level = first
            for j in range(12):
                s[j] = trial[j]
            polish += 1 if fine else 0
            if fine and (step < 1e-14 * size or polish == _POLISH):
                info[0] = MET
                break
        else:
            held = held or sound
            delta = 0.25 * min(delta, step)
            if delta < 1e-15 * size:
                info[0] = NO_DECREASE
                break
    if held:
        _take(kept, kept_sign, kept_weight, index, sign, weight)
    return level


@kernel()
def press(kind, mode, P, states, levels, index, side, weight, info):
    """Optima of P (m, n, 3) from the states (m, 12), which end there; fills levels (m), the contacts index (m, 6), -1
    where free, their side and weight (m, 6), and info (m, 2): why it stopped, passes.
    """
    n = P.shape[1]
    p = kind + 1 if mode == ZONE else kind
    A = np.empty((p, n))
    b = np.empty(n)
    rho = np.empty(n)
    e = np.empty(n)
    for m in range(P.shape[0]):
        for j in range(6):
            index[m, j] = -1
            side[m, j] = 0.0
            weight[m, j] = 0.0
        levels[m] = press_one(kind, mode, P[m], states[m], A, b, rho, e, index[m], side[m], weight[m], info[m])
        for j in range(p + 1):
            if index[m, j] < 0 or not weight[m, j] > _LEAST:
                index[m, j] = -1
                side[m, j] = 0.0
                weight[m, j] = 0.0
            elif mode != ZONE:
                side[m, j] = mode
