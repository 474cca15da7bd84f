"""Lines of a register: what a drawing asks, as words that two revisions can be compared by.

They come from a job, or from the result document of an earlier one, which says less; only what both say is compared.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from ..core.arrays import Array
from ..tolerances.nominal import Nominal
from .job import Attribute, Job, Requirement
from .result import Datum, DatumSystem, Judged, Result
from .systems import systems_of
from .texts import zone_text


@dataclass(frozen=True)
class Line:
    """One requirement. `facts` by what they are about; `lower`, `upper` in mm or rad; `verdict` where it was judged."""

    id: str
    name: str
    facts: dict[str, str]
    lower: float | None = None
    upper: float | None = None
    unit: str = "mm"
    verdict: str | None = None

    def alike(self) -> tuple[str, ...]:
        """What makes two lines the same requirement, whatever its number and its limits."""
        return tuple(self.facts.get(key, "") for key in ("characteristic", "features", "datums"))


@dataclass(frozen=True)
class Register:
    """All lines of one revision, by number, and the head of its drawing."""

    source: str
    head: dict[str, str | None]
    lines: dict[str, Line] = field(default_factory=dict)


def of_job(job: Job, source: str) -> Register:
    """The register of a job."""
    head = _head(job.part.drawing, job.part.revision, job.standard)
    held = _held(systems_of(job))
    lines = [_asked(job, r, held.get(r.id, "")) for r in job.requirements]
    lines += [_attribute(attribute) for attribute in job.attributes]
    return Register(source, head, {line.id: line for line in lines})


def of_result(result: Result, source: str) -> Register:
    """The register of a judged job, with its verdicts."""
    head = _head(result.drawing, result.revision, result.standard)
    held = _held(result.datum_systems)
    return Register(source, head, {j.id: _judged(j, held) for j in result.requirements})


def _head(drawing: str | None, revision: str | None, standard: str) -> dict[str, str | None]:
    return {"drawing": drawing, "revision": revision, "standard": standard}


def _asked(job: Job, r: Requirement, held: str) -> Line:
    facts = _facts(
        r.characteristic, r.on, r.datums, limits_text(zone_text(r), diameter=r.diameter_zone), r.sheet, r.grid,
        r.critical, r.key, r.state,
    )  # fmt: skip
    facts["operator"] = r.operator
    facts["direction"] = "" if r.direction is None else _vector(r.direction)
    facts["features as drawn"] = "; ".join(f"{name}: {_drawn(job.features[name].nominal)}" for name in job.needed(r))
    facts["datum features"] = held
    return Line(r.id, r.name, facts, r.lower, r.upper, "rad" if r.characteristic == "angle" else "mm")


def _attribute(a: Attribute) -> Line:
    kind = "attribute" if a.what == "other" else a.what
    facts = _facts(kind, a.on, (), a.demand, a.sheet, a.grid, a.critical, a.key, None)
    return Line(a.id, a.name, facts, unit="1")


def _judged(j: Judged, held: Mapping[str, str]) -> Line:
    limits = j.zone_text if j.kind == "attribute" else limits_text(j.zone_text, diameter=j.diameter_zone)
    facts = _facts(j.characteristic, j.on, j.datums, limits, j.sheet, j.grid, j.critical, j.key, j.state)
    if j.id in held or not j.datums:
        facts["datum features"] = held.get(j.id, "")
    return Line(j.id, j.name, facts, j.lower, j.upper, j.unit, j.verdict)


def limits_text(zone: str, *, diameter: bool) -> str:
    """The limits as a reader of both revisions sees them."""
    return f"diameter {zone}" if diameter else zone


def _facts(
    characteristic: str, on: tuple[str, ...] | list[str], datums: tuple[str, ...] | list[str], limits: str,
    sheet: str | None, grid: str | None, critical: bool, key: bool, state: str | None,
) -> dict[str, str]:  # fmt: skip
    marks = [word for word, marked in (("critical", critical), ("key", key)) if marked]
    return {
        "characteristic": characteristic,
        "features": ", ".join(on),
        "datums": " ".join(datums),
        "limits": limits,
        "place on the drawing": ", ".join(p for p in (f"sheet {sheet}" if sheet else "", grid or "") if p),
        "marks": ", ".join(marks),
        "state": state or "",
    }


def _held(systems: Sequence[DatumSystem]) -> dict[str, str]:
    """By requirement: the features of its datums and how they are laid."""
    return {id_: ", ".join(map(_carried, system.datums)) for system in systems for id_ in system.requirements}


def _carried(datum: Datum) -> str:
    return f"{datum.datum} = {' with '.join(datum.features)} ({datum.association})"


def _drawn(nominal: Nominal) -> str:
    words = [nominal.kind, f"at {_vector(nominal.point_mm)}"]
    words += [] if nominal.direction is None else [f"direction {_vector(nominal.direction)}"]
    words += [] if nominal.diameter_mm is None else [f"diameter {nominal.diameter_mm:.9g}"]
    words += [] if nominal.length_mm is None else [f"length {nominal.length_mm:.9g}"]
    words += [] if nominal.size_mm is None else [f"{nominal.size_mm[0]:.9g} x {nominal.size_mm[1]:.9g}"]
    return " ".join([*words, *(["inside"] if nominal.inside else [])])


def _vector(values: Array) -> str:
    """Components to nine figures, a negative zero as zero."""
    return "(" + ", ".join(f"{float(x) + 0.0:.9g}" for x in values) + ")"
