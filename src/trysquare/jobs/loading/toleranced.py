"""From a requirement's table to its limits: numbers, a code of ISO 286, or the drawing's general tolerance."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ...core.errors import InputError
from ...tolerances import general as stated
from ...tolerances.general import General
from ...tolerances.limits_and_fits import limits
from ...tolerances.nominal import Nominal
from ..job import DIMENSIONS
from . import schema_drawing as drawing
from .checks.sources import CODES, GENERAL
from .findings import Findings
from .locate import Path as KeyPath

#: Rounding of an angle that was written in degrees, rad.
_SLIP_RAD = 1e-12
#: Directions of two faces of one width agree to this, rad.
_PARALLEL_RAD = math.radians(0.1)
_LAPSED = "ISO 2768-2:1989, withdrawn in 2021 for ISO 22081 and in use on drawings"


@dataclass(frozen=True)
class Limits:
    """Nominal and absolute limits, mm or rad; `said` what a code or a general tolerance was taken to mean."""

    nominal: float | None
    lower: float | None
    upper: float | None
    diameter: bool = False
    code: str | None = None
    said: tuple[str, ...] = ()


def limits_of(
    asked: drawing.Requirement,
    features: Mapping[str, Nominal],
    datums: Mapping[str, str],
    general: General | None,
    path: KeyPath,
    findings: Findings,
) -> Limits:
    """The limits of one requirement; where they cannot be had the reason is among the findings, and any will do."""
    kind = asked.kind
    on = [features[name] for name in asked.on if name in features]
    whole = len(on) == (2 if kind in ("distance", "angle") else 1)
    try:
        if kind in DIMENSIONS:
            return _dimension(asked, on if whole else [], general)
        return _zone(asked, on if whole else [], features, datums, general)
    except InputError as error:
        key = "code" if error.where == "size" else ""
        source = CODES if key else GENERAL
        findings.adopt((*path, kind, key) if key else (*path, kind), error, source=source)
        nominal = getattr(getattr(asked, kind), "nominal", None)
        return Limits(nominal, (nominal or 1.0) - 1.0, (nominal or 1.0) + 1.0)


def _dimension(asked: drawing.Requirement, on: Sequence[Nominal], general: General | None) -> Limits:
    table = asked.size or asked.radius or asked.distance or asked.angle
    if table is None:
        raise ValueError("a dimension has a nominal")
    code = getattr(table, "code", None)
    bare = table.lower is None and table.upper is None
    if code is not None:
        if not bare:
            raise InputError("size", "the code", "stand without lower and upper", "both", "Drop one of the two.")
        return _by_code(asked.kind, table.nominal, code, on)
    if bare and general is not None and on:
        return _by_general(asked.kind, table.nominal, on, general)
    nominal, low, high = table.nominal, table.lower, table.upper
    lower, upper = None if low is None else nominal + low, None if high is None else nominal + high
    if asked.angle is not None:
        lower, upper = _angles(lower, upper)
    return Limits(nominal, lower, upper)


def _angles(lower: float | None, upper: float | None) -> tuple[float | None, float | None]:
    """An angle lies between 0 and 180 degrees: a limit at or beyond these is none."""
    return (
        lower if lower is not None and lower > _SLIP_RAD else None,
        upper if upper is not None and upper < math.pi - _SLIP_RAD else None,
    )


def _by_code(kind: str, nominal: float, code: str, on: Sequence[Nominal]) -> Limits:
    found = limits(nominal, code)
    inside = _inside(kind, on)
    if inside is not None and inside != found.hole:
        what, other = ("a hole", code.upper()) if inside else ("a shaft", code.lower())
        letters = "capital letters" if inside else "small letters"
        raise InputError(
            "size", "the code", f"have {letters} on {what}", f'"{code}"',
            f'Write "{other}" if the drawing says so, or correct the feature (inside, or the normals of its planes).',
        )  # fmt: skip
    said = (
        f"{nominal:g} {code} is {nominal:g} {found.lower_mm:+g} / {found.upper_mm:+g} mm (ISO 286-1:2010, 286-2:2010)"
    )
    return Limits(
        nominal, nominal + found.lower_mm, nominal + found.upper_mm, code=code, said=("; ".join((said, *found.notes)),)
    )


def _inside(kind: str, on: Sequence[Nominal]) -> bool | None:
    """Whether the feature of size is an internal one; None where the features do not tell (and are refused)."""
    if not on or any(n.kind not in ("cylinder", "circle", "sphere", "plane") for n in on):
        return None
    if kind == "size":
        return on[0].inside
    if not is_width(on):
        raise InputError(
            "size", "the code", "be on a feature of size: a diameter, or two parallel planes with opposite normals",
            "another distance", "Steps and centre distances have no code: give lower and upper.",
        )  # fmt: skip
    first, second = on
    return bool((second.point_mm - first.point_mm) @ first.frame()[2] > 0)


def is_width(on: Sequence[Nominal]) -> bool:
    """Whether two features are the opposite faces of one width."""
    if len(on) != 2 or any(n.kind != "plane" for n in on):
        return False
    return bool(on[0].frame()[2] @ on[1].frame()[2] < -math.cos(_PARALLEL_RAD))


def _by_general(kind: str, nominal: float, on: Sequence[Nominal], general: General) -> Limits:
    part = "ISO 2768-1:1989" if general.by_class else "ISO 22081:2021"
    if kind == "angle":
        off = stated.angular(general, _shorter_leg(on), what="an angle")
        lower, upper = _angles(nominal - off, nominal + off)
        said = f"{math.degrees(nominal):g} ± {math.degrees(off):.4g} deg"
        return Limits(nominal, lower, upper, said=(_none_of_its_own(said, general, part),))
    if kind == "radius" and not on[0].inside:
        off = stated.edge(general, nominal, what="an external radius")
    else:
        of_size = kind == "size" or (kind == "distance" and is_width(on))
        off = stated.linear(general, nominal, of_size=of_size, what=f"a {kind}")
    said = _none_of_its_own(f"{nominal:g} ± {off:g} mm", general, part)
    return Limits(nominal, nominal - off, nominal + off, said=(said,))


def _none_of_its_own(what: str, general: General, part: str) -> str:
    return f"no tolerance of its own on the drawing: {what} by its general tolerance {general.text} ({part})"


def _zone(
    asked: drawing.Requirement, on: Sequence[Nominal], features: Mapping[str, Nominal], datums: Mapping[str, str],
    general: General | None,
) -> Limits:  # fmt: skip
    table = asked.flatness or asked.parallelism or asked.perpendicularity or asked.position
    if table is None:
        raise ValueError("a requirement has one characteristic")
    if table.zone is not None:
        return Limits(None, 0.0, table.zone.width_mm, table.zone.diameter)
    if general is None:
        way_out = 'Add: zone = ..., or state the general tolerance of the drawing: general = "ISO 2768-mK".'
        raise InputError("zone", "its zone", "be given", "nothing", way_out)
    if not on:
        return Limits(None, 0.0, 1.0)
    if asked.flatness is not None:
        width = stated.flatness(general, max(on[0].size_mm) if on[0].size_mm else None, what="a flatness")
    elif asked.perpendicularity is not None:
        width = _squareness(on[0], features.get(datums.get(asked.perpendicularity.datums[0], "")), general)
    else:
        raise InputError(
            "zone", "a parallelism", "have a zone of its own", f"{general.text} only",
            "ISO 2768-2 takes it from a size tolerance between the two, which is not named here: give zone = ...",
        )  # fmt: skip
    return Limits(None, 0.0, width, said=(_none_of_its_own(f"{width:g} mm", general, _LAPSED),))


def _squareness(plane: Nominal, datum: Nominal | None, general: General) -> float:
    if plane.kind != "plane" or datum is None or datum.kind != "plane":
        raise InputError(
            "zone", "a perpendicularity", "have a zone of its own but between two planes", f"{general.text} only",
            "Give zone = ...",
        )  # fmt: skip
    return stated.perpendicularity(general, _shorter_leg((plane, datum)), what="a perpendicularity")


def _shorter_leg(on: Sequence[Nominal]) -> float | None:
    """The shorter of the two sides of an angle, mm; None where a feature has no length there."""
    first, second = on
    legs = [_leg(first, second.frame()[2]), _leg(second, first.frame()[2])]
    known = [leg for leg in legs if leg is not None]
    return min(known) if len(known) == 2 else None


def _leg(nominal: Nominal, towards: np.ndarray) -> float | None:
    """How long a feature is in the plane of the angle: a plane across the edge that it makes with the other."""
    if nominal.kind != "plane":
        return nominal.length_mm
    if nominal.size_mm is None:
        return None
    u, v, w = nominal.frame()
    side = towards - (towards @ w) * w
    length = float(np.linalg.norm(side))
    if length < math.sin(_PARALLEL_RAD):
        return min(nominal.size_mm)
    return float(abs(side @ u) * nominal.size_mm[0] + abs(side @ v) * nominal.size_mm[1]) / length
