"""One door to all associations: a shape, a method, and which function answers with which options."""

import importlib
import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array, finite
from ..core.errors import InputError
from .least_squares.results import ConeFit, Fit
from .least_squares.uncertainty import ParameterU, parameter_u
from .zones.results import Certificate

#: Shape, then method, then how many coordinates a point has: the function of this package that answers.
WAYS: dict[str, dict[str, dict[int, str]]] = {
    "line": {
        "least-squares": {2: "fit_line", 3: "fit_line"},
        "minimum-zone": {2: "zone_line", 3: "zone_axis"},
        "one-sided": {2: "tangent_line"},
    },
    "plane": {
        "least-squares": {3: "fit_plane"},
        "minimum-zone": {3: "minimum_zone_plane"},
        "one-sided": {3: "tangent_plane"},
    },
    "circle": {
        "least-squares": {2: "fit_circle", 3: "fit_circle"},
        "minimum-zone": {2: "zone_circle", 3: "zone_circle"},
        "largest-inscribed": {2: "inscribed_circle", 3: "inscribed_circle"},
        "smallest-circumscribed": {2: "circumscribed_circle", 3: "circumscribed_circle"},
    },
    "sphere": {
        "least-squares": {3: "fit_sphere"},
        "minimum-zone": {3: "zone_sphere"},
        "largest-inscribed": {3: "inscribed_sphere"},
        "smallest-circumscribed": {3: "circumscribed_sphere"},
    },
    "cylinder": {
        "least-squares": {3: "fit_cylinder"},
        "minimum-zone": {3: "zone_cylinder"},
        "largest-inscribed": {3: "inscribed_cylinder"},
        "smallest-circumscribed": {3: "circumscribed_cylinder"},
        "one-sided": {3: "circumscribed_cylinder"},
    },
    "cone": {
        "least-squares": {3: "fit_cone"},
    },
    "torus": {
        "least-squares": {3: "fit_torus"},
    },
}  # fmt: skip
METHODS = ("least-squares", "minimum-zone", "largest-inscribed", "smallest-circumscribed", "one-sided")
#: Parameters that a shape has, of points in space and of points in a plane.
FREEDOMS = {
    "line": {2: 2, 3: 4}, "plane": {3: 3}, "circle": {2: 3, 3: 6}, "sphere": {3: 4}, "cylinder": {3: 5},
    "cone": {3: 6}, "torus": {3: 7},
}  # fmt: skip
_WHERE = "associate"
_SHAFT = (
    "One-sided from outside, as for a shaft: the smallest circumscribed cylinder. For a bore take largest-inscribed."
)
_FAR = 1e15  # mm, coordinates beyond which no last digit is left
_SMALL, _LARGE = 1.0, 1e5  # mm, extent of points below and above which the unit is doubted


@dataclass(frozen=True, kw_only=True)
class Association:
    """A shape associated with one set of points, whatever the method.

    `points_mm` (n, d) as they were associated; `parameters` by name; `form_mm` the width of the zone; `residuals_mm`
    (n); `rank` counts the parameters that the points fix; `certificate` proves a zone or a touching shape, None of
    least squares; `told` is the uncertainty of the parameters, None where there is none; `set_aside` the indices of
    points that a robust loss gave no say; `kept` (n) which of the points given these are, where a filter left some out;
    `filtered` says how they were filtered; `notes` what a reader should know. `fit` is what the function gave back.
    """

    shape: str
    method: str
    points_mm: Array
    parameters: Mapping[str, Array]
    form_mm: float
    residuals_mm: Array
    sum_of_squares_mm2: float
    rank: int
    stopped: str
    certificate: Certificate | None
    told: ParameterU | None
    set_aside: npt.NDArray[np.int64]
    kept: npt.NDArray[np.int64]
    filtered: str | None
    notes: tuple[str, ...]
    fit: Any


def function(shape: str, method: str, dims: int = 3) -> Callable[..., Any]:
    """The function that associates `shape` with points of `dims` coordinates by `method`.

    Raises
    ------
    InputError : no such shape, or no such method for it; says which there are.
    """
    if shape not in WAYS:
        raise InputError(_WHERE, "the shape", f"be one of {', '.join(WAYS)}", f'"{shape}"', "Choose one of them.")
    if method not in WAYS[shape]:
        raise InputError(
            _WHERE, "the method", f"be {_either(WAYS[shape])} for a {shape}", f'"{method}"', _instead(shape, method)
        )
    names = WAYS[shape][method]
    if dims not in names:
        have, need = ("x and y", "x, y and z") if dims == 2 else ("x, y and z", "x and y")
        raise InputError(_WHERE, "the points", f"have {need} for this", have, "Give points of that kind.")
    found: Callable[..., Any] = getattr(importlib.import_module(__package__), names[dims])
    return found


def options(shape: str, method: str, dims: int = 3) -> tuple[str, ...]:
    """The options that `function(shape, method, dims)` takes, by name."""
    kinds = inspect.signature(function(shape, method, dims)).parameters.values()
    return tuple(p.name for p in kinds if p.kind is inspect.Parameter.KEYWORD_ONLY)


