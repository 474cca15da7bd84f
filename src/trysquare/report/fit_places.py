"""Where the points of a fit lie on their shape: along, around and across it, in the shape's own frame."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array
from ..geometry.association import Association

_PARALLEL = 0.95  # cosine above which the x axis gives no direction across


@dataclass(frozen=True)
class Frame:
    """Unit vectors u, v across the axis w; `toward` is the coordinate axis that u leans to."""

    u: Array
    v: Array
    w: Array
    toward: str


def frame(axis: Array) -> Frame:
    """The frame about an axis: u the part of x across it (of y where x runs along it)."""
    w = axis / np.linalg.norm(axis)
    k = 0 if abs(w[0]) < _PARALLEL else 1
    u = np.eye(3)[k] - w[k] * w
    u /= np.linalg.norm(u)
    return Frame(u, np.cross(w, u), w, "xy"[k])


def spatial(points: Array) -> Array:
    """Points (n, 3); those of a plane get z = 0."""
    return points if points.shape[1] == 3 else np.column_stack([points, np.zeros(len(points))])


@dataclass(frozen=True)
class Around:
    """Cylindrical coordinates about an axis: angle (n) rad from u, distance from it (n), height (n), mm."""

    frame: Frame
    angle: Array
    distance: Array
    height: Array


def around(a: Association) -> Around:
    """The points about the axis or normal of the shape; about z for points in a plane."""
    p = a.parameters
    flat = a.points_mm.shape[1] == 2
    axis = np.array([0.0, 0.0, 1.0]) if flat else p["direction"] if "direction" in p else p["normal"]
    origin = p["point_mm"] if "point_mm" in p else p["center_mm"]
    f = frame(np.asarray(axis))
    d = spatial(a.points_mm) - spatial(np.atleast_2d(origin))
    x, y = d @ f.u, d @ f.v
    return Around(f, np.arctan2(y, x), np.hypot(x, y), d @ f.w)


def across_tube(a: Association) -> tuple[Array, Array]:
    """Of a torus: the angle about its axis and the angle round the tube (0 outermost, 90 deg towards the axis)."""
    s = around(a)
    return s.angle, np.arctan2(s.height, s.distance - float(a.parameters["major_radius_mm"]))


def in_plane(a: Association) -> tuple[Array, Array, Frame]:
    """Coordinates (n) of the points in their plane, the longer way first, and the plane's frame."""
    origin, w = a.parameters["point_mm"], np.asarray(a.parameters["normal"])
    d = a.points_mm - origin
    f = frame(w)
    flat = np.column_stack([d @ f.u, d @ f.v])
    along = np.linalg.eigh(np.cov(flat.T))[1][:, 1]
    along = along * np.sign(along[np.abs(along).argmax()])
    u = along[0] * f.u + along[1] * f.v
    f = Frame(u, np.cross(w, u), w, "")
    return d @ f.u, d @ f.v, f


def along_line(a: Association) -> tuple[Array, Array]:
    """Of a line: where (n) the points lie along it, and (n, 2) or (n, 1) how far across."""
    origin, w = a.parameters["point_mm"], np.asarray(a.parameters["direction"])
    d = a.points_mm - origin
    if len(w) == 2:
        return d @ w, (d @ np.array([-w[1], w[0]]))[:, None]
    f = frame(w)
    return d @ w, np.column_stack([d @ f.u, d @ f.v])


def from_pole(a: Association) -> tuple[Array, Array]:
    """Of a sphere: unit directions (n, 3) from the centre in a frame with w along their mean; the angle (n) from w."""
    d = a.points_mm - a.parameters["center_mm"]
    unit = d / np.linalg.norm(d, axis=1)[:, None]
    mean = unit.mean(0)
    f = frame(mean if np.linalg.norm(mean) > 0.05 else np.array([0.0, 0.0, 1.0]))
    local = unit @ np.array([f.u, f.v, f.w]).T
    return local, np.arccos(np.clip(local[:, 2], -1, 1))


def span(angle: Array) -> float:
    """How much (rad) of a full turn the angles cover: the turn less the widest gap."""
    ordered = np.sort(angle)
    return float(2 * np.pi - np.diff(ordered, append=ordered[0] + 2 * np.pi).max())


def unwrapped(angle: Array) -> Array:
    """Angles (n) made continuous from the far side of their widest gap on, about their own middle."""
    ordered = np.sort(angle)
    gaps = np.diff(ordered, append=ordered[0] + 2 * np.pi)
    start = ordered[(int(gaps.argmax()) + 1) % len(ordered)]
    turned: Array = start + (angle - start) % (2 * np.pi)
    middle = (turned.min() + turned.max()) / 2
    return turned - 2 * np.pi * np.round(middle / (2 * np.pi))


def outer(xy: Array, most: int = 1500) -> npt.NDArray[np.int64]:
    """Indices of at most some `most` points that show a cloud: all of them, or every so many and the outermost."""
    if len(xy) <= most:
        return np.arange(len(xy))
    ends = []
    for turn in np.linspace(0, np.pi, 90, endpoint=False):
        reach = xy @ np.array([np.cos(turn), np.sin(turn)])
        ends += [reach.argmax(), reach.argmin()]
    return np.unique(np.r_[np.arange(0, len(xy), -(-len(xy) // most)), ends])
