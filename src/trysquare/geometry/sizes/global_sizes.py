"""Global sizes of circles, spheres and cylinders: the size of an associated feature (ISO 14405-1; ASME Y14.5.1)."""

from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array, points
from ...core.errors import InputError
from ...core.frames import perpendicular
from ..least_squares.linear import fit_plane
from .results import MODIFIERS, Size, known, largest_gap, least_proven, undefined
from .sections import in_axis_frame

GLOBAL = ("GG", "GX", "GN", "GC")
SHAPES = ("cylinder", "circle", "sphere")
_STEMS = {"GG": "fit", "GX": "inscribed", "GN": "circumscribed", "GC": "zone"}
_ALONG = np.cos(np.pi / 4)  # an axis that leans further is another cylinder
_ACROSS = "not defined here: the cylinder that holds the points leans by more than 45 degrees from the axis expected"
_FEW = 8
_HALF_TURN = np.pi * (1 - 1e-9)


def associated(shape: str, modifier: str) -> Callable[..., Any]:
    """The function that associates a `shape` by the criterion of a modifier."""
    from ..least_squares import round_shapes
    from ..zones import circumscribed, inscribed, zone_round

    home = {"GG": round_shapes, "GX": inscribed, "GN": circumscribed, "GC": zone_round}[modifier]
    function: Callable[..., Any] = getattr(home, f"{_STEMS[modifier]}_{shape}")
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
        As `fit_cylinder`, `fit_circle`: chooses between cylinders that fit about as well. Without it a cylinder lies
        along the least-squares one of the first member.

    Returns
    -------
    Size. GX and GN are not defined where the points leave half a turn (of a sphere: half of it) or more free: the
    largest circle inside an arc has no end, the smallest around it is held by the two ends of the arc only. Nor where
        the only answer leans by more than 45 degrees from `toward`: a shell may go into a smaller cylinder sideways.

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
    elif shape == "cylinder" and modifier != "GG" and toward is None:
        hints["toward"] = _first_fitted(P, "cylinder", {})[1].direction
    if modifier in ("GX", "GN"):
        why = _not_held(P, shape, hints)
        if why:
            return undefined(modifier, P.shape[:-2], why)
    found = associated(shape, modifier)(P, **hints)
    size = 2 * np.asarray(found.radius_mm)
    if shape == "cylinder" and modifier != "GG":
        across = ~(np.abs(np.asarray(found.direction) @ _unit(hints.get("direction", hints["toward"]))) > _ALONG)
        if bool(np.all(across)):
            return undefined(modifier, P.shape[:-2], _ACROSS)
        size = np.where(across, np.nan, size)
    return Size(
        modifier=modifier, size_mm=size[()],
        definition=MODIFIERS[modifier][1] + (", its axis along the given direction" if direction is not None else ""),
        proof="" if modifier == "GG" else least_proven(found.certificate.kind),
    )  # fmt: skip


def _unit(axis: npt.ArrayLike) -> Array:
    v = np.asarray(axis, dtype=np.float64)
    return v / np.linalg.norm(v)


def _not_held(P: Array, shape: str, hints: dict[str, Any]) -> str:
    """Why nothing holds an inscribed or circumscribed shape, from the first member of the batch; empty where it is."""
    if shape == "sphere":
        first, ball = _first_fitted(P, shape, {})
        if _around(first - ball.center_mm):
            return ""
        return "not defined here: the points lie within half of the sphere, and nothing on the other side holds it"
    if shape == "cylinder" and "direction" not in hints:
        across, _ = in_axis_frame(*_first_fitted(P, shape, hints))
    else:
        first, circle = _first_fitted(_flat(P, hints), "circle", {})
        across = first - circle.center_mm
    gap = float(largest_gap(np.arctan2(across[:, 1], across[:, 0])))
    if gap < _HALF_TURN:
        return ""
    return f"not defined here: the points leave {np.degrees(gap):.0f} degrees free, and nothing holds the other side"


def _flat(P: Array, hints: dict[str, Any]) -> Array:
    """Points (..., n, 2) seen along the given direction, or the normal of the first member's least-squares plane."""
    if P.shape[-1] == 2:
        return P
    axis = hints["direction"] if "direction" in hints else _first_fitted(P, "plane", {})[1].normal
    return (P - P.mean(-2, keepdims=True)) @ np.stack(perpendicular(_unit(axis)), -1)


def _first_fitted(P: Array, shape: str, hints: dict[str, Any]) -> tuple[Array, Any]:
    """The first member (n, d) of a batch that can be fitted by least squares, of the first few, and its fit."""
    fit = fit_plane if shape == "plane" else associated(shape, "GG")
    if P.ndim == 2:
        return P, fit(P, **hints)
    few = P.reshape(-1, *P.shape[-2:])[:_FEW]
    found = fit(few, **hints)
    i = int(np.flatnonzero(found.ok)[0])
    values = {name: getattr(found, name) for name in found.PARAMETERS}
    return few[i], SimpleNamespace(**{name: value[i] for name, value in values.items() if value is not None})


def _around(d: Array) -> bool:
    """Whether directions (n, 3) lie on all sides: not within one half of the sphere."""
    from ..zones.exchange import least_largest

    unit = d / np.linalg.norm(d, axis=1, keepdims=True)
    found = least_largest(unit.T[None], np.zeros((1, len(unit))), box=1.0)
    return bool(found.levels[0] > -1e-9)
