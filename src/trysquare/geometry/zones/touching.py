"""Round zones and touching shapes of any kind: circles in a plane or in space, spheres, cylinders free or held.

A circle in space lies in the plane across a given normal, or across that of the least-squares plane; a cylinder along a
given direction is the circle of the points seen along it.
"""

import numpy as np
import numpy.typing as npt

from ...core.errors import InputError
from ..axes import read_toward, turned
from ..kernels.round_state import BALL, DISC, TUBE
from .results import ZoneFit
from .round_fit import across, associate, axis_point, members, own_plane, read, refuse_flat

Points = npt.ArrayLike
Axis = npt.ArrayLike | None


def circle(mode: int, points_mm: Points, normal: Axis, toward: Axis, least: int, where: str) -> ZoneFit:
    """The circle of any kind: in a plane as it is, in space within the plane across `normal` or of least squares."""
    if refuse_flat(points_mm, where, normal=normal, toward=toward):
        given = read(points_mm, least, where, dims=2)
        found = associate(DISC, mode, given, where)
        return found.fields(given.lead, center_mm=(given.base + found.solved.states[:, :3])[:, :2])
    given = read(points_mm, least, where)
    hint = read_toward(toward, given.lead, where)
    if normal is None:
        plane, bad = own_plane(given, hint, where)
    else:
        plane, bad = across(given, normal, "normal", where), np.zeros(len(given.P), bool)
    flat = members(plane.flat(given.P), given.lead)
    found = associate(DISC, mode, flat, where)
    found.support.add(bad, "span a plane", "points on one line", "Add points off that line.", np.zeros(len(bad)), 1e-6)
    found.support.raise_if_none_left()
    centre = plane.lifted((flat.base + found.solved.states[:, :3])[:, :2])
    w = plane.w if hint is None else turned(plane.w, hint)
    return found.fields(given.lead, center_mm=centre, normal=np.array(w))


def sphere(mode: int, points_mm: Points, least: int, where: str) -> ZoneFit:
    """The sphere of any kind."""
    given = read(points_mm, least, where)
    found = associate(BALL, mode, given, where)
    return found.fields(given.lead, center_mm=given.base + found.solved.states[:, :3])


def cylinder(
    mode: int, points_mm: Points, direction: Axis, toward: Axis, least: int,
    where: str, *, diameter: bool = False, whole: bool = False,
) -> ZoneFit:  # fmt: skip
    """The cylinder of any kind, free or along `direction`: then it is a circle of the points seen along it."""
    given = read(points_mm, least, where)
    hint = read_toward(toward, given.lead, where)
    if whole and given.lead:
        raise InputError(
            where, "points for a proof over all axes", "be one set", f"a batch of shape {given.lead}",
            "Ask for one at a time, or leave out whole.",
        )  # fmt: skip
    if direction is None:
        found = associate(TUBE, mode, given, where, hint, whole)
        point, axes = axis_point(found.solved, given), found.solved.states[:, 9:12]
    else:
        plane = across(given, direction, "direction", where)
        flat = members(plane.flat(given.P), given.lead)
        found = associate(DISC, mode, flat, where)
        point, axes = plane.lifted((flat.base + found.solved.states[:, :3])[:, :2]), plane.w
    axes = np.array(axes) if direction is not None and hint is None else turned(axes, hint)
    return found.fields(given.lead, diameter=diameter, point_mm=point, direction=axes)
