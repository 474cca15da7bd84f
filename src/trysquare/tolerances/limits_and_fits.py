"""Sizes by code: the limits that "62 H7" or "40 g6" stands for (ISO 286-1:2010 and ISO 286-2:2010).

Standard tolerances and fundamental deviations are the published tables (`size_tables`); the limits are computed from
them: with the delta rule for holes K to ZC up to 500 mm, and with the exceptions that the tables have.
"""

import math
import re
from dataclasses import dataclass
from typing import NoReturn

from ..core.errors import InputError
from .size_tables import GRADES, deviation_um, tolerance_um

#: Fundamental deviations of holes, in the order of the standard; those of shafts are the same in small letters.
LETTERS = (
    "A", "B", "C", "CD", "D", "E", "EF", "F", "FG", "G", "H", "JS", "J", "K", "M", "N", "P", "R", "S", "T", "U", "V",
    "X", "Y", "Z", "ZA", "ZB", "ZC",
)  # fmt: skip
#: The largest nominal size of the standard, mm, and the largest with the delta rule.
LARGEST_MM, DELTA_UP_TO_MM = 3150.0, 500.0
_APART = LETTERS[: LETTERS.index("H")]  # holes above the nominal size, shafts below it
_GIVE = "Give lower and upper as numbers instead of the code."
_ODD_HALF = "half of an odd number of micrometres is kept; tables older than 2010 round it down to whole micrometres"


@dataclass(frozen=True)
class SizeLimits:
    """Deviations from the nominal size, mm, of one code; `hole` says that it is an internal feature of size."""

    nominal_mm: float
    code: str
    hole: bool
    lower_mm: float
    upper_mm: float
    notes: tuple[str, ...] = ()


def limits(nominal_mm: float, code: str) -> SizeLimits:
    """The deviations that a code such as "H7", "g6", "JS8" or "zc8" gives a nominal size.

    Raises
    ------
    InputError : no such code, no such grade, or none for this size; the message names the way out.
    """
    letter, grade = parsed(code)
    if not 0.0 < nominal_mm <= LARGEST_MM:
        _refuse(f"go with a nominal size above 0 and up to {LARGEST_MM:g} mm", f"{nominal_mm:g} mm", _GIVE)
    width = tolerance_um(nominal_mm, grade)
    if width is None:
        _none_for(code, nominal_mm)
    hole = letter.isupper()
    lower, upper = _hole(nominal_mm, letter, grade, width) if hole else _shaft(nominal_mm, letter, grade, width)
    odd = letter.upper() == "JS" and grade in ("7", "8", "9", "10", "11") and width % 2 == 1
    return SizeLimits(nominal_mm, code, hole, _mm(lower), _mm(upper), (_ODD_HALF,) if odd else ())


def standard_tolerance_mm(nominal_mm: float, grade: str) -> float:
    """The standard tolerance IT01 to IT18 of a nominal size, mm; `grade` "01", "0", "1" to "18".

    Raises
    ------
    InputError : as `limits`.
    """
    limits(nominal_mm, f"h{grade}")
    return _mm(tolerance_um(nominal_mm, grade) or 0.0)


def parsed(code: str) -> tuple[str, str]:
    """Letters and grade of a code.

    Raises
    ------
    InputError : it is none of ISO 286-1.
    """
    match = re.fullmatch(r"([A-Za-z]+)([0-9]+)", code)
    if match is None:
        _refuse("be letters and a grade, as in H7 or js8", f'"{code}"', _mend(code))
    letter, grade = match[1], match[2]
    known = LETTERS if letter.isupper() else tuple(name.lower() for name in LETTERS)
    if letter not in known:
        rule = f"begin with a fundamental deviation of ISO 286-1: {', '.join(known)}"
        _refuse(rule, f'"{code}"', "Capital letters are holes, small ones shafts: write it as on the drawing.")
    if grade not in GRADES:
        _refuse("end with a grade of ISO 286-1: 01, 0, 1 to 18", f'"{code}"', "Write it as on the drawing.")
    return letter, grade


def _mend(code: str) -> str:
    if re.fullmatch(r"\s*[\d.,]+\s*[A-Za-z]+\d+\s*", code):
        return "Write the number under nominal and the rest under code."
    if "/" in code:
        return "Two codes are a fit: write the one of this part."
    if re.search(r"\d\s*\(?[EⒺ]\)?$", code):
        return "The envelope requirement is not judged in this edition: write the code alone, and say so in the name."
    return "Write it as on the drawing, without spaces."


