"""Readings of hand tools on a part that never was: each at its place, on the warm part, as its display shows it."""

import math
from collections.abc import Mapping

import numpy as np

from ...chance.sources import Draws
from ...core.arrays import Array
from ...instruments.hand import WORDS, HandTool
from ...surroundings.heat import REFERENCE_DEGC, heat_errors
from ...tolerances.features import associate
from ...tolerances.location import distance
from ..job import HandSet, Job, Requirement
from .plan_points import opposite
from .survey import HandVisit, Survey
from .true_shape import TrueFeature


def hand_readings(
    job: Job, tools: Mapping[str, HandTool], features: Mapping[str, TrueFeature], survey: Survey, draws: Draws
) -> tuple[HandSet, ...]:
    """One set of readings a tool, in the order of the survey."""
    names = dict.fromkeys(visit.instrument for visit in survey.hand)
    return tuple(
        _readings(job, tools[name], [v for v in survey.hand if v.instrument == name], features, draws) for name in names
    )


def local_sizes(requirement: Requirement, visit: HandVisit, features: Mapping[str, TrueFeature]) -> Array:
    """True lengths (places,) that a tool meets at the places of a visit, mm at 20 degC.

    A size: between the two ends of the diameter there. A distance: between the two features as a whole.
    """
    first = features[requirement.on[0]]
    if requirement.characteristic == "size":
        ends = [first.at(opposite(first.nominal, *place)) for place in visit.places.values()]
        return np.array([np.linalg.norm(b - a) for a, b in ends])
    a, b = (associate(f.dense(), f.nominal, where="true feature") for f in (first, features[requirement.on[1]]))
    return np.full(len(visit.places), float(distance(a, b, along=requirement.direction)))


def _readings(
    job: Job, tool: HandTool, visits: list[HandVisit], features: Mapping[str, TrueFeature], draws: Draws
) -> HandSet:
    requirements = {r.id: r for r in job.requirements}
    rows = [
        (visit, place, length)
        for visit in visits
        for place, length in zip(
            visit.places, local_sizes(requirements[visit.requirement], visit, features), strict=True
        )
        for _ in range(visit.repeats)
    ]
    lines = np.arange(2, len(rows) + 2, dtype=np.int64)
    file = f"{tool.name}.csv"
    ids = [f"{file}:{line}" for line in lines]
    value = np.empty(len(rows))
    zones = [job.features[requirements[v.requirement].on[0]].zone for v, _, _ in rows]
    for zone in dict.fromkeys(zones):
        mine = [i for i, z in enumerate(zones) if z == zone]
        value[mine] = _shown(job, tool, zone, [rows[i] for i in mine], [ids[i] for i in mine], draws)
    return HandSet(
        tool.name, file, tuple(v.requirement for v, _, _ in rows), tuple(p for _, p, _ in rows), value,
        np.array([math.nan if v.temperature_degC is None else v.temperature_degC for v, _, _ in rows]), lines,
    )  # fmt: skip


def _shown(
    job: Job, tool: HandTool, zone_name: str, rows: list[tuple[HandVisit, str, float]], ids: list[str], draws: Draws
) -> Array:
    """What the tool shows (n,) mm.

    The part is warmer and grows more than declared by its errors, so that they enter a reading with the other sign
    than they have in `length_errors`, which brings a given reading to 20 degC with other figures.
    """
    zone = job.zones[zone_name]
    declared = REFERENCE_DEGC if zone.temperature_degC is None else zone.temperature_degC
    part = np.array([declared if v.temperature_degC is None else v.temperature_degC for v, _, _ in rows])
    true = np.array([length for _, _, length in rows])
    per_mm = tool.lengths(np.ones(len(rows)), part_alpha=zone.alpha, part_temperature_degC=part)
    heat = heat_errors(zone, draws)
    step = display_step(tool) if draws.only is None else 0.0
    errors = tool.length_errors(
        true / per_mm, ids, _without_display(tool, draws), places=[f"{v.requirement}/{p}" for v, p, _ in rows],
        part_alpha=zone.alpha, part_temperature_degC=part, part_alpha_errors=zone.alpha - heat["alpha"],
        part_temperature_errors=declared - heat["temperature_degC"],
    )[0]  # fmt: skip
    reading = (true + errors) / per_mm
    return np.round(reading / step) * step if step else reading


def display_step(tool: HandTool) -> float:
    """Step of the display, mm, from its resolution (rectangular, half a step either way)."""
    return math.sqrt(12.0) * tool.parameters["resolution"].u


def _without_display(tool: HandTool, draws: Draws) -> Draws:
    """The draws without the error of the display, which rounding makes itself."""
    if draws.only is not None:
        return draws
    display = f"{tool.name}: {WORDS['resolution'][0]}"
    others = [source.name for source in tool.sources() if source.name != display]
    return Draws(draws.seed, draws.start, draws.stop, only=others)
