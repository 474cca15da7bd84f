"""The datum systems of a job: which datum fixes which of the six freedoms, and what stays open."""

from ..tolerances.contact import ASSOCIATIONS
from ..tolerances.freedoms import DatumFreedoms, freedoms
from .job import Job, letters_of
from .result import Datum, DatumSystem


def systems_of(job: Job) -> list[DatumSystem]:
    """Every datum system that a requirement uses, each once, in the order of the job file."""
    return [_system(job, datums) for datums in dict.fromkeys(r.datums for r in job.requirements if r.datums)]


def _system(job: Job, datums: tuple[str, ...]) -> DatumSystem:
    found = freedoms_of(job, datums)
    entries = [
        Datum(
            datum=datum, features=list(job.carriers(datum)), association=association_of(job, datum), fixes=list(fixed)
        )
        for datum, fixed in zip(datums, found.fixed, strict=True)
    ]
    used = [r.id for r in job.requirements if r.datums == datums]
    return DatumSystem(datums=entries, open=list(found.open), requirements=used)


def association_of(job: Job, datum: str) -> str:
    """How a datum is laid against its features, as the job file names it; for a common datum that of its first."""
    return job.associations.get(letters_of(datum)[0], "least squares")


def norms_of(job: Job, datums: tuple[str, ...]) -> list[str | None]:
    """The norm in which each datum touches; None for least squares."""
    return [ASSOCIATIONS[association_of(job, datum)] for datum in datums]


def touches(job: Job, datums: tuple[str, ...]) -> bool:
    """Whether any datum of a system is laid by touching."""
    return any(norm is not None for norm in norms_of(job, datums))


def freedoms_of(job: Job, datums: tuple[str, ...]) -> DatumFreedoms:
    """The freedoms that the nominal features of a datum system fix."""
    return freedoms([[job.features[name].nominal for name in job.carriers(datum)] for datum in datums])


def name_of(system: DatumSystem) -> str:
    """Its datums as the drawing lists them."""
    return " ".join(datum.datum for datum in system.datums)


def fixed_text(system: DatumSystem) -> str:
    """Who fixes what, in one sentence without its stop."""
    parts = [f"{d.datum} fixes {', '.join(d.fixes) or 'nothing new'}" for d in system.datums]
    verb = "stay" if len(system.open) > 1 else "stays"
    left = f"{', '.join(system.open) or 'nothing'} {verb} open"
    return f"{'; '.join(parts)}; {left}"
