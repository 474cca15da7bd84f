"""Units at the edges. Inside: mm, rad, degC, Pa, 1."""

import math
import re

from .errors import InputError

_INCH = 25.4  # exact (international inch, 1959)
UNITS: dict[str, dict[str, tuple[float, float]]] = {  # kind -> unit -> (factor, offset): inside = factor * (x + offset)
    "length": {
        "mm": (1.0, 0.0), "m": (1000.0, 0.0), "cm": (10.0, 0.0), "um": (1e-3, 0.0), "µm": (1e-3, 0.0),
        "nm": (1e-6, 0.0), "in": (_INCH, 0.0), "inch": (_INCH, 0.0), "mil": (_INCH / 1000, 0.0),
        "ft": (12 * _INCH, 0.0),
    },
    "angle": {
        "rad": (1.0, 0.0), "mrad": (1e-3, 0.0), "urad": (1e-6, 0.0), "µrad": (1e-6, 0.0),
        "deg": (math.pi / 180, 0.0), "°": (math.pi / 180, 0.0), "arcmin": (math.pi / 10800, 0.0),
        "arcsec": (math.pi / 648000, 0.0), "gon": (math.pi / 200, 0.0),
    },
    "temperature": {"degC": (1.0, 0.0), "°C": (1.0, 0.0), "C": (1.0, 0.0), "K": (1.0, -273.15),
                    "degF": (5 / 9, -32.0), "°F": (5 / 9, -32.0)},
    "difference": {"K": (1.0, 0.0), "degC": (1.0, 0.0), "°C": (1.0, 0.0), "degF": (5 / 9, 0.0), "°F": (5 / 9, 0.0)},
    "pressure": {"Pa": (1.0, 0.0), "hPa": (100.0, 0.0), "kPa": (1e3, 0.0), "mbar": (100.0, 0.0), "bar": (1e5, 0.0),
                 "mmHg": (133.322387415, 0.0), "inHg": (3386.389, 0.0), "psi": (6894.757293168, 0.0)},
    "ratio": {"1": (1.0, 0.0), "%": (0.01, 0.0), "ppm": (1e-6, 0.0), "um/m": (1e-6, 0.0), "µm/m": (1e-6, 0.0)},
    "expansion": {"1/K": (1.0, 0.0), "ppm/K": (1e-6, 0.0), "um/(m K)": (1e-6, 0.0)},
}  # fmt: skip
_QUANTITY = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(\S.*?)?\s*$")


def convert(value: float, unit: str, kind: str, *, where: str = "value") -> float:
    """Bring a number with a unit inside (mm, rad, degC, Pa, 1). Raises `InputError` for an unknown unit."""
    try:
        factor, offset = UNITS[kind][unit]
    except KeyError:
        raise InputError(
            where, f"the unit of {_a(kind)}", f"be one of {', '.join(UNITS[kind])}", f'"{unit}"',
            "Write the unit as listed.",
        ) from None  # fmt: skip
    return factor * (value + offset)


def _a(kind: str) -> str:
    return f"{'an' if kind[0] in 'aeiou' else 'a'} {kind}"


def quantity(text: float | int | str, kind: str, default: str, *, where: str = "value") -> float:
    """Read a number, or a text such as "0.002 in", as a quantity of `kind` in the inside unit.

    A bare number is in `default`. A comma in a number, a missing number or a wrong unit raises `InputError`.
    """
    if isinstance(text, bool) or not isinstance(text, (int, float, str)):
        raise InputError(where, _a(kind), 'be a number or a text such as "0.1 mm"', repr(text), "Correct it.")
    if not isinstance(text, str):
        if not math.isfinite(text):
            raise InputError(where, _a(kind), "be finite", repr(text), "Correct it.")
        return convert(float(text), default, kind, where=where)
    if re.search(r"\d,\d", text):
        raise InputError(
            where, _a(kind), "use a point as decimal sign and no comma", f'"{text}"',
            f'Write "{text.replace(",", ".")}" if the comma is a decimal sign.',
        )  # fmt: skip
    match = _QUANTITY.match(text)
    if not match:
        raise InputError(where, _a(kind), 'be a number with a unit, such as "0.1 mm"', f'"{text}"', "Correct it.")
    return convert(float(match[1]), match[2] or default, kind, where=where)
