"""`trysquare fit`: associate a shape with points."""

import argparse
from pathlib import Path
from typing import Any

from .answer import Answer
from .fit_options import LOSSES, NORMS, check_goes, constraints, direction, filtering, held, shape_and_method


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("points", type=Path, metavar="POINTS.csv", help="header x,y,z (mm, or a unit as in x [in]); "
                        "x,y for points in a plane")  # fmt: skip
    parser.add_argument("--shape", required=True, help="line, plane, circle, sphere, cylinder, cone or torus")
    parser.add_argument("--method", default="least-squares", help="least-squares (default), minimum-zone, "
                        "largest-inscribed, smallest-circumscribed or one-sided")  # fmt: skip
    parser.add_argument("--u", help="standard uncertainty of a point, mm or with its unit; else from the residuals")
    parser.add_argument("--toward", metavar="X,Y,Z", help="which way the normal or axis points, as in --toward=0,0,1; "
                        "one-sided: out of the material; where several cylinders fit, also which one")  # fmt: skip
    parser.add_argument("--within", choices=("plane",), help="with plane: a line in the plane of its x and y")
    parser.add_argument("--weights", metavar="area|COLUMN", help="area: each point counts as the area it stands for; "
                        "else a column of the file")  # fmt: skip
    parser.add_argument("--constraint", action="append", default=[], metavar="NAME=VALUE", help="what is held: radius, "
                        "diameter, half-angle, major-radius, minor-radius, direction, normal, parallel, perpendicular; "
                        "as radius=25 or parallel=0,0,1 (two numbers in a plane); may be given again")  # fmt: skip
    parser.add_argument("--filter", metavar="KIND:CUTOFF", help="filter the points first: gaussian, spline or robust, "
                        "as in gaussian:15upr (circle) or gaussian:2.5mm (wavelength)")  # fmt: skip
    parser.add_argument("--loss", metavar="LOSS", help=f"of least squares: {LOSSES}")
    parser.add_argument("--norm", metavar="NORM", help=f"of one-sided: {NORMS}")
    parser.add_argument("--plot", type=Path, metavar="FILE", help="draw it: .svg, .png or .pdf")


def run(args: argparse.Namespace) -> Answer:
    from ..core.errors import TrysquareError
    from ..geometry.association import associate
    from ..report.fit_document import document
    from ..report.fit_text import text

    shape_and_method(args)
    options, asked = _options(args), constraints(args.constraint)
    points, column = _points(args)
    options |= held(asked, args.shape, args.method, points.shape[1])
    check_goes(args, options, points.shape[1])
    try:
        options["weights"] = _weights(args, points, column)
        fit = associate(points, shape=args.shape, method=args.method, alike=args.weights == "area", **options)
    except TrysquareError as error:
        error.where = str(args.points)
        raise
    answer = document(fit)
    said = text(answer, args.points.name)
    if args.plot is None:
        return Answer(answer, said)
    from ..report.fit_write import write_picture

    write_picture(fit, args.points.name, args.plot)
    return Answer(answer | {"plot": str(args.plot)}, f"{said}\n\nPicture: {args.plot}")


def _options(args: argparse.Namespace) -> dict[str, Any]:
    """What is asked of the function, in its own words; all options are read before the points are."""
    from ..core.errors import InputError
    from ..core.units import quantity

    if args.plot is not None:
        from ..report.fit_write import check_kind

        check_kind(args.plot)
    u_mm = None if args.u is None else quantity(args.u, "length", "mm", where="--u")
    if u_mm is not None and not u_mm > 0:
        raise InputError("--u", "the standard uncertainty of a point", "be above 0", f'"{args.u}"', "Correct it.")
    return {
        "u_mm": u_mm,
        "toward": None if args.toward is None else direction("--toward", args.toward, (2, 3)),
        "filtering": None if args.filter is None else filtering(args.filter, args.shape),
        "weights": args.weights,
        "loss": args.loss,
        "norm": args.norm,
    }  # fmt: skip


def _points(args: argparse.Namespace) -> tuple[Any, Any]:
    """The points, and the column of weights where one is named."""
    from ..jobs.loading.points_csv import read_columns
    from .fit_options import check_columns

    column = None if args.weights in (None, "area") else args.weights
    points, weights = read_columns(args.points, column)
    check_columns(args, points.shape[1])
    return points, weights


def _weights(args: argparse.Namespace, points: Any, column: Any) -> Any:
    if args.weights != "area":
        return column
    from ..geometry import area_weights

    return area_weights(points, shape=args.shape)
