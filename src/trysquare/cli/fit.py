"""`trysquare fit`: associate a shape with points."""

import argparse
from pathlib import Path
from typing import Any

import numpy as np

from .answer import Answer

_METHODS = {
    "line": ("least-squares",),
    "plane": ("least-squares", "minimum-zone"),
    "circle": ("least-squares",),
    "sphere": ("least-squares",),
    "cylinder": ("least-squares",),
}
_LATER_SHAPES = ("cone", "torus")
_LATER_METHODS = ("minimum-zone", "largest-inscribed", "smallest-circumscribed", "one-sided")
_NAMES = {
    "point_mm": "point", "direction": "direction", "normal": "normal", "center_mm": "centre", "radius_mm": "radius",
}  # fmt: skip
_WHERE = "trysquare fit"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("points", type=Path, metavar="POINTS.csv", help="header x,y,z (mm, or a unit as in x [in])")
    parser.add_argument("--shape", required=True, help=", ".join(_METHODS))
    parser.add_argument("--method", default="least-squares", help="least-squares; minimum-zone of a plane")
    parser.add_argument("--u", help="standard uncertainty of a point, mm or with its unit; else from the residuals")
    parser.add_argument("--toward", metavar="X,Y,Z", help="which way the normal or axis points, as in --toward=0,0,1; "
                        "where several cylinders fit, also which one")  # fmt: skip
    parser.add_argument("--weights", help=argparse.SUPPRESS)
    parser.add_argument("--within", choices=("plane",), help="with plane: a line in the plane of its x and y")


def run(args: argparse.Namespace) -> Answer:
    from ..core.errors import InputError, TrysquareError
    from ..core.units import quantity
    from ..jobs.loading.points_csv import read_points

    _check_options(args)
    u_mm = None if args.u is None else quantity(args.u, "length", "mm", where="--u")
    if u_mm is not None and not u_mm > 0:
        raise InputError("--u", "the standard uncertainty of a point", "be above 0", f'"{args.u}"', "Correct it.")
    toward = None if args.toward is None else _direction(args.toward)
    points = read_points(args.points)
    _check_plane(args, points)
    try:
        document = _minimum_zone(points, toward) if args.method == "minimum-zone" else _least_squares(
            args.shape, points, u_mm, toward
        )  # fmt: skip
    except TrysquareError as error:
        error.where = str(args.points)
        raise
    document = {"shape": args.shape, "method": args.method, **document}
    return Answer(document, _text(document, args.points.name))


def _check_options(args: argparse.Namespace) -> None:
    from ..core.errors import InputError

    later = "comes with a later edition"
    now = ", ".join(_METHODS)
    if args.shape not in _METHODS:
        known = f"A {args.shape} {later}." if args.shape in _LATER_SHAPES else "See trysquare fit --help."
        raise InputError(_WHERE, "--shape", f"be one of {now}", f'"{args.shape}"', known)
    methods = _METHODS[args.shape]
    if args.method not in methods:
        known = f"For a {args.shape} that {later}." if args.method in _LATER_METHODS else "See trysquare fit --help."
        raise InputError(
            _WHERE, "--method", f"be {' or '.join(methods)} for a {args.shape}", f'"{args.method}"', known
        )  # fmt: skip
    if args.weights is not None:
        raise InputError(_WHERE, "--weights", "be left out", f'"{args.weights}"', f"It {later}.")
    if args.within is not None and args.shape != "line":
        raise InputError(_WHERE, "--within", "go with a line", f'"{args.within}" for a {args.shape}', "Drop it.")


def _direction(text: str) -> list[float]:
    from ..core.errors import InputError

    try:
        direction = [float(part) for part in text.split(",")]
    except ValueError:
        direction = []
    if len(direction) != 3:
        raise InputError(_WHERE, "--toward", "be three numbers", f'"{text}"', "Write for instance --toward=0,0,1")
    return direction


def _check_plane(args: argparse.Namespace, points: Any) -> None:
    from ..core.errors import FormatError, InputError

    if points.shape[1] == 3 and args.within is not None:
        raise InputError(
            _WHERE, "--within", "go with points in a plane, x and y alone", "x, y and z",
            "Leave out the column across the plane; without --within it is the straightness of an axis.",
        )  # fmt: skip
    if points.shape[1] == 3:
        return
    if args.shape not in ("line", "circle"):
        raise FormatError(
            str(args.points), None, "the columns", f"be x, y and z for a {args.shape}", "x and y", "Add a column z."
        )
    if args.toward is not None:
        raise InputError(_WHERE, "--toward", "be left out for points in a plane", f'"{args.toward}"', "Drop it.")


