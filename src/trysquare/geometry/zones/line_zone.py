"""Minimum zone of a line in a plane: straightness as the part standards mean it, free or held to a direction."""

from typing import Any

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.errors import InputError
from .fixed_zone import PROOF as FIXED
from .fixed_zone import fixed_fields
from .flat import PROOF, read_direction, read_points, refuse
from .reduce import solve
from .results import ZoneFit, certified, lead_again, turn_over

_ACROSS = np.array([[0.0, 0.0, 1.0]])


def zone_line(
    points_mm: npt.ArrayLike,
    *,
    view: npt.ArrayLike | None = None,
    toward: npt.ArrayLike | None = None,
    parallel_to: npt.ArrayLike | None = None,
    perpendicular_to: npt.ArrayLike | None = None,
) -> ZoneFit:
    """Find the two parallel lines in a plane, nearest to one another, that hold the points (ISO 1101, straightness).

    Parameters
    ----------
    points_mm : (..., n, 2) float, or (..., n, 3) with `view`; n >= 2, finite
        Points in one frame, mm. Leading axes are trials.
    view : (3,) or (..., 3), optional
        For points in space: the direction that is looked along. The lines lie in a plane square to it, and distances
        along it do not count.
    toward : (d,) or (..., d), optional
        The direction is flipped to have no negative product with it.
    parallel_to, perpendicular_to : (d,) or (..., d), optional
        The lines stay parallel (square) to this direction, as seen in the plane.

    Returns
    -------
    ZoneFit
        `point_mm` (..., d) of the middle line, under the middle of the points, and `direction` (..., d); residuals from
        the middle line, positive on the left of the direction (with `view`: on the side of view x direction). Sides are
        +1 on the left.

    Raises
    ------
    InputError : as `core.arrays.points`; points in space without `view`; a direction that is none or along `view`.
    RankError : points that coincide as seen.

    Notes
    -----
    Method: as `minimum_zone_plane`, with one slope less; proven over all directions of the plane. Checked against every
    edge of the hull in tests/unit/test_zone_line.py.
    """
    where = "zone_line"
    P, lead, v, dims = seen_along(points_mm, view, where)
    given = held_direction(parallel_to, perpendicular_to, lead, v, where, dims)
    hint = None if toward is None else read_direction(toward, lead, where, "toward", dims)
    if given is None:
        solved = solve(P, _square(v), across=v)
        refuse(solved, P, where, "line")
        normals, proof, failed = solved.normals, PROOF, solved.failed
        fields = {**solved.fields(), "point_mm": solved.points}
    else:
        fields, proof, failed = fixed_fields(P, given, where), FIXED, None
        normals = np.ascontiguousarray(np.broadcast_to(given, (len(P), 3)))
    directions = np.cross(normals, v)
    flipped = _backward(directions, hint)
    turn_over(fields["residuals_mm"], flipped)
    fields["sides"][flipped] *= -1
    fields["direction"] = np.where(flipped[:, None], -directions, directions)[:, :dims]
    fields["point_mm"] = fields["point_mm"][:, :dims]
    out = lead_again(fields, lead, failed)
    names = ("width_mm", "residuals_mm", "iterations", "stopped", "point_mm", "direction")
    return ZoneFit(certificate=certified(out, proof), **{name: out[name] for name in names})


def seen_along(
    value: npt.ArrayLike, view: npt.ArrayLike | None, where: str
) -> tuple[Array, tuple[int, ...], Array, int]:
    """Points (m, n, 3), leading axes, the direction looked along (1 or m, 3) unit, and how many coordinates."""
    dims = 2 if view is None else 3
    if view is None and np.ndim(value) >= 2 and np.shape(value)[-1] == 3:
        raise InputError(
            where, "points in space", "come with the direction that is looked along", "no view",
            "Give view=, or points with two coordinates.",
        )  # fmt: skip
    P, lead = read_points(value, least=2, dims=dims, where=where)
    return P, lead, _ACROSS if view is None else read_direction(view, lead, where, "view"), dims


def held_direction(
    parallel_to: npt.ArrayLike | None, perpendicular_to: npt.ArrayLike | None, lead: tuple[int, ...], v: Array,
    where: str, dims: int,
) -> Array | None:  # fmt: skip
    """The normal (1 or m, 3) of lines held to a direction in the plane across v, or None."""
    if parallel_to is None and perpendicular_to is None:
        return None
    if parallel_to is not None and perpendicular_to is not None:
        raise InputError(
            where, "the direction", "be one of parallel_to and perpendicular_to", "both", "Leave one of them out."
        )
    name = "parallel_to" if perpendicular_to is None else "perpendicular_to"
    value: Any = parallel_to if perpendicular_to is None else perpendicular_to
    d = flattened(read_direction(value, lead, where, name, dims), v, where, name)
    return d if perpendicular_to is not None else np.cross(v, d)


def flattened(d: Array, v: Array, where: str, what: str) -> Array:
    """The part of unit directions across v, unit again."""
    left = d - (d * v).sum(-1, keepdims=True) * v
    length = np.linalg.norm(left, axis=-1, keepdims=True)
    if not (length > 1e-9).all():
        raise InputError(where, what, "show across the direction it is seen along", "one along it", "Correct it.")
    unit: Array = left / length
    return unit


def _square(v: Array) -> Array:
    axis = np.eye(3)[np.abs(v).argmin(-1)]
    return flattened(axis, v, "", "")


def _backward(directions: Array, hint: Array | None) -> npt.NDArray[np.bool_]:
    """Which directions to flip: against `hint`, or with a negative largest coordinate."""
    if hint is not None:
        return np.asarray((directions * hint).sum(-1) < 0)
    largest = np.take_along_axis(directions, np.abs(directions).argmax(-1)[:, None], -1)[:, 0]
    return np.asarray(largest < 0)
