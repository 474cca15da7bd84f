"""General tolerances: what a drawing means where a dimension or a feature has no tolerance of its own.

ISO 2768-1:1989 (linear and angular dimensions), ISO 2768-2:1989 (features; withdrawn in 2021 for ISO 22081, and in
use on drawings), ISO 22081:2021 (one value for sizes, stated on the drawing).
"""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NoReturn

from ..core.errors import InputError

ISO_22081 = "ISO 22081"
_WHERE = "general tolerances"
#: Ends of the steps, mm: over the one before, up to and including this; and figures by class, mm, nan where none.
_LINEAR_MM = (0.5, 3.0, 6.0, 30.0, 120.0, 400.0, 1000.0, 2000.0, 4000.0)
_LINEAR = {
    "f": (0.05, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5, math.nan),
    "m": (0.1, 0.1, 0.2, 0.3, 0.5, 0.8, 1.2, 2.0),
    "c": (0.2, 0.3, 0.5, 0.8, 1.2, 2.0, 3.0, 4.0),
    "v": (math.nan, 0.5, 1.0, 1.5, 2.5, 4.0, 6.0, 8.0),
}
_EDGE_MM = (0.5, 3.0, 6.0, math.inf)
_EDGE = {"f": (0.2, 0.5, 1.0), "m": (0.2, 0.5, 1.0), "c": (0.4, 1.0, 2.0), "v": (0.4, 1.0, 2.0)}
_LEG_MM = (0.0, 10.0, 50.0, 120.0, 400.0, math.inf)
#: Minutes of arc, by the length of the shorter leg.
_ANGLE_MIN = {
    "f": (60, 30, 20, 10, 5),
    "m": (60, 30, 20, 10, 5),
    "c": (90, 60, 30, 15, 10),
    "v": (180, 120, 60, 30, 20),
}
_FLAT_MM = (0.0, 10.0, 30.0, 100.0, 300.0, 1000.0, 3000.0)
_FLAT = {
    "H": (0.02, 0.05, 0.1, 0.2, 0.3, 0.4),
    "K": (0.05, 0.1, 0.2, 0.4, 0.6, 0.8),
    "L": (0.1, 0.2, 0.4, 0.8, 1.2, 1.6),
}
_SQUARE_MM = (0.0, 100.0, 300.0, 1000.0, 3000.0)
_SQUARE = {"H": (0.2, 0.3, 0.4, 0.5), "K": (0.4, 0.6, 0.8, 1.0), "L": (0.6, 1.0, 1.5, 2.0)}
_OWN = "Give this requirement a tolerance of its own."
_CLASSES = "Its classes are f, m, c, v for dimensions and H, K, L for features, as in ISO 2768-mK."


@dataclass(frozen=True)
class General:
    """What the drawing states: classes of ISO 2768, or the values of ISO 22081 (plus or minus, mm and rad)."""

    text: str
    dimensions: str | None = None
    features: str | None = None
    linear_mm: float | None = None
    angular_rad: float | None = None

    @property
    def by_class(self) -> bool:
        """ISO 2768, with classes; else ISO 22081, with values."""
        return self.text != ISO_22081


def general(text: str, *, linear_mm: float | None = None, angular_rad: float | None = None) -> General:
    """From "ISO 2768-mK", "ISO 2768-m", "ISO 2768-K", or "ISO 22081" with its values.

    Raises
    ------
    InputError : another text, a class that does not exist, values where there are classes, or none where needed.
    """
    values = linear_mm is not None or angular_rad is not None
    if text == ISO_22081:
        if not values:
            _refuse("state its values", "none", 'Add linear = 0.1 or angular = "0.5 deg", as the drawing has them.')
        return General(text, None, None, linear_mm, angular_rad)
    match = re.fullmatch(r"ISO 2768-([a-z]?)([A-Z]?)", text)
    if match is None or not text[9:]:
        way_out = _CLASSES
        if re.fullmatch(r"ISO 2768-\w*-E", text):
            way_out = "The envelope that -E asks of every size is not judged in this edition: leave it away here."
        _refuse("be ISO 2768 with its classes, as in ISO 2768-mK, or ISO 22081", f'"{text}"', way_out)
    if (match[1] and match[1] not in _LINEAR) or (match[2] and match[2] not in _FLAT):
        _refuse("have classes of ISO 2768", f'"{text}"', _CLASSES)
    if values:
        _refuse("have no values beside the classes of ISO 2768", "values", "Drop linear and angular.")
    return General(text, match[1] or None, match[2] or None)


