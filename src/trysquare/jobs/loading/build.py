"""From the job file's tables to the records of `job`: part, place, decision, balls, nests."""

import math

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.errors import InputError
from ...surroundings import atmosphere
from ...surroundings.heat import REFERENCE_DEGC, UNMEASURED_U
from ...surroundings.materials import Material, material
from ..job import Air, DecisionRule, Nest, PartInfo, Place, Prior, Target, Zone
from . import schema
from .findings import Findings
from .locate import Path as KeyPath
from .readings import locked
from .schema_drawing import Prior as PriorTable

#: Where nobody measured the air of a hall: 20 degC +- 5 K, 50 % +- 20 %, 450 ppm +- 100 ppm as standard uncertainties;
#: pressure of the standard atmosphere, at an altitude of 0 to 1000 m where none is given. Common practice, no source.
ASSUMED_AIR = {"temperature": (20.0, 5.0), "humidity": (50.0, 20.0), "co2": (450.0, 100.0)}
_ASSUMED_ALTITUDE_M = (0.0, 1000.0)
#: An expansion beyond this, 1/K, is a slip of unit: no solid used in workshops reaches it (common practice, no source).
_LARGEST_EXPANSION = 3e-4
_KINDS = {"length": "a length", "angle": "an angle with its unit"}
_UNKNOWN = Material("unknown", 0.0, 0.0, "unknown")


def vector(values: npt.ArrayLike) -> Array:
    """A read-only vector of floats."""
    return locked(np.array(values, dtype=np.float64))


def direction(values: list[float]) -> Array:
    """A read-only unit vector."""
    raw = np.array(values, dtype=np.float64)
    return locked(raw / np.linalg.norm(raw))


def part_of(part: schema.Part, findings: Findings) -> PartInfo:
    """Who and what the part is; a restrained part says how, a safety-critical one who signs."""
    if part.state == "restrained" and part.supports is None:
        findings.error(
            ("part", "supports"), "be given for a restrained part", "nothing",
            'Add: supports = "..." with how it was held, or state = "free".',
        )  # fmt: skip
    if part.state == "free" and part.supports is not None:
        findings.error(
            ("part", "supports"), 'go with state = "restrained"', f'"{part.supports}" on a free part',
            "Drop supports, or write restrained.",
        )  # fmt: skip
    if part.safety_critical and part.sign_off is None:
        findings.error(
            ("part", "sign_off"), "be given for a safety-critical part", "nothing",
            'Add: sign_off = "..." with who must sign before the part is used.',
        )  # fmt: skip
    return PartInfo(
        part.name, part.drawing, part.revision, part.serial, part.measured, part.state, part.supports,
        part.safety_critical, part.sign_off,
    )  # fmt: skip


def zones_of(part: schema.Part, findings: Findings) -> dict[str, Zone]:
    """The zones by name."""
    zones: dict[str, Zone] = {}
    for i, zone in enumerate(part.zone):
        path: KeyPath = ("part", "zone", i)
        if zone.name in zones:
            findings.error((*path, "name"), "be used once", f'"{zone.name}" again', "Rename one of the two zones.")
        zones[zone.name] = _zone(zone, path, findings)
    return zones


def _zone(zone: schema.Zone, path: KeyPath, findings: Findings) -> Zone:
    matter = _matter(zone, path, findings)
    anchor = vector(zone.anchor or [0.0, 0.0, 0.0])
    if zone.temperature is None:
        findings.warn(
            (*path, "temperature"), "be measured for the readings to be brought to 20 degC", "nothing",
            f"{REFERENCE_DEGC:g} degC with u = {UNMEASURED_U:.1f} K is assumed: nothing is corrected, and the "
            "uncertainty is larger. Measure the part's temperature and add it.",
        )  # fmt: skip
        return Zone(zone.name, zone.material, matter.alpha, matter.u_alpha, matter.origin, None, UNMEASURED_U,
                    vector([0.0] * 3), anchor)  # fmt: skip
    t, g = zone.temperature, zone.temperature.gradient
    gradient = vector([0.0] * 3) if g is None else locked(direction(g.along) * (g.per_m / 1000.0))
    return Zone(zone.name, zone.material, matter.alpha, matter.u_alpha, matter.origin, t.value, t.u, gradient, anchor)


def _matter(zone: schema.Zone, path: KeyPath, findings: Findings) -> Material:
    if zone.expansion is None:
        try:
            return material(zone.material)
        except InputError as error:
            findings.error((*path, "material"), error.rule, error.found, error.way_out)
            return _UNKNOWN
    alpha = zone.expansion.value
    if abs(alpha) > _LARGEST_EXPANSION:
        findings.error(
            (*path, "expansion", "value"), "lie within +-300 ppm/K", f"{alpha * 1e6:g} ppm/K",
            "Check its unit: steel has 11.5 ppm/K, which is 0.0000115 1/K.",
        )  # fmt: skip
    return Material(zone.material, alpha, zone.expansion.u, "declared in the job")


