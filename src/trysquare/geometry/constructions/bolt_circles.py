"""Bolt circle: the circle through the centres of holes, and how far each hole is off its place on it."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array, finite, points
from ...core.errors import InputError
from ...core.frames import cross, dot, perpendicular
from ..least_squares.results import CircleFit
from ..least_squares.round_shapes import fit_circle
from .elements import Circle


@dataclass(frozen=True, kw_only=True)
class BoltCircle:
    """`circle` through the centres; one entry (..., k) per hole, in the order given:

    `radial_mm` off the circle, positive outside; `axial_mm` off its plane (0 where the normal was given);
    `angles_rad` about the normal from the first hole, 0 to 2 pi; `angular_rad` off the wanted angle, once the pattern
    as a whole is turned to fit; `turn_rad` (...) that turn, of the wanted pattern from the first hole.
    """

    circle: Circle
    fit: CircleFit
    radial_mm: Array
    axial_mm: Array
    angles_rad: Array
    angular_rad: Array
    turn_rad: Array
    definition: str

    @property
    def along_mm(self) -> Array:
        """Angular deviations (..., k) as lengths of arc on the circle."""
        return self.angular_rad * np.asarray(self.circle.radius_mm)[..., None]


def bolt_circle(
    centers_mm: npt.ArrayLike, *, normal: npt.ArrayLike | None = None, wanted_rad: npt.ArrayLike | None = None,
    toward: npt.ArrayLike | None = None,
) -> BoltCircle:  # fmt: skip
    """Least-squares circle through hole centres, with the radial and angular deviation of each.

    Parameters
    ----------
    centers_mm : (..., k, 3) float, k >= 3, mm
        Centres of the holes, in one frame. Leading axes are trials.
    normal : (3,), optional
        Direction of the pattern's axis (a datum, say): the circle is fitted in its view. Without it plane and circle
        come from the centres.
    wanted_rad : (k,), optional
        Angles of the drawing, one per hole, counted about the normal. Without them the holes are equally spaced.
    toward : (3,), optional
        Side to which a fitted normal points; it sets the sense of the angles.

    Returns
    -------
    BoltCircle

    Raises
    ------
    InputError : wrong shapes, fewer than three holes, or a number that is not finite.
    RankError : holes that coincide or lie on one line, as `fit_circle`.

    Notes
    -----
    The wanted pattern is turned by the mean of the deviations (least squares of the angles), so they add up to 0.
    """
    P = points(centers_mm, at_least=3, where="bolt_circle")
    fit, center, axis = _fitted(P, normal, toward)
    d = P - center[..., None, :]
    first = d[..., :1, :] - dot(d[..., :1, :], axis[..., None, :])[..., None] * axis[..., None, :]
    left = cross(np.broadcast_to(axis[..., None, :], first.shape), first)
    angles = np.mod(np.arctan2(dot(d, left), dot(d, first)), 2 * np.pi)
    angles[..., 0] = 0.0
    wanted = _wanted(angles, wanted_rad, P.shape[-2])
    off = np.angle(np.exp(1j * (angles - wanted)))
    off = np.angle(np.exp(1j * (off - off[..., :1])))  # near one another, whatever the start of the drawing's angles
    turn = off.mean(-1, keepdims=True)
    axial = fit.axial_mm if fit.axial_mm is not None else np.zeros(P.shape[:-1])
    return BoltCircle(
        circle=Circle(center_mm=center, normal=axis, radius_mm=fit.radius_mm), fit=fit, radial_mm=fit.radial_mm,
        axial_mm=axial, angles_rad=angles, angular_rad=off - turn, turn_rad=turn[..., 0][()],
        definition="least-squares circle of the centres" + (" in the view along the given axis" if normal is not None
        else ""),
    )  # fmt: skip


def _fitted(P: Array, normal: npt.ArrayLike | None, toward: npt.ArrayLike | None) -> tuple[CircleFit, Array, Array]:
    """The fit, its centre (..., 3) and unit axis (..., 3)."""
    if normal is None:
        fit = fit_circle(P, toward=toward)
        if fit.normal is None:
            raise InputError("bolt_circle", "the centres", "lie in space", "two coordinates", "Give three.")
        return fit, fit.center_mm, fit.normal
    n = finite(np.asarray(normal, dtype=np.float64), where="bolt_circle: normal")
    if n.shape != (3,) or not np.abs(n).max() > 0:
        raise InputError("bolt_circle", "the normal", "be one direction (3,)", f"shape {n.shape}", "Give the axis.")
    n = n / np.linalg.norm(n)
    u, v = perpendicular(n)
    middle = P.mean(-2)
    fit = fit_circle((P - middle[..., None, :]) @ np.stack([u, v], -1))
    center = middle + fit.center_mm @ np.stack([u, v])
    return fit, center, np.broadcast_to(n, center.shape)


def _wanted(angles: Array, wanted_rad: npt.ArrayLike | None, k: int) -> Array:
    """Wanted angles (k,) or (..., k)."""
    if wanted_rad is not None:
        wanted = finite(np.asarray(wanted_rad, dtype=np.float64), where="bolt_circle: wanted angles")
        if wanted.shape != (k,):
            raise InputError(
                "bolt_circle", "the wanted angles", f"be one per hole, {k}", f"shape {wanted.shape}", "Give (k,)."
            )
        return wanted
    rank = np.argsort(np.argsort(angles, axis=-1, kind="stable"), axis=-1, kind="stable")
    return np.asarray(rank * (2 * np.pi / k), dtype=np.float64)
