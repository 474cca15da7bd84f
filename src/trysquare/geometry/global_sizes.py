"""Global sizes of circles, spheres and cylinders: the size of an associated feature (ISO 14405-1; ASME Y14.5.1)."""

from collections.abc import Callable
from importlib import import_module
from typing import Any

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array, points
from ..core.errors import InputError
from .sections import in_axis_frame
from .sizes import MODIFIERS, Size, known, largest_gap, undefined

GLOBAL = ("GG", "GX", "GN", "GC")
SHAPES = ("cylinder", "circle", "sphere")
_STEMS = {"GG": "fit", "GX": "inscribed", "GN": "circumscribed", "GC": "zone"}
_HALF_TURN = np.pi * (1 - 1e-9)


def associated(shape: str, modifier: str) -> Callable[..., Any]:
    """The function that associates a `shape` by the criterion of a modifier."""
    function: Callable[..., Any] = getattr(import_module(__package__), f"{_STEMS[modifier]}_{shape}")
    return function


def global_size(
    points_mm: npt.ArrayLike, modifier: str, *, shape: str = "cylinder", direction: npt.ArrayLike | None = None,
    toward: npt.ArrayLike | None = None,
) -> Size:  # fmt: skip
    """Direct global size (...): the diameter of the associated feature.

    Parameters
    ----------
    points_mm : (..., n, 3) float, mm (circles also (..., n, 2)). Leading axes are trials.
    modifier : GG least squares, GX maximum inscribed, GN minimum circumscribed, GC minimax
    shape : "cylinder", "circle" or "sphere"
    direction : (3,), optional
        For cylinders: the axis is held parallel to it (a related envelope, say).
    toward : (3,), optional
        As `fit_cylinder`, `fit_circle`: chooses between cylinders that fit about as well.

    Returns
    -------
    Size. GX and GN are not defined where the points leave half a turn (of a sphere: half of it) or more free: the
    largest circle inside an arc has no end, the smallest around it is held by the two ends of the arc only.

    Raises
    ------
    InputError : another modifier or shape, or bad points.
    RankError, ConvergenceError : as `fit_cylinder`.

    Notes
    -----
    A portion size is the global size of the points of the portion.
    """
    known(modifier, GLOBAL, "global_size")
    if shape not in SHAPES:
        raise InputError("global_size", "the shape", f"be one of {', '.join(SHAPES)}", repr(shape), "Choose one.")
    flat = shape == "circle" and np.shape(points_mm)[-1:] == (2,)
    P = points(points_mm, where="global_size", dims=2 if flat else 3)
    hints: dict[str, Any] = {} if flat or shape == "sphere" else {"toward": toward}
    if shape == "cylinder" and direction is not None:
        hints["direction"] = direction
    if modifier in ("GX", "GN"):
        why = _not_held(P, shape, hints)
        if why:
            return undefined(modifier, P.shape[:-2], why)
    found = associated(shape, modifier)(P, **hints)
    return Size(
        modifier=modifier, size_mm=2 * np.asarray(found.radius_mm)[()],
        definition=MODIFIERS[modifier][1] + (", its axis along the given direction" if direction is not None else ""),
    )  # fmt: skip


def _not_held(P: Array, shape: str, hints: dict[str, Any]) -> str:
    """Why nothing holds an inscribed or circumscribed shape, from the first member of the batch; empty where it is."""
    first = P.reshape(-1, *P.shape[-2:])[0]
    fit = associated(shape, "GG")(first, **{k: v for k, v in hints.items() if k != "direction"})
    if shape == "sphere":
        if _around(first - fit.center_mm):
            return ""
        return "not defined here: the points lie within half of the sphere, and nothing on the other side holds it"
    if shape == "cylinder":
        across, _ = in_axis_frame(first, fit)
    else:
        across = first - fit.center_mm
        if fit.normal is not None:
            from ..core.frames import perpendicular

            across = across @ np.stack(perpendicular(fit.normal), -1)
    gap = float(largest_gap(np.arctan2(across[:, 1], across[:, 0])))
    if gap < _HALF_TURN:
        return ""
    return f"not defined here: the points leave {np.degrees(gap):.0f} degrees free, and nothing holds the other side"


def _around(d: Array) -> bool:
    """Whether directions (n, 3) lie on all sides: not within one half of the sphere."""
    from .exchange import least_largest

    unit = d / np.linalg.norm(d, axis=1, keepdims=True)
    found = least_largest(unit.T[None], np.zeros((1, len(unit))), box=1.0)
    return bool(found.levels[0] > -1e-9)
