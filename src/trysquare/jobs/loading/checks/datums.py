"""Datums: letters that features carry, systems that fix each freedom once, orientations that they hold."""

import math

from ....tolerances.freedoms import DatumFreedoms, freedoms
from ....tolerances.nominal import Nominal
from ....tolerances.orientation import locked_directions
from ...job import Job, Requirement, letters_of
from ..findings import Findings
from ..locate import Path
from ..messages import hint
from .drawing import AGREES_RAD, SHAPES
from .sources import DATUMS, ZONES

_ORDER = ("primary", "secondary", "tertiary")


def datums(job: Job, findings: Findings) -> None:
    """Check the datum letters, then every datum system where a requirement uses it."""
    for letter, name in job.datums.items():
        if name not in job.features:
            findings.error(
                ("datum", letter), "name a [feature] of the job", f'"{name}"',
                hint(name, job.features, f"Add [feature.{name}], or drop the letter."), what=f'datum "{letter}"',
            )  # fmt: skip
    said: set[tuple[str, ...]] = set()
    for index, requirement in enumerate(job.requirements):
        path: Path = ("requirement", index, requirement.characteristic)
        if requirement.datums and _letters(job, requirement, path, findings):
            _system(job, requirement, path, findings, quiet=requirement.datums in said)
            said.add(requirement.datums)


def _letters(job: Job, requirement: Requirement, path: Path, findings: Findings) -> bool:
    """Every letter is carried by a feature, each once, and not by the feature that is judged."""
    sound = True
    entries = [(index, letter) for index, datum in enumerate(requirement.datums) for letter in letters_of(datum)]
    for k, (index, letter) in enumerate(entries):
        where, what = (*path, "datums", index), f'datum "{letter}" of requirement "{requirement.id}"'
        if letter not in job.datums:
            sound = False
            listed = ", ".join(job.datums) or "none yet"
            findings.error(
                where, f"be carried by a feature under [datum] ({listed})", f'"{letter}", which no feature carries',
                f'Add under [datum]: {letter} = "...", or drop it.', what=what, source=DATUMS,
            )  # fmt: skip
        elif letter in [other for _, other in entries[:k]]:
            sound = False
            findings.error(where, "be named once", f'"{letter}" again', "Drop one.", what=what, source=DATUMS)
        elif job.datums[letter] in requirement.on:
            sound = False
            findings.error(
                where, "be another feature than the one judged", f'"{job.datums[letter]}"', "Name another datum.",
                what=what, source=DATUMS,
            )  # fmt: skip
        elif job.datums[letter] not in job.features:
            sound = False  # said at [datum]
    return sound


def _system(job: Job, requirement: Requirement, path: Path, findings: Findings, *, quiet: bool) -> None:
    nominals = [[job.features[name].nominal for name in job.carriers(datum)] for datum in requirement.datums]
    system = freedoms(nominals)
    twice = [i for i, names in enumerate(system.again) if names]
    if twice and not quiet:
        _said_twice(requirement, system, twice[0], path, findings)
    judged = [job.features[name].nominal for name in requirement.on if name in job.features]
    if twice or len(judged) != 1 or judged[0].kind not in SHAPES[requirement.characteristic]:
        return
    if requirement.characteristic == "position":
        _left_open(requirement, system, judged[0], path, findings)
    else:
        _orientation(requirement, system, nominals[0][0], judged[0], path, findings)


def _said_twice(requirement: Requirement, system: DatumFreedoms, index: int, path: Path, findings: Findings) -> None:
    letter, before = requirement.datums[index], " and ".join(requirement.datums[:index])
    still = f"; {', '.join(system.open)} stays open" if system.open else ""
    findings.error(
        (*path, "datums", index), f"fix a freedom that {before} left open",
        f"{', '.join(system.again[index])}, fixed twice{still}",
        "Drop it, or name a datum feature that lies another way or farther apart.",
        what=f'{_ORDER[index]} datum "{letter}" of requirement "{requirement.id}"', source=DATUMS,
    )  # fmt: skip


def _left_open(
    requirement: Requirement, system: DatumFreedoms, judged: Nominal, path: Path, findings: Findings
) -> None:
    open_names = system.open_for(judged, direction=requirement.direction)
    if open_names:
        letters = " ".join(requirement.datums)
        findings.error(
            (*path, "datums"), "fix every freedom that moves the feature", f"{', '.join(open_names)} left open",
            "Add the datum that the drawing has for it, or ask for an orientation.",
            what=f'datum system {letters} of requirement "{requirement.id}"', source=DATUMS,
        )  # fmt: skip


def _orientation(
    requirement: Requirement, system: DatumFreedoms, primary: Nominal, judged: Nominal, path: Path, findings: Findings,
) -> None:  # fmt: skip
    direction = judged.frame()[2]
    locked = len(locked_directions(direction, system.open_turns))
    letters = " ".join(requirement.datums)
    if locked == 0:
        findings.error(
            (*path, "datums"), "hold the direction of the feature", f"{', '.join(system.open)} left open",
            "Name a datum with a direction of its own: a plane or an axis.",
            what=f'datum system {letters} of requirement "{requirement.id}"', source=DATUMS,
        )  # fmt: skip
        return
    _leans_right(requirement, primary, judged, path, findings)
    if locked == 2 and judged.kind != "plane" and not requirement.diameter_zone:
        findings.error(
            (*path, "zone"), "have a diameter where the datums hold the axis in both directions", "a width alone",
            'Write zone = "diameter ...".', source=ZONES,
        )  # fmt: skip


def _leans_right(requirement: Requirement, datum: Nominal, judged: Nominal, path: Path, findings: Findings) -> None:
    """The nominal features are parallel or square, as the characteristic says."""
    if datum.direction is None or datum.kind == "circle":
        return
    cosine = min(1.0, abs(float(datum.direction @ judged.frame()[2])))
    alike = (datum.kind == "plane") == (judged.kind == "plane")  # both planes, or both axes
    off = math.acos(cosine) if alike else math.pi / 2 - math.acos(cosine)
    wanted = 0.0 if requirement.characteristic == "parallelism" else math.pi / 2
    if abs(off - wanted) > AGREES_RAD:
        word = "parallel" if wanted == 0.0 else "square"
        findings.error(
            path, f"be asked of a feature that is nominally {word} to datum {requirement.datums[0]}",
            f"{math.degrees(off):.3g} deg between them", "Correct the features, or choose another characteristic.",
            source=ZONES,
        )  # fmt: skip
