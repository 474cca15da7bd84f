"""Whether any other axis, wherever it passes, gives a narrower zone between coaxial cylinders."""

import numpy as np

from ...core.arrays import Array
from ..kernels.round_bound import BETTER, OPEN
from .round_solve import Index, Solved

_BOXES = 60_000  # of axes looked at before the proof is given up
_SOME = 80  # points that the bounds rest on at first
_MARGIN = 1.01


def search_axes(solved: Solved) -> tuple[Index, Array, Array]:
    """Outcome, bound and a better state, as arrays of one member: the search of `everywhere` for one cylinder zone."""
    from ..kernels.round_tubes import prove_tube

    few, contacts = solved.few[0], solved.places()[0]
    frame, middle = solved.states[0, 3:].reshape(3, 3), few.mean(0)
    Q = np.ascontiguousarray((few - middle) @ frame.T)
    centre = np.ascontiguousarray((frame @ (solved.states[0, :3] - middle))[:2])
    width = float(solved.made_small[0])
    wide = _wide(Q, width)
    better = np.zeros(12)
    outcome, bound = OPEN, -np.inf
    for P, places in (_some(Q, contacts), (Q, contacts)) if np.isfinite(wide) else ():
        outcome, bound, _ = prove_tube(P, centre, width, places, solved.sides[0], wide, _BOXES, better)
        if outcome != BETTER or len(P) == len(Q):
            break
    better[:3] = frame.T @ better[:3] + middle
    better[3:] = (better[3:].reshape(3, 3) @ frame).ravel()
    return np.array([outcome]), np.array([bound]), better[None]


def _wide(Q: Array, width: float) -> float:
    """How far from the middle an axis may pass before no zone about it can be as narrow as `width`.

    The hull of the points holds a ball, radius r, about their middle. Seen from an axis at the distance D, one point
    lies beyond the ball, at D + r or more, and one before it, at D - r + b^2 / (2 (D - r)) or less, b the reach of the
    points: that bounds the width. Infinite where the ball is no wider than the zone: points on much less than half a
    turn.
    """
    from scipy.spatial import ConvexHull, QhullError

    reach = float(np.linalg.norm(Q, axis=1).max())
    try:
        ball = -float(ConvexHull(Q).equations[:, -1].max())
    except QhullError:
        return np.inf
    if not ball > width:
        return np.inf
    return _MARGIN * max(reach, ball + reach * reach / (2.0 * (2.0 * ball - width)))


def _some(Q: Array, contacts: Index) -> tuple[Array, Index]:
    """The contacts and some of the other points, and the contacts among them."""
    if len(Q) <= _SOME:
        return Q, contacts
    held = contacts[contacts >= 0]
    others = np.setdiff1d(np.arange(len(Q)), held)
    picks = np.concatenate([held, others[:: -(-len(others) // _SOME)]])
    places = np.full(len(contacts), -1)
    places[contacts >= 0] = np.arange(len(held))
    return np.ascontiguousarray(Q[picks]), places
