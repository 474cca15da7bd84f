"""How much of a feature each point of an uneven scan stands for."""

from typing import Any

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array, points
from ...core.errors import InputError
from .area_maps import MAPS, Sheet

_OPEN = np.pi / 2  # a gap of a quarter turn or more is an opening, not a gap in the measuring
_FLAT = np.radians(135)  # a triangle on the edge with a wider angle there is no part of the area
_PEELS = 8
_FEW = 20_000  # points that are copied by a whole turn over a seam; more of them by half a turn
Faces = npt.NDArray[np.int64]


def area_weights(points_mm: npt.ArrayLike, *, shape: str = "plane") -> Array:
    """Weights (n,), mean 1, in proportion to the area (of a line or circle the length) that each point stands for.

    Parameters
    ----------
    points_mm : (n, 3) float, or (n, 2) of a line or circle in a plane, mm
        One scan; use the same weights for all draws of it.
    shape : "line", "plane", "circle", "sphere", "cylinder", "cone" or "torus"
        The feature that the points are of: its unweighted fit gives the surface on which the area is measured.

    Returns
    -------
    weights (n,), for `weights` of the fits. Points at one place share what one of them would have.

    Raises
    ------
    InputError : no such shape, more than one set, or what the fit refuses. RankError, ConvergenceError : as the fit.

    Notes
    -----
    Method: the points are laid out in the feature's own surface coordinates (conformal ones on cone and torus, the
    convex hull on a sphere), joined to triangles (Delaunay), and each gets its Voronoi part of the triangles about it,
    as these lie on the surface, obtuse ones shared as in M. Meyer et al., Discrete differential-geometry operators for
    triangulated 2-manifolds (2003), 3.3. Where a feature closes on itself the seam is closed; a gap of a quarter turn
    or more counts as an opening.

    Ends and edges: a point there stands for as much beyond the edge as within: its part is scaled by a full turn over
    the angle that its triangles fill (along a line or arc, the end's half gap counts twice). So an even scan has even
    weights. Triangles along an edge with an angle above 135 degrees are left out: the edge runs through that point.
    The rest of the hull is shared out whole: points around a hole or bay share its area.
    """
    where = "area_weights"
    if shape not in MAPS:
        raise InputError(where, "shape", f"be one of {', '.join(MAPS)}", f'"{shape}"', "Name the feature.")
    flat = np.shape(points_mm)[-1:] == (2,) and shape in ("line", "circle")
    P = points(points_mm, dims=2 if flat else 3, where=where)
    if P.ndim != 2:
        raise InputError(
            where, "the points", "be one set (n, 3)", f"shape {P.shape}", "Weigh one scan, and use that for its draws."
        )
    sheet = MAPS[shape](P)
    parts = _lengths(sheet) if sheet.places.shape[1] == 1 else _areas(sheet)
    return np.asarray(parts / parts.mean())


def _lengths(sheet: Sheet) -> Array:
    """Half the gaps to both neighbours along the curve."""
    x, period = sheet.places[:, 0], sheet.periods[0]
    where, back = np.unique(x, return_inverse=True)
    if len(where) < 2:
        return np.ones(len(x))
    gaps = np.diff(where)
    ends = [gaps[0], gaps[-1]]
    if period is not None:
        where, gaps = _opened(where, period)
        back = np.searchsorted(where, np.where(x < where[0], x + period, x))
        seam = period - (where[-1] - where[0])
        ends = [seam, seam] if seam < _OPEN else [gaps[0], gaps[-1]]
    part = 0.5 * (np.r_[ends[0], gaps] + np.r_[gaps, ends[1]])
    return np.asarray(part[back] / np.bincount(back, minlength=len(part))[back])


def _opened(where: Array, period: float) -> tuple[Array, Array]:
    """Sorted places with the widest gap left out of their middle, and the gaps left."""
    gaps = np.diff(where, append=where[0] + period)
    cut = int(gaps.argmax())
    if gaps[cut] < _OPEN:
        return where, gaps[:-1]
    moved = np.r_[where[cut + 1 :], where[: cut + 1] + period]
    return moved, np.diff(moved)


def _areas(sheet: Sheet) -> Array:
    """Voronoi parts of the triangles about each point, scaled by a full turn over the angle that they fill."""
    n = len(sheet.on_surface)
    faces, twins = _joined(sheet)
    area, angle = _parts(sheet.on_surface[faces % n])
    total = np.bincount(faces.ravel(), area.ravel(), minlength=n)[:n]
    filled = np.bincount(faces.ravel(), angle.ravel(), minlength=n)[:n]
    part = np.where(filled > 0, total * 2 * np.pi / np.where(filled > 0, filled, 1.0), 0.0)
    if len(twins):
        group = np.arange(n)
        group[twins[:, 0]] = group[twins[:, 1]]
        part = (np.bincount(group, part, minlength=n) / np.maximum(np.bincount(group, minlength=n), 1))[group]
    return part


