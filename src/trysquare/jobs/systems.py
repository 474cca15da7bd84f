"""The datum systems of a job: which datum fixes which of the six freedoms, and what stays open."""

from ..tolerances.freedoms import DatumFreedoms, freedoms
from .job import Job
from .result import Datum, DatumSystem

ASSOCIATION = "least squares"


def systems_of(job: Job) -> list[DatumSystem]:
    """Every datum system that a requirement uses, each once, in the order of the job file."""
    return [_system(job, datums) for datums in dict.fromkeys(r.datums for r in job.requirements if r.datums)]


def _system(job: Job, datums: tuple[str, ...]) -> DatumSystem:
    found = freedoms_of(job, datums)
    entries = [
        Datum(datum=datum, features=list(job.carriers(datum)), association=ASSOCIATION, fixes=list(fixed))
        for datum, fixed in zip(datums, found.fixed, strict=True)
    ]
    used = [r.id for r in job.requirements if r.datums == datums]
    return DatumSystem(datums=entries, open=list(found.open), requirements=used)


def freedoms_of(job: Job, datums: tuple[str, ...]) -> DatumFreedoms:
    """The freedoms that the nominal features of a datum system fix."""
    return freedoms([[job.features[name].nominal for name in job.carriers(datum)] for datum in datums])


def name_of(system: DatumSystem) -> str:
    """Its datums as the drawing lists them."""
    return " ".join(datum.datum for datum in system.datums)


def fixed_text(system: DatumSystem) -> str:
    """Who fixes what, in one sentence without its stop."""
    parts = [f"{d.datum} fixes {', '.join(d.fixes) or 'nothing new'}" for d in system.datums]
    left = f"{', '.join(system.open)} stays open" if system.open else "nothing stays open"
    return f"{'; '.join(parts)}; {left}"
