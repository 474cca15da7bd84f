"""Quantities of the job file as pydantic types: read with their unit, kept inside (mm, rad, degC, K, Pa, 1/K).

A bare length is in the unit that the file declares as `units`; validation gets it as context `{"units": ...}`. Where a
bare number would be a trap (angles, altitude, expansion) the unit must stand beside it.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any, NoReturn

from pydantic import BeforeValidator, Field, PlainValidator, ValidationInfo
from pydantic_core import PydanticCustomError

from ...core.errors import InputError
from ...core.units import UNITS, quantity

#: Type of the pydantic errors that carry rule, found and way out of our own.
OWN = "trysquare"
_LARGEST = 1e30  # beyond it lie slips only, and the overflow of a conversion
_Reader = Callable[[Any, ValidationInfo], float]


def refuse(rule: str, found: str, way_out: str, *, what: str = "") -> NoReturn:
    """Raise the pydantic error that `messages` turns into ours.

    `found` "" stands for the value as the file has it; `what` names the thing within the key, if not all of it.
    """
    raise PydanticCustomError(
        OWN, "must {rule}; got {found}", {"what": what, "rule": rule, "found": found, "way_out": way_out}
    )


def read(value: Any, kind: str, default: str, example: str) -> float:
    """One quantity of `kind`; `default` "" means that the unit must be written, as in `example`."""
    bare = isinstance(value, (int, float)) and not isinstance(value, bool)
    if bare and abs(value) > _LARGEST:
        refuse("be a number of this world", "", "Correct it.")
    if bare and not default:
        refuse(f"carry its own unit ({', '.join(UNITS[kind])})", repr(value), f'Write it as a text: "{example}".')
    try:
        found = quantity(value, kind, default)
    except InputError as error:
        plain = error.what in (f"a {kind}", f"an {kind}")
        way_out = f'Write it as in "{example}".' if error.way_out == "Correct it." else error.way_out
        refuse(error.rule, error.found, way_out, what="" if plain else error.what)
    if not abs(found) <= _LARGEST * 1e3:
        refuse("be a number of this world", "", "Correct it.")
    return found


def _reader(kind: str, default: str, example: str) -> _Reader:
    return lambda value, info: read(value, kind, default, example)


def _length(value: Any, info: ValidationInfo) -> float:
    units = (info.context or {}).get("units", "mm")
    return read(value, "length", units, "0.002 in")


def _per_cent(value: Any, info: ValidationInfo) -> float:
    return 100.0 * read(value, "ratio", "%", "45 %")


def _ppm(value: Any, info: ValidationInfo) -> float:
    return 1e6 * read(value, "ratio", "ppm", "450 ppm")


def _either(reader: _Reader) -> BeforeValidator:
    return BeforeValidator(reader, json_schema_input_type=float | str)


def _with_unit(kind: str, example: str) -> BeforeValidator:
    return BeforeValidator(_reader(kind, "", example), json_schema_input_type=str)


def _named(words: str) -> Any:
    """What kind of quantity it is, for the published schema and the reference."""
    return Field(json_schema_extra={"x-quantity": words})


Length = Annotated[float, _either(_length), _named("length")]
PositiveLength = Annotated[float, Field(gt=0), _either(_length), _named("length above zero")]
Altitude = Annotated[float, _with_unit("length", "250 m"), _named("length with its unit")]
Angle = Annotated[float, _with_unit("angle", "0.05 deg"), _named("angle with its unit")]
Temperature = Annotated[float, _either(_reader("temperature", "degC", "23.8 degC")), _named("temperature, degC")]
Difference = Annotated[float, _either(_reader("difference", "K", "0.3 K")), _named("temperature difference, K")]
Pressure = Annotated[float, _either(_reader("pressure", "Pa", "98.4 kPa")), _named("pressure, Pa")]
PerCent = Annotated[float, _either(_per_cent), _named("ratio, %")]
PartsPerMillion = Annotated[float, _either(_ppm), _named("ratio, ppm")]
Expansion = Annotated[float, _with_unit("expansion", "11.5 ppm/K"), _named("expansion with its unit")]


@dataclass(frozen=True)
class ZoneWidth:
    """Width of a tolerance zone, mm; `diameter` says that it is a cylinder or a sphere."""

    width_mm: float
    diameter: bool


def _zone(value: Any, info: ValidationInfo) -> ZoneWidth:
    words = value.split() if isinstance(value, str) else []
    diameter = words[:1] == ["diameter"]
    width = _length(" ".join(words[1:]) if diameter else value, info)
    if not width > 0:
        refuse("be above zero", "", "Write the width of the zone as the drawing has it.")
    return ZoneWidth(width, diameter)


Zone = Annotated[
    ZoneWidth, PlainValidator(_zone, json_schema_input_type=float | str), _named('width, or "diameter" and width')
]


@dataclass(frozen=True)
class Departure:
    """A deviation from a nominal: `kind` is "length" (mm) or "angle" (rad)."""

    value: float
    kind: str


def _departure(value: Any, info: ValidationInfo) -> Departure:
    unit = value.split()[-1] if isinstance(value, str) and value.split() else ""
    if any(unit.endswith(angle) for angle in UNITS["angle"]):
        return Departure(read(value, "angle", "", "0.05 deg"), "angle")
    return Departure(_length(value, info), "length")


Deviation = Annotated[
    Departure, PlainValidator(_departure, json_schema_input_type=float | str), _named("length, or angle with its unit")
]


def _figure(value: Any) -> float | str:
    """A number or a text, as it is: the catalogue knows which unit the figure needs."""
    if isinstance(value, bool) or not isinstance(value, (int, float, str)):
        refuse('be a number or a text with a unit, such as "0.5 um"', "", "Correct it.")
    return value


RawFigure = Annotated[float | str, PlainValidator(_figure, json_schema_input_type=float | str)]
