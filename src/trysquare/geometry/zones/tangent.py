"""Planes and lines that touch the points from outside the material: the tangent features of datums."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.errors import InputError
from ..axes import turned
from .fixed_zone import PROOF as FIXED
from .fixed_zone import fixed_fields
from .flat import PROOF as ZONE
from .flat import Solved, read_direction, read_points, refuse, solve_flat
from .line_zone import flattened, held_direction, seen_along
from .one_sided_squares import PROOF as SQUARES
from .one_sided_squares import solve_squares
from .reduce import solve
from .results import ZoneFit, certified, lead_again, turn_over

NORMS = ("minimax", "sum", "squares")
FACET = (
    "The contacts surround the foot of the centroid: every other plane that leaves all points on one side lies further "
    "from the centroid, and the mean distance is the distance of the centroid."
)
_PROOFS = {"minimax": ZONE, "sum": FACET, "squares": SQUARES}


@dataclass(frozen=True, kw_only=True)
class TangentFit(ZoneFit):
    """A plane or line that touches the points from outside.

    `achieved_mm` (...) is what was made least: with `norm` "minimax" the largest distance of a point, with "sum" the
    mean distance, with "squares" the root of the mean square; the certificate's gap is of it. `width_mm` is the largest
    distance whatever the norm. A plane has its outward `normal`; a line has `direction`, with the outside on its left
    (seen against `view`: on the side of view x direction). Residuals are 0 at the contacts and negative elsewhere.
    """

    norm: str
    achieved_mm: Array


def tangent_plane(
    points_mm: npt.ArrayLike,
    *,
    outward: npt.ArrayLike | None = None,
    norm: str = "minimax",
    parallel_to: npt.ArrayLike | None = None,
    perpendicular_to: npt.ArrayLike | None = None,
) -> TangentFit:
    """Lay a plane against the points from outside the material.

    Parameters
    ----------
    points_mm : (..., n, 3) float, n >= 3, finite
        Points in one frame, mm. Leading axes are trials.
    outward : (3,) or (..., 3), optional
        A direction that points out of the material, within 90 degrees of the normal looked for. Without it the outside
        is taken to be where the largest coordinate of the normal (of the first trial) is positive: material below.
    norm : "minimax", "sum" or "squares"
        Which distances of the points from the plane are made least: the largest; their sum (the plane on the facet of
        the hull over the centroid, on which a part rests under its weight evenly spread); their sum of squares.
    parallel_to, perpendicular_to : (3,) or (..., 3), optional
        The plane stays parallel (square) to this direction.

    Returns
    -------
    TangentFit

    Raises
    ------
    InputError : as `core.arrays.points`; an unknown norm; a direction that is none; both directions.
    RankError : points that coincide, or on one line; no plane within 90 degrees of `outward`.

    Notes
    -----
    From memory, without the texts at hand: ISO 5459:2011 associates a datum plane outside the material, by default with
    the largest distance made least (minimax); ASME Y14.5.1-2019 takes the plane outside the material with the least sum
    of squares. Method: minimax and sum are exact linear programmes (`minimum_zone_plane`), squares an exact quadratic
    one, each turned to its own normal. Proven over all normals within 90 degrees of `outward`; said to be local where a
    plane square to `outward` would do better still, which only happens with points that are no surface.
    Checked against scipy.optimize and every facet of the hull in tests/unit/test_tangent.py.
    """
    where = "tangent_plane"
    _known(norm, where)
    P, lead = read_points(points_mm, least=3, dims=3, where=where)
    if parallel_to is not None and perpendicular_to is not None:
        raise InputError(
            where, "the direction", "be one of parallel_to and perpendicular_to", "both", "Leave one of them out."
        )
    across = None if parallel_to is None else read_direction(parallel_to, lead, where, "parallel_to")
    out = None if outward is None else read_direction(outward, lead, where, "outward")
    if perpendicular_to is not None:
        given = read_direction(perpendicular_to, lead, where, "perpendicular_to")
        normals = turned(given, out)
        fields, proof, failed = _fixed(P, normals, norm, where), FIXED, None
    else:
        solved = _solved(P, out, across, norm, where, "plane" if across is None else "line")
        fields, proof, failed = _fields(solved, norm), _PROOFS[norm], solved.failed
    return _told(fields, lead, failed, proof, norm, ("normal",))


def tangent_line(
    points_mm: npt.ArrayLike,
    *,
    outward: npt.ArrayLike | None = None,
    norm: str = "minimax",
    view: npt.ArrayLike | None = None,
    parallel_to: npt.ArrayLike | None = None,
    perpendicular_to: npt.ArrayLike | None = None,
) -> TangentFit:
    """Lay a line in a plane against the points from outside the material.

    As `tangent_plane`, for points (..., n, 2), or (..., n, 3) with `view` as in `zone_line`; n >= 2. The direction has
    the outside on its left; without `outward` the outside is where the largest coordinate of the normal (of the first
    trial) is positive.
    """
    where = "tangent_line"
    _known(norm, where)
    P, lead, v, dims = seen_along(points_mm, view, where)
    given = held_direction(parallel_to, perpendicular_to, lead, v, where, dims)
    out = None if outward is None else read_direction(outward, lead, where, "outward", dims)
    if given is not None:
        fields, proof, failed = _fixed(P, turned(given, out), norm, where), FIXED, None
    else:
        solved = _solved(P, out, v, norm, where, "line")
        fields, proof, failed = _fields(solved, norm), _PROOFS[norm], solved.failed
    fields["direction"] = np.cross(fields.pop("normal"), v)[:, :dims]
    fields["point_mm"] = fields["point_mm"][:, :dims]
    return _told(fields, lead, failed, proof, norm, ("direction",))


def _known(norm: str, where: str) -> None:
    if norm not in NORMS:
        raise InputError(where, "norm", f"be one of {', '.join(NORMS)}", f'"{norm}"', "Correct it.")


def _solved(P: Array, out: Array | None, across: Array | None, norm: str, where: str, shape: str) -> Solved:
    """The touching planes, their normals on the outward side."""
    if out is None:
        start = np.array([[0.0, 0.0, 1.0]]) if across is None else flattened(_any(across), across, where, "")
        first = solve(P[:1], start, across=across if across is None or len(across) == 1 else across[:1])
        refuse(first, P[:1], where, shape)
        out = turned(first.normals, None)
    if across is not None:
        out = flattened(out, across, where, "outward")
    if norm == "minimax":
        solved = _outer_face(solve(P, out, across=across), out)
    else:
        solved = solve(P, out, across=across, one=True, few=solve_flat if norm == "sum" else solve_squares)
    refuse(solved, P, where, shape)
    return solved


def _any(across: Array) -> Array:
    return np.asarray(np.eye(3)[np.abs(across).argmin(-1)])


def _outer_face(zone: Solved, out: Array) -> Solved:
    """The zone told from its outer plane, on the side of `out`."""
    flip = (zone.normals * out).sum(-1) < 0
    normals = np.where(flip[:, None], -zone.normals, zone.normals)
    turn_over(zone.residuals, flip)
    half = 0.5 * zone.widths[:, None]
    residuals = np.subtract(zone.residuals, half, out=zone.residuals)
    sides = np.where(flip[:, None], -zone.sides, zone.sides)
    rest = {name: getattr(zone, name) for name in ("widths", "bounds", "code", "turns", "starts", "contacts")}
    return Solved(normals=normals, points=zone.points + half * normals, sides=sides, residuals=residuals, **rest)


def _fields(solved: Solved, norm: str) -> dict[str, npt.NDArray[Any]]:
    fields = solved.fields()
    fields["achieved_mm"] = solved.widths
    if norm != "minimax":
        fields["width_mm"] = -solved.residuals.min(1)
    return {**fields, "point_mm": solved.points, "normal": solved.normals}


def _fixed(P: Array, normals: Array, norm: str, where: str) -> dict[str, npt.NDArray[Any]]:
    """Planes with these normals (1 or m, 3): they touch the highest point."""
    fields = fixed_fields(P, normals, where)
    half = 0.5 * fields["width_mm"][:, None]
    h = fields["residuals_mm"]
    h -= half
    fields["point_mm"] = fields["point_mm"] + half * normals
    fields["normal"] = np.array(np.broadcast_to(normals, fields["point_mm"].shape))
    means = {"minimax": fields["width_mm"], "sum": -h.mean(1), "squares": np.sqrt(np.square(h).mean(1))}
    fields["achieved_mm"] = means[norm]
    if norm != "minimax":
        fields["contacts"], fields["sides"] = fields["contacts"][:, :1], fields["sides"][:, :1]
    return fields


def _told(
    fields: dict[str, npt.NDArray[Any]], lead: tuple[int, ...], failed: npt.NDArray[np.bool_] | None, proof: str,
    norm: str, own: tuple[str, ...],
) -> TangentFit:  # fmt: skip
    out = lead_again(fields, lead, failed)
    names = ("width_mm", "residuals_mm", "iterations", "stopped", "point_mm", "achieved_mm", *own)
    return TangentFit(certificate=certified(out, proof), norm=norm, **{name: out[name] for name in names})
