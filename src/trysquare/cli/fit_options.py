"""The options of `trysquare fit` in its own words: what is held, filters, directions; and what does not go together."""

import argparse
import re
from typing import Any

LOSSES = "squares (default), huber (bounds the pull of points that stand out) or tukey (sets them aside)"
NORMS = "minimax (default), sum or squares"
_WHERE = "trysquare fit"
_SIZES = {"radius": "radius_mm", "diameter": "radius_mm", "major-radius": "major_radius_mm",
          "minor-radius": "minor_radius_mm", "half-angle": "half_angle_rad"}  # fmt: skip
_WAYS = ("direction", "normal", "parallel", "perpendicular")
_NAMES = (*_SIZES, *_WAYS)
#: Options of the functions in the words of the command.
_WORDS = {
    "weights": "--weights", "toward": "--toward", "outward": "--toward", "loss": "--loss", "norm": "--norm",
    "radius_mm": "--constraint radius", "half_angle_rad": "--constraint half-angle",
    "major_radius_mm": "--constraint major-radius", "minor_radius_mm": "--constraint minor-radius",
    "direction": "--constraint direction or parallel", "normal": "--constraint normal or perpendicular",
    "parallel_to": "--constraint parallel", "perpendicular_to": "--constraint perpendicular",
}  # fmt: skip
_FILTER = re.compile(r"(?P<kind>[a-z]+)[ :=,]+(?P<cutoff>[^\s].*)", re.I)
_UPR = re.compile(r"(?P<number>[0-9.eE+-]+)\s*upr", re.I)


def shape_and_method(args: argparse.Namespace) -> None:
    """Raise where there is no such shape, or no such method for it."""
    from ..core.errors import InputError
    from ..geometry.association import METHODS, WAYS

    if args.shape not in WAYS:
        raise InputError(_WHERE, "--shape", f"be one of {', '.join(WAYS)}", f'"{args.shape}"',
                         "See trysquare fit --help.")  # fmt: skip
    known = list(WAYS[args.shape])
    if args.method not in known:
        others = [shape for shape, methods in WAYS.items() if args.method in methods]
        way_out = "See trysquare fit --help." if args.method not in METHODS else (
            f"{args.method.capitalize()} is there for {_either(others)}." if others else "Choose another."
        )  # fmt: skip
        raise InputError(_WHERE, "--method", f"be {_either(known)} for a {args.shape}", f'"{args.method}"', way_out)
    if args.within is not None and args.shape != "line":
        raise InputError(_WHERE, "--within", "go with a line", f'"{args.within}" for a {args.shape}', "Drop it.")


def check_columns(args: argparse.Namespace, dims: int) -> None:
    """Raise where the columns of the file do not go with the options."""
    from ..core.errors import FormatError, InputError
    from ..geometry.association import WAYS

    if dims == 3 and args.within is not None:
        raise InputError(
            _WHERE, "--within", "go with points in a plane, x and y alone", "x, y and z",
            "Leave out the column across the plane; without --within it is the straightness of an axis.",
        )  # fmt: skip
    there = WAYS[args.shape][args.method]
    if dims not in there:
        need, have, way_out = ("x, y and z", "x and y", "Add a column z.") if dims == 2 else (
            "x and y alone", "x, y and z", "Leave out the column across the plane."
        )  # fmt: skip
        what = f"a {args.shape}" if dims == 2 else f"a {args.shape} by {args.method}"
        raise FormatError(str(args.points), None, "the columns", f"be {need} for {what}", have, way_out)
    if dims == 2 and args.toward is not None and (args.shape == "circle" or args.method == "least-squares"):
        raise InputError(_WHERE, "--toward", "be left out for points in a plane", f'"{args.toward}"', "Drop it.")


def check_goes(args: argparse.Namespace, given: dict[str, Any], dims: int) -> None:
    """Raise where an option does not go with the shape and method, or a direction not with the points."""
    from ..core.errors import InputError
    from ..geometry.association import options

    known = options(args.shape, args.method, dims)
    there = list(dict.fromkeys(_WORDS[name] for name in known if name in _WORDS))
    for name, value in given.items():
        if value is None or name not in _WORDS:
            continue
        word = _WORDS[name]
        if word not in there:
            raise InputError(
                _WHERE, word, f"be left out for a {args.shape} by {args.method}", _said(value),
                f"What there is: {', '.join(there)}." if there else "There is no option here.",
            )  # fmt: skip
        if isinstance(value, list) and (len(value) != dims or not any(value)):
            many, example = {2: ("two", "0,1"), 3: ("three", "0,0,1")}[dims]
            raise InputError(
                _WHERE, word, f"be {many} numbers, not all 0", _said(value),
                f"Write for instance {word.partition(' or ')[0]}={example}",
            )  # fmt: skip


