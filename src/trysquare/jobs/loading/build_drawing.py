"""From the job file's tables to the records of `job`: features, datums, requirements."""

import math

from ...tolerances.nominal import Nominal
from ..job import DecisionRule, Feature, Requirement, Zone
from . import schema_drawing as drawing
from .build import direction, prior_of, vector
from .findings import Findings
from .messages import hint
from .schema import JobFile

#: Rounding of an angle that was written in degrees, rad.
_SLIP_RAD = 1e-12


def features_of(job: JobFile, zones: dict[str, Zone], findings: Findings) -> dict[str, Feature]:
    """The features by name; a feature without a zone belongs to the only one."""
    return {name: _feature(name, feature, zones, findings) for name, feature in job.feature.items()}


def _feature(name: str, feature: drawing.Feature, zones: dict[str, Zone], findings: Findings) -> Feature:
    zone = feature.zone or next(iter(zones))
    path = ("feature", name, "zone")
    listed = ", ".join(zones)
    if zone not in zones:
        way_out = hint(zone, zones, "Add it to the part, or correct it.")
        findings.error(path, f"be a zone of the part: {listed}", f'"{zone}"', way_out)
    elif feature.zone is None and len(zones) > 1:
        findings.error(path, f"be given where there are several: {listed}", "nothing", f'Add: zone = "{zone}"')
    form = feature.form
    return Feature(
        name, nominal_of(feature), zone, feature.points, form.expected if form else None,
        form.wavelength if form else None,
    )  # fmt: skip


def nominal_of(feature: drawing.Feature) -> Nominal:
    """The nominal geometry of a feature's table."""
    if feature.plane is not None:
        p = feature.plane
        size = None if p.size is None else (p.size[0], p.size[1])
        along = None if p.along is None else direction(p.along)
        return Nominal("plane", vector(p.point), direction(p.normal), size_mm=size, along=along)
    if feature.cylinder is not None:
        c = feature.cylinder
        return Nominal("cylinder", vector(c.point), direction(c.axis), c.diameter, c.length, c.inside)
    if feature.circle is not None:
        o = feature.circle
        return Nominal("circle", vector(o.point), direction(o.normal), o.diameter, None, o.inside)
    if feature.sphere is not None:
        s = feature.sphere
        return Nominal("sphere", vector(s.point), None, s.diameter, None, s.inside)
    if feature.line is not None:
        line = feature.line
        return Nominal("line", vector(line.point), direction(line.direction), None, line.length)
    if feature.point is not None:
        return Nominal("point", vector(feature.point.point), direction(feature.point.normal))
    raise ValueError("a feature has one shape")


def requirements_of(job: JobFile, decision: DecisionRule, findings: Findings) -> tuple[Requirement, ...]:
    """The requirements in file order."""
    return tuple(_requirement(r, i, decision, findings) for i, r in enumerate(job.requirement))


def _requirement(asked: drawing.Requirement, index: int, decision: DecisionRule, findings: Findings) -> Requirement:
    kind = asked.kind
    nominal, lower, upper = _limits(asked)
    zone = getattr(asked, kind).zone if nominal is None else None
    along = asked.distance.along if asked.distance else asked.position.direction if asked.position else None
    table = asked.parallelism or asked.perpendicularity or asked.position
    path = ("requirement", index)
    own = prior_of(asked.prior, "angle" if kind == "angle" else "length", (*path, "prior"), findings)
    return Requirement(
        id=asked.id, name=asked.name or asked.id, characteristic=kind, on=tuple(asked.on),
        datums=tuple(table.datums) if table else (), nominal=nominal, lower=lower, upper=upper,
        diameter_zone=bool(zone and zone.diameter), operator=asked.size.operator if asked.size else "least-squares",
        direction=None if along is None else direction(along), sheet=asked.sheet, grid=asked.grid,
        critical=asked.critical, prior=own or (None if kind == "angle" else decision.prior),
        line=findings.document.line(path) or 0,
    )  # fmt: skip


def _limits(asked: drawing.Requirement) -> tuple[float | None, float | None, float | None]:
    """Nominal and absolute limits; a zone has no nominal and lies between 0 and its width.

    An angle lies between 0 and 180 degrees: a limit at or beyond these is none.
    """
    dimension = asked.size or asked.distance or asked.angle
    if dimension is None:
        return None, 0.0, getattr(asked, asked.kind).zone.width_mm
    nominal, low, high = dimension.nominal, dimension.lower, dimension.upper
    lower, upper = None if low is None else nominal + low, None if high is None else nominal + high
    if asked.angle is not None:
        lower = lower if lower is not None and lower > _SLIP_RAD else None
        upper = upper if upper is not None and upper < math.pi - _SLIP_RAD else None
    return nominal, lower, upper