def associate(
    points_mm: npt.ArrayLike, *, shape: str, method: str = "least-squares", u_mm: float | None = None,
    filtering: Mapping[str, Any] | None = None, alike: bool = False, **given: Any,
) -> Association:  # fmt: skip
    """Associate a shape with one set of points.

    Parameters
    ----------
    points_mm : (n, 3) float, or (n, 2) for a line or circle in a plane, mm
    shape, method : keys of `WAYS`
    u_mm : standard uncertainty of a point, mm, for that of the parameters; without it from the residuals
    filtering : `kind`, and `cutoff_upr` or `cutoff_mm`: filter the points first, as `filter_points`
    alike : weights say nothing of how well a point is known, as weights by area: see `parameter_u`
    **given : options of the function that answers (`options` names them); None counts as not given. For one-sided
        planes and lines `toward` stands for `outward`. A proof over all axes (`whole`) is asked for where there is one.

    Returns
    -------
    Association

    Raises
    ------
    InputError : no such shape, method or option; u_mm not above 0; what the function refuses.
    RankError, ConvergenceError : as the function.
    """
    P = finite(np.asarray(points_mm, dtype=np.float64), where=_WHERE)
    if P.ndim != 2 or P.shape[1] not in (2, 3):
        raise InputError(_WHERE, "the points", "be one set (n, 3) or (n, 2)", f"{P.shape}", "Call the function itself.")
    if not np.abs(P).max(initial=0.0) < _FAR:
        raise InputError(
            _WHERE, "the points", f"lie within {_FAR:g} mm", f"{np.abs(P).max():g} mm", "Correct the unit."
        )
    call = function(shape, method, P.shape[1])
    asked = {name: value for name, value in given.items() if value is not None}
    known = options(shape, method, P.shape[1])
    if "toward" in asked and "outward" in known:
        asked["outward"] = asked.pop("toward")
    if "whole" in known:
        asked.setdefault("whole", True)
    _check(asked, shape, method, P.shape[1])
    Q, kept, said, notes = _filtered(P, shape, filtering)
    if np.ndim(asked.get("weights", "")):
        asked["weights"] = np.asarray(asked["weights"])[kept]
    fit = call(Q, **asked)
    remarks = (_SHAFT,) if (shape, method) == ("cylinder", "one-sided") else ()
    told = {"kept": kept, "filtered": said, "notes": (*_notes(P), *notes, *remarks)}
    return _told(Q, shape, method, fit, u_mm, alike=alike, held=_taken(asked, shape, P.shape[1]), told=told)


def _filtered(
    P: Array, shape: str, filtering: Mapping[str, Any] | None
) -> tuple[Array, npt.NDArray[np.int64], str | None, tuple[str, ...]]:
    if filtering is None:
        return P, np.arange(len(P)), None, ()
    from .filtered import filter_points

    done = filter_points(P, shape, **filtering)
    left = len(P) - len(done.kept)
    out = (f"{left} points that an end or edge touches were left out.",) if left else ()
    return done.points_mm, done.kept, done.method, (*done.notes, *out)


def _taken(asked: Mapping[str, Any], shape: str, dims: int) -> int:
    """How many parameters the options hold."""
    turns = {"direction": 2, "normal": 2, "perpendicular_to": 2 if shape == "plane" else 1,
             "parallel_to": 1 if shape == "plane" else 2}  # fmt: skip
    return sum(min(turns.get(name, 0), dims - 1) for name in asked)


def _check(asked: Mapping[str, Any], shape: str, method: str, dims: int) -> None:
    known = options(shape, method, dims)
    for name, value in asked.items():
        if name not in known:
            raise InputError(
                _WHERE, name, f"be left out for a {shape} by {method}", f"{value}",
                f"What there is: {', '.join(known) or 'no option'}.",
            )  # fmt: skip


def _told(
    P: Array, shape: str, method: str, fit: Any, u_mm: float | None, *, alike: bool, held: int, told: Mapping[str, Any]
) -> Association:
    from .least_squares.cone_apex import with_apex

    least = isinstance(fit, Fit)
    known = least and (u_mm is not None or fit.freedom > 0)
    spread = parameter_u(fit, u_mm=u_mm, alike=alike) if known else None
    values = {name: getattr(fit, name) for name in fit.PARAMETERS} if least else dict(fit.parameters)
    if isinstance(fit, ConeFit):
        values["apex_mm"] = fit.apex_mm
        spread = None if spread is None else with_apex(fit, spread)
    aside = getattr(fit, "set_aside", None)
    return Association(
        shape=shape, method=method, points_mm=P, parameters={k: v for k, v in values.items() if v is not None},
        form_mm=float(fit.form_mm), residuals_mm=fit.residuals_mm,
        sum_of_squares_mm2=float(fit.sum_of_squares_mm2 if least else np.square(fit.residuals_mm).sum()),
        rank=int(fit.rank) if least else FREEDOMS[shape][P.shape[1]] - held, stopped=str(fit.stopped),
        certificate=None if least else fit.certificate, told=spread,
        set_aside=np.flatnonzero(aside) if aside is not None else np.empty(0, np.int64), fit=fit,
        **{**told, "notes": (*told["notes"], *getattr(fit, "notes", ()))},
    )  # fmt: skip


def _notes(P: Array) -> tuple[str, ...]:
    extent = float(np.ptp(P, axis=0).max())
    if extent < _SMALL:
        return (f"The points reach over {extent:.3g} mm only: if that should be metres, say so in the header, x [m].",)
    if extent > _LARGE:
        return (f"The points reach over {extent:.3g} mm: if that should be µm, say so in the header, x [um].",)
    return ()


def _either(words: Mapping[str, Any]) -> str:
    *most, last = words
    return f"{', '.join(most)} or {last}" if most else last


def _instead(shape: str, method: str) -> str:
    """What else would do."""
    if method not in METHODS:
        return f"The methods are {', '.join(METHODS)}."
    others = [other for other in WAYS if method in WAYS[other]]
    return f"There is one for {_either(dict.fromkeys(others))}." if others else "Choose one of them."
