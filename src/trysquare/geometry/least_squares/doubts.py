"""Where a fit answers but its linear covariance is not to be trusted, or another shape does as well."""

import math

import numpy as np

from ...core.arrays import Array
from ...core.errors import RankError
from ..kernels.turn_rows import BALL, CONE, HOOP, RING, TORUS, TUBE
from .evidence import WORDS, Evidence

_KNOWN = 3.0  # least size over its standard uncertainty
_TILT = 0.3  # rad, largest standard uncertainty of a direction
_RIVAL = 4.0  # ratio of the sums of squares of two shapes below which neither is the better one
_GOOD = 0.1  # relative uncertainty of the radius that the advice aims at


def doubts(e: Evidence, where: str, *, guided: bool) -> tuple[RankError, ...]:
    """All doubts about a single set."""
    found = [*_sizes(e, where), *_direction(e, where), *_degenerate(e, where)]
    word = WORDS[e.kind]
    if e.kind in (TUBE, CONE, TORUS) and not guided and e.rival < _RIVAL:
        found.append(_doubt(
            where, f"lie on one {word}", f"another {word}, with its axis elsewhere, fits about as well",
            "Add points at other heights or angles, or give the direction of the axis.", e.rival, _RIVAL,
        ))  # fmt: skip
    return tuple(found)


def _doubt(where: str, rule: str, found: str, way_out: str, ratio: float, threshold: float) -> RankError:
    return RankError(where, "the points", rule, found, way_out, ratio=ratio, threshold=threshold)


def _u(e: Evidence, i: int) -> float:
    """Standard uncertainty of parameter i from the end; 0 for what is held."""
    variance = float(e.cofactor[i, i])
    return (e.sd or 0.0) * math.sqrt(variance) if variance >= 0 else math.inf


def _sizes(e: Evidence, where: str) -> list[RankError]:
    """An arc or cap too short for its residuals."""
    if e.sd is None or e.kind in (CONE, TORUS):
        return []
    radius, u = e.radius, _u(e, -1)
    if not radius < _KNOWN * u:
        return []
    known = f"radius {radius:.4g} mm, known to {u:.2g} mm" if u < radius else "which leave the radius unknown"
    factor = math.sqrt(u / radius / _GOOD)
    arc = math.degrees(_arc(e))
    word, article = ("cap", "a") if e.kind == BALL else ("arc", "an")
    return [_doubt(
        where, f"cover a longer {word}", f"{article} {word} of {_angle(arc)} with residuals of {e.sd:.2g} mm, {known}",
        f"Measure over about {_angle(min(arc * factor, 180.0))} or more.", radius / u, _KNOWN,
    )]  # fmt: skip


def _angle(degrees: float) -> str:
    return f"{degrees:.0f} degrees" if degrees >= 10 else f"{degrees:.2g} degrees"


def _arc(e: Evidence) -> float:
    """Angle (rad) that the points cover as seen from the fitted centre or axis."""
    d: Array = (e.points - e.at) @ e.frame.T
    if e.kind == BALL:
        toward = d.sum(0) / np.linalg.norm(d.sum(0))
        cosine = d @ toward / np.maximum(np.linalg.norm(d, axis=1), 1e-300)
        return 2 * float(np.arccos(np.clip(cosine, -1, 1)).max())
    angle = np.sort(np.arctan2(d[:, 1], d[:, 0]))
    return float(2 * math.pi - np.diff(angle, append=angle[0] + 2 * math.pi).max())


def _direction(e: Evidence, where: str) -> list[RankError]:
    if e.kind in (RING, BALL) or e.sd is None or "direction" in e.held or "normal" in e.held:
        return []
    first = 3 if e.kind in (HOOP, TORUS) else 2
    tilts = e.cofactor[first : first + 2, first : first + 2]
    tilt = e.sd * math.sqrt(max(float(np.linalg.eigvalsh(tilts)[-1]), 0.0))
    if not tilt > _TILT:
        return []
    return [_doubt(
        where, f"fix the {'normal' if e.kind == HOOP else 'axis'}", "a direction known to "
        f"{math.degrees(tilt):.2g} degrees only, with residuals of {e.sd:.2g} mm",
        "Spread the points further along and around.", _TILT / tilt, 1.0,
    )]  # fmt: skip


def _degenerate(e: Evidence, where: str) -> list[RankError]:
    """A cone that is a cylinder or plane as well, a torus that is a cylinder or sphere as well."""
    out: list[RankError] = []
    if e.sd is None:
        return out
    if e.kind == CONE:
        u, flat = _u(e, -1), math.pi / 2 - e.more
        angle = f"a half angle of {math.degrees(e.more):.4g} degrees, known to {math.degrees(u):.2g} degrees"
        if e.more < _KNOWN * u and "half_angle_rad" not in e.held:
            out.append(_doubt(where, "fix the half angle", f"{angle}: a cylinder does as well",
                              "Fit a cylinder, or measure over a greater length.", e.more / u, _KNOWN))  # fmt: skip
        if flat < _KNOWN * u:
            out.append(_doubt(where, "fix the half angle", f"{angle}: a plane does as well",
                              "Fit a plane, or measure further around.", flat / u, _KNOWN))  # fmt: skip
    if e.kind == TORUS:
        u, v = _u(e, -2), _u(e, -1)
        if e.radius < _KNOWN * u:
            word = "sphere" if e.more > e.radius else "cylinder"
            out.append(_doubt(
                where, "fix the major radius", f"a major radius of {e.radius:.4g} mm, known to {u:.2g} mm: a {word} "
                "does about as well", f"Fit a {word}, or measure further around the axis.", e.radius / u, _KNOWN,
            ))  # fmt: skip
        if e.more < _KNOWN * v:
            out.append(_doubt(
                where, "fix the minor radius", f"a minor radius of {e.more:.4g} mm, known to {v:.2g} mm",
                "Measure further around the tube, or fit a cone or cylinder.", e.more / v, _KNOWN,
            ))  # fmt: skip
    return out