def _joined(sheet: Sheet) -> tuple[Faces, Faces]:
    """Triangles (f, 3) of points, those of copies beyond a seam counted on by n, and pairs (point, its twin)."""
    from scipy.spatial import ConvexHull, Delaunay, QhullError

    places, n = sheet.places, len(sheet.places)
    try:
        if places.shape[1] == 3:
            return _on_ball(ConvexHull(places), n)
        copies, of = _with_copies(places, sheet.periods)
        mesh = Delaunay(copies)
    except QhullError as error:
        raise InputError(
            "area_weights", "the points", "spread over an area", "points that no triangle joins", "Measure more points."
        ) from error
    simplices = _peeled(mesh.simplices.astype(np.int64), copies)
    faces = np.where(simplices < n, simplices, n + of[simplices])
    faces = faces[(faces < n).any(1)]
    twins = of[mesh.coplanar[:, [0, 2]]]
    return faces, twins[mesh.coplanar[:, 0] < n].astype(np.int64)


def _on_ball(hull: Any, n: int) -> tuple[Faces, Faces]:
    """Faces of the hull of directions, less those across an opening; points inside it go with the nearest one."""
    faces = hull.simplices
    rise = np.clip(-hull.equations[:, 3], -1.0, 1.0)  # cosine of the angle from a face's pole to its corners
    faces = _peeled(faces[2 * np.arccos(rise) < _OPEN].astype(np.int64), hull.points)
    out = np.setdiff1d(np.arange(n), hull.vertices)
    if not len(out):
        return faces, np.empty((0, 2), np.int64)
    from scipy.spatial import KDTree

    nearest = hull.vertices[KDTree(hull.points[hull.vertices]).query(hull.points[out])[1]]
    return faces, np.column_stack([out, nearest]).astype(np.int64)


def _peeled(faces: Faces, places: Array) -> Faces:
    """The triangles less those along an edge that are all but flat: the edge runs through their third corner."""
    for _ in range(_PEELS):
        sides = np.sort(np.stack([faces[:, [1, 2]], faces[:, [2, 0]], faces[:, [0, 1]]], 1), -1)
        _, back, count = np.unique(sides[..., 0] * len(places) + sides[..., 1], return_inverse=True, return_counts=True)
        at, corner = np.nonzero(count[back].reshape(-1, 3) == 1)
        tip, one, other = (places[faces[at, (corner + i) % 3]] for i in range(3))
        along, across = (one - tip), (other - tip)
        wide = (along * across).sum(1) < np.cos(_FLAT) * np.linalg.norm(along, axis=1) * np.linalg.norm(across, axis=1)
        if not wide.any() or len(np.unique(at[wide])) == len(faces):
            break
        faces = np.delete(faces, at[wide], 0)
    return faces


def _with_copies(places: Array, periods: tuple[float | None, ...]) -> tuple[Array, npt.NDArray[np.int64]]:
    """Places with those near a closed seam copied to its other side (opened where they do not close), and whose."""
    out, of = places, np.arange(len(places))
    for axis, period in enumerate(periods):
        if period is None:
            continue
        x = out[:, axis] % period
        ordered, gaps = _opened(np.unique(x), period)
        out = out.copy()
        out[:, axis] = np.where(x < ordered[0], x + period, x)
        if len(gaps) and period - (ordered[-1] - ordered[0]) >= _OPEN * period / (2 * np.pi):
            continue
        reach = period if len(places) <= _FEW else period / 2
        start = ordered[0]
        low, high = out[:, axis] - start < reach, out[:, axis] - start >= period - reach
        before, after = out[high].copy(), out[low].copy()
        before[:, axis] -= period
        after[:, axis] += period
        out, of = np.concatenate([out, before, after]), np.concatenate([of, of[high], of[low]])
    return out, of


def _parts(corners: Array) -> tuple[Array, Array]:
    """Part of its area (f, 3) that each corner of a triangle (f, 3, 3) gets, and its angle there."""
    a = corners[:, [1, 2, 0]] - corners
    b = corners[:, [2, 0, 1]] - corners
    cross = np.linalg.norm(np.cross(a, b), axis=-1)
    dot = (a * b).sum(-1)
    angle = np.arctan2(cross, dot)
    whole = 0.5 * cross[:, :1]
    with np.errstate(divide="ignore", invalid="ignore"):
        cot = dot / cross
        opposite_b, opposite_a = cot[:, [1, 2, 0]], cot[:, [2, 0, 1]]
        voronoi = 0.125 * ((b * b).sum(-1) * opposite_b + (a * a).sum(-1) * opposite_a)
    obtuse = (dot < 0).any(1)[:, None]
    shared = np.where(dot < 0, 0.5, 0.25) * whole
    area = np.where(obtuse, shared, voronoi)
    return np.where(np.isfinite(area), area, 0.0), angle