def place_of(place: schema.Place, findings: Findings, *, seen: bool) -> Place:
    """The place with its air; `seen` says that a station looks through it."""
    altitude = None if place.altitude is None else place.altitude / 1000.0
    return Place(place.name, altitude, air_of(place.air, altitude, ("place", "air"), findings, seen=seen))


def air_of(
    air: schema.Air | None, altitude_m: float | None, path: KeyPath, findings: Findings, *, seen: bool = True
) -> Air:
    """The air as declared; what is missing is assumed with a large uncertainty, and a warning where it is `seen`."""
    given = air or schema.Air()
    pressure, u_pressure = _pressure(given, altitude_m, path, findings)
    assumed = dict(ASSUMED_AIR)
    values = {
        name: assumed[name] if table is None else (table.value, table.u)
        for name, table in (("temperature", given.temperature), ("humidity", given.humidity), ("co2", given.co2))
    }
    found = Air(
        *values["temperature"], pressure, u_pressure, *values["humidity"], *values["co2"],
        assumed=given.temperature is None or given.pressure is None,
    )  # fmt: skip
    if seen:
        _say_assumed(given, found, path, findings)
    return found


def _pressure(air: schema.Air, altitude_m: float | None, path: KeyPath, findings: Findings) -> tuple[float, float]:
    try:
        bounds = None if altitude_m is None else atmosphere.pressure_bounds(altitude_m)
        low, high = (float(atmosphere.standard_pressure(h)) for h in _ASSUMED_ALTITUDE_M[::-1])
        usual = (low + high) / 2 if altitude_m is None else float(atmosphere.standard_pressure(altitude_m))
    except InputError as error:
        findings.error(("place", "altitude"), error.rule, error.found, error.way_out)
        return 101325.0, atmosphere.WEATHER_U
    if air.pressure is None:
        spread = (high - low) / math.sqrt(12) if altitude_m is None else 0.0
        return usual, math.hypot(atmosphere.WEATHER_U, spread)
    if bounds is not None and not bounds[0] <= air.pressure.value <= bounds[1]:
        findings.error(
            (*path, "pressure", "value"),
            f"lie between {bounds[0] / 100:.0f} and {bounds[1] / 100:.0f} hPa at {altitude_m:g} m",
            f"{air.pressure.value / 100:.1f} hPa",
            "Read the barometer at the instrument, not a weather report: those are reduced to sea level. "
            "Check the unit and the altitude.",
        )  # fmt: skip
    return air.pressure.value, air.pressure.u


def _say_assumed(given: schema.Air, found: Air, path: KeyPath, findings: Findings) -> None:
    texts = {
        "temperature": f"{found.temperature_degC:g} degC with u = {found.u_temperature:g} K",
        "pressure": f"{found.pressure_Pa / 100:.0f} hPa with u = {found.u_pressure / 100:.0f} hPa",
        "humidity": f"{found.humidity_percent:g} % with u = {found.u_humidity:g} %",
        "co2": f"{found.co2_ppm:g} ppm with u = {found.u_co2:g} ppm",
    }
    missing = {name: text for name, text in texts.items() if getattr(given, name) is None}
    if missing:
        names = ", ".join(missing)
        findings.warn(
            path, f"give {names}", "nothing",
            f"Assumed: {'; '.join(missing.values())}. Measure them at the instrument if a tracker is used.",
            what="the air",
        )  # fmt: skip


def decision_of(decision: schema.Decision, findings: Findings) -> DecisionRule:
    """The rule of decision; the customer proves non-conformity unless told otherwise (ISO 14253-1)."""
    prove = decision.prove or ("conformity" if decision.who_proves == "supplier" else "non-conformity")
    prior = prior_of(decision.prior, "length", ("decision", "prior"), findings)
    return DecisionRule(decision.rule, decision.who_proves, prove, decision.probability, prior)


def prior_of(prior: PriorTable | None, kind: str, path: KeyPath, findings: Findings) -> Prior | None:
    """A prior for a quantity of `kind` ("length" or "angle"), or None where none is named."""
    if prior is None:
        return None
    for key, number in (("mean", prior.mean), ("sd", prior.sd)):
        if number.kind != kind and not (key == "mean" and number.value == 0.0):
            findings.error(
                (*path, key), f"be {_KINDS[kind]}", _KINDS[number.kind], "Write it in the unit of the requirement."
            )
    if not prior.sd.value > 0:
        findings.error(
            (*path, "sd"), "be above zero", f"{prior.sd.value:g}", "Write the spread of the process, or drop the prior."
        )
    return Prior(prior.mean.value, prior.sd.value, prior.origin)


def targets_of(job: schema.JobFile) -> dict[str, Target]:
    return {
        name: Target(name, ball.diameter / 2, ball.u_radius, ball.centring, ball.origin)
        for name, ball in job.target.items()
    }


def nests_of(job: schema.JobFile) -> dict[str, Nest]:
    return {name: Nest(name, nest.takes, nest.height, nest.u_height) for name, nest in job.nest.items()}