def _least_squares(shape: str, points: Any, u_mm: float | None, toward: list[float] | None) -> dict[str, Any]:
    from .. import geometry

    options = {} if shape == "sphere" or toward is None else {"toward": toward}
    fit = getattr(geometry, f"fit_{shape}")(points, **options)
    told = geometry.parameter_u(fit, u_mm=u_mm) if u_mm is not None or fit.freedom > 0 else None
    return {
        "parameters": {name: _plain(getattr(fit, name)) for name in fit.PARAMETERS if getattr(fit, name) is not None},
        "form_mm": float(fit.form_mm),
        "residuals_mm": _residuals(fit.residuals_mm),
        "sum_of_squares_mm2": float(fit.sum_of_squares_mm2),
        "u": None if told is None else {name: _plain(value) for name, value in told.u.items()},
        "covariance": None if told is None else told.covariance.tolist(),
        "point_u_mm": None if told is None else float(told.point_u_mm),
        "degrees_of_freedom": None if told is None else told.freedom,
        "certificate": None,
        "points": len(points),
        "rank": int(fit.rank),
        "stopped": str(fit.stopped),
    }


def _minimum_zone(points: Any, toward: list[float] | None) -> dict[str, Any]:
    from ..geometry import minimum_zone_plane

    zone = minimum_zone_plane(points, toward=toward)
    return {
        "parameters": {"point_mm": zone.point_mm.tolist(), "normal": zone.normal.tolist()},
        "form_mm": float(zone.width_mm),
        "residuals_mm": _residuals(zone.residuals_mm),
        "sum_of_squares_mm2": float(np.square(zone.residuals_mm).sum()),
        "u": None,
        "covariance": None,
        "point_u_mm": None,
        "degrees_of_freedom": None,
        "certificate": {
            "kind": "points that hold the zone",
            "gap_mm": float(zone.gap_mm),
            "contacts": [int(i) for i in zone.contacts if i >= 0],
        },
        "points": len(points),
        "rank": 3,
        "stopped": "no further decrease",
    }


def _plain(value: Any) -> Any:
    return value.tolist()


def _residuals(residuals: Any) -> dict[str, float]:
    return {
        "min": float(residuals.min()), "max": float(residuals.max()), "rms": float(np.sqrt(np.square(residuals).mean()))
    }  # fmt: skip


def _text(d: dict[str, Any], file: str) -> str:
    lines = [f"{d['shape'].capitalize()} by {d['method'].replace('-', ' ')} from {d['points']} points of {file}", ""]
    for name, value in d["parameters"].items():
        length = name.endswith("_mm")
        lines.append(_row(_NAMES[name], value, length=length))
        if d["u"] is not None:
            lines.append(_row("  standard u", d["u"][name], length=length))
    if "radius_mm" in d["parameters"]:
        lines.append(_row("diameter", 2 * d["parameters"]["radius_mm"], length=True))
    r = d["residuals_mm"]
    lines += [
        "",
        _row("form", d["form_mm"], length=True),
        f"  residuals from {r['min']:.6f} to {r['max']:.6f} mm, rms {r['rms']:.6f} mm",
        *_basis(d),
    ]
    return "\n".join(lines)


def _basis(d: dict[str, Any]) -> list[str]:
    """What the uncertainty rests on, or what proves the zone."""
    if d["certificate"] is not None:
        held = ", ".join(str(i + 1) for i in d["certificate"]["contacts"])
        return ["", f"Held by the points {held} (counted from 1): no narrower zone", "holds them all."]
    if d["u"] is None:
        return ["", "No uncertainty: every point is needed for the shape itself.",
                "Measure more points, or give that of a point with --u."]  # fmt: skip
    if d["degrees_of_freedom"] is None:
        return ["", f"The standard uncertainties rest on {d['point_u_mm']:.6f} mm at each point, as given,",
                "alike and independent. What points share (heat, set-up) is not in them."]  # fmt: skip
    return ["", f"The standard uncertainties rest on the residuals: {d['point_u_mm']:.6f} mm a point,",
            f"{d['degrees_of_freedom']} degrees of freedom, form and reading together. What points share (heat,",
            "set-up) is not in them. Give that of a point with --u if you know it."]  # fmt: skip


def _row(name: str, value: float | list[float], *, length: bool) -> str:
    numbers = value if isinstance(value, list) else [value]
    return f"  {name:<13}" + "".join(f"{x:18.{6 if length else 9}f}" for x in numbers) + (" mm" if length else "")