def linear(stated: General, nominal_mm: float, *, of_size: bool, what: str) -> float:
    """Plus or minus, mm, for a linear dimension; `of_size`: it is the size of a feature of size.

    Raises
    ------
    InputError : the drawing's general tolerance says nothing of it, and the way out.
    """
    if stated.by_class:
        return _looked_up(stated, _dimension_class(stated, what), _LINEAR_MM, _LINEAR, nominal_mm, what)
    if not of_size:
        found = f"{what}, which is no feature of size"
        _refuse("be asked of sizes only (ISO 22081 leaves the rest to its general profile)", found, _OWN)
    if stated.linear_mm is None:
        _refuse("state a value for linear sizes", "none", "Add linear = ..., as the drawing has it.")
    return stated.linear_mm


def edge(stated: General, nominal_mm: float, *, what: str) -> float:
    """Plus or minus, mm, for an external radius (ISO 2768-1:1989, broken edges). Errors as `linear`."""
    if not stated.by_class:
        return linear(stated, nominal_mm, of_size=False, what=what)
    return _looked_up(stated, _dimension_class(stated, what), _EDGE_MM, _EDGE, nominal_mm, what)


def angular(stated: General, shorter_leg_mm: float | None, *, what: str) -> float:
    """Plus or minus, rad, for an angle; ISO 2768-1 looks at the shorter leg. Errors as `linear`."""
    if not stated.by_class:
        if stated.angular_rad is None:
            _refuse("state a value for angular sizes", "none", 'Add angular = "...", as the drawing has it.')
        return stated.angular_rad
    name = _dimension_class(stated, what)
    return math.radians(_looked_up(stated, name, _LEG_MM, _ANGLE_MIN, _known(shorter_leg_mm, what), what) / 60)


def flatness(stated: General, longer_side_mm: float | None, *, what: str) -> float:
    """Zone, mm, of a plane by its longer side (ISO 2768-2:1989). Errors as `linear`."""
    return _looked_up(stated, _feature_class(stated, what), _FLAT_MM, _FLAT, _known(longer_side_mm, what), what)


def perpendicularity(stated: General, shorter_side_mm: float | None, *, what: str) -> float:
    """Zone, mm, by the shorter of the two sides of the right angle (ISO 2768-2:1989). Errors as `linear`."""
    return _looked_up(stated, _feature_class(stated, what), _SQUARE_MM, _SQUARE, _known(shorter_side_mm, what), what)


def _dimension_class(stated: General, what: str) -> str:
    if stated.dimensions is None:
        _refuse("have a class for dimensions: f, m, c or v", f"{stated.text}, for {what}", _OWN)
    return stated.dimensions


def _feature_class(stated: General, what: str) -> str:
    if stated.features is None:
        _refuse("have a class for features: H, K or L", f"{stated.text}, for {what}", _OWN)
    return stated.features


def _known(length_mm: float | None, what: str) -> float:
    if length_mm is None:
        way_out = "Give the planes their size, the lines and cylinders their length; or give a tolerance of its own."
        _refuse("know how long the sides are", f"no size of a feature of {what}", way_out)
    return length_mm


def _looked_up(
    stated: General, name: str, ends_mm: Sequence[float], table: Mapping[str, Sequence[float]], length_mm: float,
    what: str,
) -> float:  # fmt: skip
    """The figure of the step that holds `length_mm`; the first step of a table begins with its start."""
    step = next((i for i, end in enumerate(ends_mm[1:]) if length_mm <= end), None)
    if step is None or length_mm < ends_mm[0] or math.isnan(table[name][step]):
        _refuse(f"have a figure of class {name} for {what}", f"{length_mm:g} mm, where {stated.text} has none", _OWN)
    return float(table[name][step])


def _refuse(rule: str, found: str, way_out: str) -> NoReturn:
    raise InputError(_WHERE, "the general tolerance", rule, found, way_out)
