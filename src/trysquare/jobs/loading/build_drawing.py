"""From the job file's tables to the records of `job`: features, requirements, attributes."""

from ...tolerances.nominal import Nominal
from ..job import Attribute, DecisionRule, Feature, Requirement, Zone
from . import schema_drawing as drawing
from .build import direction, prior_of, vector
from .findings import Findings
from .messages import hint
from .schema import JobFile
from .toleranced import Limits, limits_of


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


def requirements_of(
    job: JobFile, features: dict[str, Feature], decision: DecisionRule, findings: Findings
) -> tuple[Requirement, ...]:
    """The requirements in file order."""
    general = None if job.general is None else job.general.stated()
    nominals = {name: feature.nominal for name, feature in features.items()}
    out = []
    for index, asked in enumerate(job.requirement):
        path = ("requirement", index)
        limits = limits_of(asked, nominals, job.datum, general, path, findings)
        out.append(_requirement(asked, path, limits, decision, findings))
    return tuple(out)


def _requirement(
    asked: drawing.Requirement, path: tuple[str, int], limits: Limits, decision: DecisionRule, findings: Findings
) -> Requirement:
    kind = asked.kind
    along = asked.distance.along if asked.distance else asked.position.direction if asked.position else None
    table = asked.parallelism or asked.perpendicularity or asked.position
    own = prior_of(asked.prior, "angle" if kind == "angle" else "length", (*path, "prior"), findings)
    return Requirement(
        id=asked.id, name=asked.name or asked.id, characteristic=kind, on=tuple(asked.on),
        datums=tuple(table.datums) if table else (), nominal=limits.nominal, lower=limits.lower, upper=limits.upper,
        diameter_zone=limits.diameter, operator=asked.size.operator if asked.size else "least-squares",
        direction=None if along is None else direction(along), sheet=asked.sheet, grid=asked.grid,
        critical=asked.critical, prior=own or (None if kind == "angle" else decision.prior),
        line=findings.document.line(path) or 0, code=limits.code, said=limits.said,
        revision=asked.revision, key=asked.key, state=asked.state,
    )  # fmt: skip


def associations_of(job: JobFile) -> dict[str, str]:
    """How each datum is laid, by letter; those by least squares are not in it."""
    whole = job.association.get("all", "least squares")
    found = {letter: job.association.get(letter, whole) for letter in job.datum}
    return {letter: name for letter, name in found.items() if name != "least squares"}


def attributes_of(job: JobFile, findings: Findings) -> tuple[Attribute, ...]:
    """The attributes in file order, before anything is recorded of them."""
    return tuple(
        Attribute(
            id=a.id, name=a.name or a.id, what=a.what, demand=a.demand, on=tuple(a.on or ()), sheet=a.sheet,
            grid=a.grid, critical=a.critical, line=findings.document.line(("attribute", i)) or 0,
            revision=a.revision, key=a.key,
        )
        for i, a in enumerate(job.attribute)
    )  # fmt: skip