def _said(value: Any) -> str:
    return f'"{",".join(f"{x:g}" for x in value)}"' if isinstance(value, list) else f'"{value}"'


def direction(option: str, text: str, counts: tuple[int, ...] = (3,)) -> list[float]:
    """Numbers with commas between; `counts` says how many there may be."""
    from ..core.errors import InputError

    try:
        numbers = [float(part) for part in text.split(",")]
    except ValueError:
        numbers = []
    if len(numbers) not in counts:
        many = " or ".join({2: "two", 3: "three"}[count] for count in counts)
        raise InputError(_WHERE, option, f"be {many} numbers", f'"{text}"', f"Write for instance {option}=0,0,1")
    return numbers


def constraints(words: list[str]) -> dict[str, Any]:
    """What `--constraint` holds, by its name: a length or angle, or the numbers of a direction."""
    from ..core.errors import InputError
    from ..core.units import quantity

    found: dict[str, Any] = {}
    for word in words:
        name, _, value = (part.strip() for part in word.partition("="))
        name = name.lower().replace("_", "-")
        if name not in _NAMES or not value:
            raise InputError(_WHERE, "--constraint", f"be NAME=VALUE with {_either(_NAMES)}", f'"{word}"',
                             "Write for instance --constraint radius=25")  # fmt: skip
        where = f"--constraint {name}"
        if name in _WAYS:
            found[name] = direction(where, value, (2, 3))
        elif name == "half-angle":
            found[name] = quantity(value, "angle", "deg", where=where)
        else:
            found[name] = quantity(value, "length", "mm", where=where)
    return found


def held(asked: dict[str, Any], shape: str, method: str, dims: int) -> dict[str, Any]:
    """The same as options of the function that answers for points of `dims` coordinates."""
    from ..core.errors import InputError
    from ..geometry.association import options

    known = options(shape, method, dims)
    found: dict[str, Any] = {}
    for name, value in asked.items():
        option = _way(name, shape, known) if name in _WAYS else _SIZES[name]
        if option in found:
            raise InputError(_WHERE, "--constraint", "hold each parameter once", f'"{name}"', "Leave one out.")
        found[option] = value / 2 if name == "diameter" else value
    return found


def _way(name: str, shape: str, known: tuple[str, ...]) -> str:
    """Which option a direction goes to, by what the function takes.

    An axis parallel to a direction has it; a plane (that of a circle too) perpendicular to a direction has it as its
    normal. The other two leave a turn open.
    """
    face = shape in ("plane", "circle")
    alike = {
        "direction": ("direction", "parallel_to"),
        "normal": ("normal", "perpendicular_to"),
        "parallel": ("parallel_to",) if face else ("direction", "parallel_to"),
        "perpendicular": ("normal", "perpendicular_to") if face else ("perpendicular_to",),
    }[name]
    return next((option for option in alike if option in known), alike[0])


def filtering(text: str, shape: str) -> dict[str, Any]:
    """Kind and cut-off of a filter: gaussian:15upr, spline:0.8mm."""
    from ..core.errors import InputError
    from ..core.units import quantity
    from ..geometry.filtered import KINDS

    match = _FILTER.fullmatch(text.strip())
    if match is None or match["kind"].lower() not in KINDS:
        raise InputError(_WHERE, "--filter", f"be a kind ({_either(KINDS)}) and a cut-off", f'"{text}"',
                         "Write for instance --filter gaussian:15upr or --filter gaussian:2.5mm")  # fmt: skip
    kind, cutoff = match["kind"].lower(), match["cutoff"].strip()
    turns = _UPR.fullmatch(cutoff)
    if turns is None:
        return {"kind": kind, "cutoff_mm": quantity(cutoff, "length", "mm", where="--filter")}
    try:
        return {"kind": kind, "cutoff_upr": float(turns["number"])}
    except ValueError:
        raise InputError(_WHERE, "--filter", "have a number before upr", f'"{cutoff}"', "Correct it.") from None


def _either(words: Any) -> str:
    *most, last = words
    return f"{', '.join(most)} or {last}" if most else last
