"""How datums are laid against their features: letters that exist, editions that the drawing has, systems that work."""

from ....tolerances.contact import ASSOCIATIONS, refusal
from ...job import Job, Requirement, letters_of
from ...systems import association_of, norms_of, touches
from ..findings import Findings
from . import sources

ALL = "all"
#: Which standards of drawings have the default that an association is named after.
_EDITIONS = {"ISO 5459:2011": ("ISO ",), "ASME Y14.5.1-2019": ("ASME Y14.5-2018",)}


def association(job: Job, findings: Findings) -> None:
    """Check the table [association] and every datum system that it touches."""
    before = len(findings.errors)
    raw = findings.document.raw(("association",))
    for key, said in raw.items() if isinstance(raw, dict) else ():
        if key != ALL and key not in job.datums:
            listed = ", ".join(job.datums) or "none yet"
            findings.error(
                ("association", key), f"be a letter of [datum] ({listed}), or all", f'"{key}"', "Correct it."
            )
        if not any(job.standard.startswith(standard) for standard in _EDITIONS.get(said, ("",))):
            findings.error(
                ("association", key), "be one that the standard of the drawing has", f'"{said}" under {job.standard}',
                f"Name the association itself: one of {', '.join(a for a in ASSOCIATIONS if a not in _EDITIONS)}.",
                source=sources.DATUMS,
            )  # fmt: skip
    if len(findings.errors) == before:
        _systems(job, findings)


def _systems(job: Job, findings: Findings) -> None:
    """Every system that touches can be laid; what rests on it will have no interval."""
    waiting: list[str] = []
    for index, requirement in enumerate(job.requirements):
        if not all(letter in job.datums for datum in requirement.datums for letter in letters_of(datum)):
            continue  # said where the letters are looked at
        if touches(job, requirement.datums):
            waiting.append(requirement.id)
            _system(job, requirement, index, findings)
    if waiting:
        findings.warn(
            ("association",), "be least squares for an interval to be stated", "datums that touch the material",
            f"{', '.join(waiting)} will show a value and be undecided: what lies between the points decides where such "
            "a datum touches (docs/methods/datums.md).",
        )  # fmt: skip


def _system(job: Job, requirement: Requirement, index: int, findings: Findings) -> None:
    path = ("requirement", index, requirement.characteristic, "datums")
    for k, datum in enumerate(requirement.datums):
        if len({association_of(job, letter) for letter in letters_of(datum)}) > 1:
            findings.error(
                (*path, k), "be laid in one way", f"features of {datum} with different associations",
                "Give its letters the same one in [association].",
            )  # fmt: skip
            return
    if any(job.datums[letter] not in job.features for datum in requirement.datums for letter in letters_of(datum)):
        return  # said at [datum]
    datums = [[job.features[name].nominal for name in job.carriers(datum)] for datum in requirement.datums]
    found = refusal(datums, norms_of(job, requirement.datums))
    if found is not None:
        k, reason = found
        findings.error(
            (*path, k), "be one that this version can lay by touching", reason,
            f'Write under [association]: {letters_of(requirement.datums[k])[0]} = "least squares".',
            what=f'datum "{requirement.datums[k]}" of requirement "{requirement.id}"',
        )  # fmt: skip
