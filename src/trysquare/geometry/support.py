"""Whether points carry the shape that is asked of them, said in the words of who measured them."""

import math
from dataclasses import dataclass

import numpy as np

from ..core.arrays import Array
from ..core.errors import ConvergenceError, RankError
from .descent import THRESHOLD, Descent
from .kernels.shapes import BALL, RING, TUBE
from .results import LIMIT, NO_DECREASE

_RADIUS = 3.0  # least radius over its standard uncertainty
_TILT = 0.3  # rad, largest standard uncertainty of a direction
_SPREAD = 3.0  # least thickness of the set of points over the standard deviation of the residuals
_RIVAL = 4.0  # ratio of the sums of squares of two cylinders below which neither is the better one
_STRAIGHT = 10.0  # radius over extent above which a descent without an end is one towards a straight line
_HEIGHTS = "lie at two heights or more along the axis"
_RING = "Add a ring of points at another height."
_GOOD = 0.1  # relative uncertainty of the radius that the advice aims at


@dataclass(frozen=True)
class Reason:
    """Why the points do not do: what was found, the way out, and the ratio that fell below its threshold."""

    rule: str
    found: str
    way_out: str
    ratio: float
    threshold: float = THRESHOLD


def refuse(done: Descent, P: Array, where: str, *, single: bool, guided: bool) -> None:
    """Raise when no member could be fitted, and for a single set also when its own residuals swamp a parameter.

    The second rule holds for a value, not for its draws: dropping draws by their noise would bias the others.
    """
    bad = done.code > NO_DECREASE
    if bad.all():
        reason = _flat(done, P[0])
        if reason is None and done.code[0] == LIMIT and not done.states[0, 12] > _STRAIGHT * done.extent[0]:
            raise ConvergenceError(
                where, "the descent", "end", f"{done.passes[0]} steps without an end",
                "Look for points that belong to another feature.",
            )  # fmt: skip
        _raise(where, reason or _arc_open(done))
    reason = _swamped(done, P[0]) or (None if guided else _another(done)) if single else None
    if reason is not None:
        _raise(where, reason)


def _raise(where: str, r: Reason) -> None:
    raise RankError(where, "the points", r.rule, r.found, r.way_out, ratio=r.ratio, threshold=r.threshold)


def _spread(P: Array) -> tuple[Array, Array]:
    """Root-mean-square extents (3), largest first, and principal axes (rows)."""
    _, s, axes = np.linalg.svd(P - P.mean(0), full_matrices=False)
    return np.pad(s / math.sqrt(len(P)), (0, 3 - len(s))), axes


def _flat(done: Descent, P: Array) -> Reason | None:
    """Why the places of the points alone leave a direction open; None when an arc or cap is to blame."""
    spread, _ = _spread(P)
    if not spread[0] > 1e-14 * np.abs(P).max():
        return Reason("lie apart", "points that coincide", "Measure points that lie apart.", 0.0)
    ratio = spread / spread[0]
    if ratio[1] < THRESHOLD:
        return Reason("lie off one line", "points on one line", "Add points off that line.", float(ratio[1]))
    if ratio[2] < THRESHOLD and done.kind == BALL:
        return Reason(
            "lie off one plane", "points in one plane: many spheres pass through one circle",
            "Add a point off that plane, best the pole.", float(ratio[2]),
        )  # fmt: skip
    if ratio[2] < THRESHOLD and done.kind == TUBE:
        return Reason(_HEIGHTS, "points in one plane", _RING, float(ratio[2]))
    return None


def _arc_open(done: Descent) -> Reason:
    """The radius grows without end: a straight line, or plane, does as well."""
    word, flat = ("cap", "a plane") if done.kind == BALL else ("arc", "a line")
    return Reason(
        f"cover a longer {word}", f"points that {flat} fits as well: too short to say anything",
        f"Measure over a longer {word}, best half way round.", float(done.ratio[0]),
    )  # fmt: skip


