"""Minimum zone of a plane: flatness as the part standards mean it, free or held to a direction."""

from typing import Any

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.errors import InputError
from ..axes import read_toward, turned
from .fixed_zone import fixed_zone
from .flat import PROOF, Solved, read_direction, read_points, refuse
from .reduce import solve
from .results import ZoneFit, certified, lead_again, turn_over

_UP = np.array([[0.0, 0.0, 1.0]])


def flatness(points_mm: npt.ArrayLike) -> Array:
    """Width (...) of the minimum zone of points (..., n, 3), NaN for a draw without: see `minimum_zone_plane`.

    The same digits, without residuals and certificate: for many draws the quicker way.
    """
    P, lead = read_points(points_mm, least=3, dims=3, where="flatness")
    solved = solve(P, _UP, whole=False)
    refuse(solved, P, "flatness", "plane")
    width: Array = lead_again({"width_mm": solved.widths}, lead, solved.failed)["width_mm"]
    return width


def minimum_zone_plane(
    points_mm: npt.ArrayLike,
    *,
    toward: npt.ArrayLike | None = None,
    parallel_to: npt.ArrayLike | None = None,
    perpendicular_to: npt.ArrayLike | None = None,
) -> ZoneFit:
    """Find the two parallel planes, nearest to one another, that hold the points between them (ISO 1101, flatness).

    Parameters
    ----------
    points_mm : (..., n, 3) float, n >= 3, finite
        Points in one frame, mm. Leading axes are trials.
    toward : (3,) or (..., 3), optional
        The normal is flipped to have no negative product with it.
    parallel_to : (3,) or (..., 3), optional
        The planes stay parallel to this direction (perpendicularity of a plane to the plane that has it as its normal).
    perpendicular_to : (3,) or (..., 3), optional
        The planes stay square to this direction (parallelism; perpendicularity to an axis).

    Returns
    -------
    ZoneFit
        `point_mm` of the middle plane, under the middle of the points, and `normal`; residuals from the middle plane.

    Raises
    ------
    InputError : as `core.arrays.points`; a direction that is none; both directions at once.
    RankError : points that coincide, or on one line (no member of a batch can be solved).

    Notes
    -----
    Method: exact linear Chebyshev fit, solved on its dual (E. Stiefel, Numerische Mathematik 1, 1959), turned to its
    own normal and solved again until its width meets the bound. Points that are flat (contacts that spread further than
    the zone is wide) are proven the smallest of all by their contacts alone; for others all directions are searched
    and covered. Large sets are read in blocks, and only points that can matter are kept: the answer is that of all.
    Checked: tests/unit/test_zone_plane.py, tests/reference/test_zone_made_backwards.py.
    """
    where = "minimum_zone_plane"
    P, lead = read_points(points_mm, least=3, dims=3, where=where)
    hint = read_toward(toward, lead, where)
    if parallel_to is not None and perpendicular_to is not None:
        raise InputError(
            where, "the direction", "be one of parallel_to and perpendicular_to", "both", "Leave one of them out."
        )
    if perpendicular_to is not None:
        return fixed_zone(P, read_direction(perpendicular_to, lead, where, "perpendicular_to"), lead, hint, where)
    across = None if parallel_to is None else read_direction(parallel_to, lead, where, "parallel_to")
    start = _UP if across is None else square_to(across)
    solved = solve(P, start, across=across)
    refuse(solved, P, where, "plane" if across is None else "line")
    return zone_fit(solved, lead, hint)


def square_to(directions: Array) -> Array:
    """Unit vectors (m, 3) square to these (m, 3)."""
    axis = np.eye(3)[np.abs(directions).argmin(-1)]
    out = axis - (axis * directions).sum(-1, keepdims=True) * directions
    unit: Array = out / np.linalg.norm(out, axis=-1, keepdims=True)
    return unit


def zone_fit(solved: Solved, lead: tuple[int, ...], hint: Array | None) -> ZoneFit:
    """The result of a zone between planes, its normal turned as wanted."""
    normals = turned(solved.normals, hint)
    flipped = (normals * solved.normals).sum(-1) < 0
    fields: dict[str, npt.NDArray[Any]] = solved.fields()
    turn_over(fields["residuals_mm"], flipped)
    fields["sides"][flipped] *= -1
    out = lead_again({**fields, "point_mm": solved.points, "normal": normals}, lead, solved.failed)
    names = ("width_mm", "residuals_mm", "iterations", "stopped", "point_mm", "normal")
    return ZoneFit(certificate=certified(out, PROOF), **{name: out[name] for name in names})
