"""A fit as the text that a person reads at 80 columns."""

import math
import textwrap
from collections.abc import Mapping
from typing import Any

_NAMES = {
    "point_mm": "point", "direction": "direction", "normal": "normal", "center_mm": "centre", "radius_mm": "radius",
    "half_angle_rad": "half angle", "apex_mm": "apex", "major_radius_mm": "large radius",
    "minor_radius_mm": "small radius",
}  # fmt: skip
_NORMS = {"minimax": "largest", "sum": "mean distance", "squares": "rms distance"}
_HELD = 12  # contacts that are named


def text(d: Mapping[str, Any], file: str) -> str:
    """The summary of a document of `fit_document.document`; `file` is where the points came from."""
    method = d["method"].replace("-", " ").replace("one sided", "one-sided tangent")
    lines = [f"{d['shape'].capitalize()} by {method} from {d['points']} points of {file}", ""]
    for name, value in d["parameters"].items():
        lines += _parameter(name, value, None if d["u"] is None else d["u"].get(name))
    if "radius_mm" in d["parameters"]:
        lines.append(_row("diameter", 2 * d["parameters"]["radius_mm"], "mm"))
    r = d["residuals_mm"]
    lines += [
        "",
        _row("form", d["form_mm"], "mm"),
        *([] if d["norm"] is None else [_row(_NORMS[d["norm"]], d["achieved_mm"], "mm")]),
        f"  residuals from {_short(r['min'])} to {_short(r['max'])} mm, rms {_short(r['rms'])} mm",
    ]
    for sentence in (*_basis(d), *_done(d), *d["notes"]):
        lines += ["", *textwrap.wrap(sentence, 80)]
    return "\n".join(lines)


def _parameter(name: str, value: Any, u: Any) -> list[str]:
    unit = "mm" if name.endswith("_mm") else "deg" if name.endswith("_rad") else ""
    factor = 180 / math.pi if unit == "deg" else 1.0
    out = [_row(_NAMES.get(name, name), _scaled(value, factor), unit)]
    return out if u is None else [*out, _row("  standard u", _scaled(u, factor), unit)]


def _scaled(value: Any, factor: float) -> Any:
    return value if factor == 1.0 or value is None else value * factor


def _basis(d: Mapping[str, Any]) -> list[str]:
    """What the uncertainty rests on, or what proves the zone."""
    c = d["certificate"]
    if c is not None:
        return [_held(c), _proven(c)]
    if d["u"] is None:
        return ["No uncertainty: every point is needed for the shape itself. Measure more points, or give that of a "
                "point with --u."]  # fmt: skip
    if d["degrees_of_freedom"] is None:
        return [f"The standard uncertainties rest on {d['point_u_mm']:.6f} mm at each point, as given, alike and "
                "independent. What points share (heat, set-up) is not in them."]  # fmt: skip
    return [f"The standard uncertainties rest on the residuals: {d['point_u_mm']:.6f} mm a point, "
            f"{d['degrees_of_freedom']} degrees of freedom, form and reading together. What points share (heat, "
            "set-up) is not in them. Give that of a point with --u if you know it."]  # fmt: skip


def _held(c: Mapping[str, Any]) -> str:
    some = [str(i + 1) for i in c["contacts"][:_HELD]]
    more = len(c["contacts"]) - len(some)
    named = ", ".join(some) + (f" and {more} more" if more > 0 else "")
    return f"Held by the points {named} (counted from 1). {c['proof']}"


def _proven(c: Mapping[str, Any]) -> str:
    """How far the optimum is proven."""
    gap = c["gap_mm"]
    left = "nothing is proven of how far it is from the best" if gap is None else (
        f"at most {gap:.1e} mm from the best there is" if gap > 0 else "it meets its bound"
    )  # fmt: skip
    if c["kind"] == "global":
        return f"Global optimum: {left}."
    where = " near it" if c["gap_mm"] is not None else ""
    return f"Local optimum ({c['kind']}): {left}{where}."


def _done(d: Mapping[str, Any]) -> list[str]:
    """What was done to the points, and which had no say."""
    out = [] if d["filter"] is None else [f"Filtered first, then associated: {d['filter']}"]
    if d["set_aside"]:
        named = ", ".join(str(i + 1) for i in d["set_aside"][:_HELD])
        more = len(d["set_aside"]) - _HELD
        out.append(f"Set aside, with little or no say in the fit: the points {named}"
                   + (f" and {more} more" if more > 0 else "") + " (counted from 1). Look at them.")  # fmt: skip
    return out


def _row(name: str, value: float | list[float | None] | None, unit: str) -> str:
    numbers = value if isinstance(value, list) else [value]
    digits = {"mm": 6, "deg": 7}.get(unit, 9)
    figures = "".join(_figure(x, digits) for x in numbers)
    return f"  {name:<13}{figures}" + (f" {unit}" if unit else "")


def _short(x: float) -> str:
    return _figure(x, 6).strip()


def _figure(x: float | None, digits: int) -> str:
    if x is None:
        return f"{'infinite':>18}"
    return f"{x:18.{digits}f}" if abs(x) < 1e8 else f"{x:18.6e}"