def _short(done: Descent, P: Array, ratio: float, threshold: float, factor: float, more: str) -> Reason:
    """An arc or cap too short; `factor` is how many times longer it would have to be."""
    arc = math.degrees(_arc(done, P))
    word, article = ("cap", "a") if done.kind == BALL else ("arc", "an")
    return Reason(
        f"cover a longer {word}", f"{article} {word} of {_angle(arc)}{more}: too short to say anything",
        f"Measure over about {_angle(min(arc * factor, 180.0))} or more.", ratio, threshold,
    )  # fmt: skip


def _angle(degrees: float) -> str:
    return f"{degrees:.0f} degrees" if degrees >= 10 else f"{degrees:.2g} degrees"


def _arc(done: Descent, P: Array) -> float:
    """Angle (rad) that the points cover as seen from the fitted centre or axis."""
    s = done.states[0]
    d = (P - s[:3]) @ s[3:12].reshape(3, 3).T
    if done.kind == BALL:
        toward = d.sum(0) / np.linalg.norm(d.sum(0))
        cosine = d @ toward / np.maximum(np.linalg.norm(d, axis=1), 1e-300)
        return 2 * float(np.arccos(np.clip(cosine, -1, 1)).max())
    angle = np.sort(np.arctan2(d[:, 1], d[:, 0]))
    return float(2 * math.pi - np.diff(angle, append=angle[0] + 2 * math.pi).max())


def _swamped(done: Descent, P: Array) -> Reason | None:
    """Why the residuals of a single set swamp what it should tell; None when they do not."""
    k = done.normal.shape[-1]
    freedom = done.residuals[0].size - k
    if freedom <= 0:
        return None
    sd = math.sqrt(np.square(done.residuals[0]).sum() / freedom)
    covariance = sd * sd * np.linalg.inv(done.normal[0])
    variance = float(covariance[-1, -1])
    radius, u = done.states[0, 12], math.sqrt(variance) if variance >= 0 else math.inf
    if radius < _RADIUS * u:
        known = f"radius {radius:.4g} mm, known to {u:.2g} mm" if u < radius else "which leave the radius unknown"
        return _short(
            done, P, radius / u, _RADIUS, math.sqrt(u / radius / _GOOD),
            f" with residuals of {sd:.2g} mm, {known}",
        )  # fmt: skip
    if done.kind in (RING, BALL):
        return None
    return _loose_axis(done, P, sd, covariance)


def _loose_axis(done: Descent, P: Array, sd: float, covariance: Array) -> Reason | None:
    first = 2 if done.kind == TUBE else 3
    tilt = math.sqrt(max(np.linalg.eigvalsh(covariance[first : first + 2, first : first + 2])[-1], 0.0))
    spread, axes = _spread(P)
    if done.kind == TUBE and spread[2] < _SPREAD * sd and abs(axes[2] @ done.states[0, 9:12]) > 0.7:
        found = f"points within {spread[2]:.2g} mm of one plane, with residuals of {sd:.2g} mm"
        return Reason(_HEIGHTS, found, _RING, float(spread[2] / sd), _SPREAD)
    if tilt > _TILT:
        return Reason(
            f"fix the {'axis' if done.kind == TUBE else 'normal'}", f"a direction known to {math.degrees(tilt):.2g} "
            f"degrees only, with residuals of {sd:.2g} mm", "Spread the points further along and around.",
            _TILT / tilt, 1.0,
        )  # fmt: skip
    return None


def _another(done: Descent) -> Reason | None:
    """Whether another cylinder fits about as well, with nothing to choose between them."""
    if done.kind == TUBE and done.rival[0] < _RIVAL:
        return Reason(
            "lie on one cylinder", "points that another cylinder, with its axis elsewhere, fits about as well",
            "Add points at other heights or angles, or give the direction of the axis.", float(done.rival[0]), _RIVAL,
        )  # fmt: skip
    return None