def _shaft(nominal_mm: float, letter: str, grade: str, width: float) -> tuple[float, float]:
    """Lower and upper deviation of a shaft, um."""
    name = letter.upper()
    if name == "JS":
        return -width / 2, width / 2
    if name == "H":
        return -width, 0.0
    if name in _APART:
        upper = -_figure(nominal_mm, letter, grade, letter)
        return upper - width, upper
    if name == "J":
        lower = -_figure(nominal_mm, {"6": "j5"}.get(grade, f"j{grade}"), grade, letter)
        return lower, lower + width
    lower = 0.0 if name == "K" and grade not in ("4", "5", "6", "7") else _figure(nominal_mm, letter, grade, letter)
    return lower, lower + width


def _hole(nominal_mm: float, letter: str, grade: str, width: float) -> tuple[float, float]:
    """Lower and upper deviation of a hole, um: the shaft's mirrored, but for J and, with delta, for K to ZC."""
    if letter == "JS":
        return -width / 2, width / 2
    if letter == "H":
        return 0.0, width
    if letter in _APART:
        lower = _figure(nominal_mm, "EF" if letter == "EF" else letter.lower(), grade, letter)
        return lower, lower + width
    upper = _upper_of_hole(nominal_mm, letter, grade)
    return upper - width, upper


def _upper_of_hole(nominal_mm: float, letter: str, grade: str) -> float:
    """Upper deviation of a hole J to ZC, um."""
    if letter == "J":
        return _figure(nominal_mm, f"J{grade}", grade, letter)
    number = GRADES.index(grade) - 1
    if letter == "K" and number > 8 and 3.0 < nominal_mm <= DELTA_UP_TO_MM:
        _none_for(f"K{grade}", nominal_mm)
    if letter == "N" and number > 8 and nominal_mm <= 1.0:
        _none_for(f"N{grade}", nominal_mm)
    if letter == "N" and number > 8 and 3.0 < nominal_mm <= DELTA_UP_TO_MM:
        return 0.0
    if letter == "M" and number == 6 and 250.0 < nominal_mm <= 315.0:
        return -9.0  # the table's own figure; the rule would give -11
    upper = -_figure(nominal_mm, letter.lower(), grade, letter)
    with_delta = number <= (8 if letter in ("K", "M", "N") else 7)
    return upper + _delta(nominal_mm, letter, grade) if with_delta else upper


def _delta(nominal_mm: float, letter: str, grade: str) -> float:
    """IT of the grade less IT of the next finer one, um; 0 up to 3 mm and above 500 mm; grades 3 to 8 only."""
    if nominal_mm <= 3.0 or nominal_mm > DELTA_UP_TO_MM:
        return 0.0
    at = GRADES.index(grade)
    if at - 1 < 3:
        _none_for(f"{letter}{grade}", nominal_mm)
    wide, fine = (tolerance_um(nominal_mm, GRADES[i]) or 0.0 for i in (at, at - 1))
    return wide - fine


def _figure(nominal_mm: float, row: str, grade: str, letter: str) -> float:
    """A figure of the table, um, or the refusal that it has none."""
    found = None
    if not (letter.upper() in ("A", "B") and nominal_mm <= 1.0):
        found = deviation_um(nominal_mm, row) if row[:1] not in "jJ" or row in _J_ROWS else None
    if found is None:
        _none_for(f"{letter}{grade}", nominal_mm)
    return found


_J_ROWS = ("j5", "j7", "j8", "J6", "J7", "J8")


def _none_for(code: str, nominal_mm: float) -> NoReturn:
    _refuse(f"be one that ISO 286-1 has for {nominal_mm:g} mm", f'"{code}", which it does not have there', _GIVE)


def _refuse(rule: str, found: str, way_out: str) -> NoReturn:
    raise InputError("size", "the code", rule, found, way_out)


def _mm(micrometres: float) -> float:
    """Millimetres of hundredths of a micrometre, as the decimal number reads; never minus zero."""
    return (math.floor(micrometres * 100 + 0.5) / 1e5) + 0.0
