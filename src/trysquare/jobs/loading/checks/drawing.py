"""Requirements: known features, limits in order, characteristics that their features can have."""

import math

import numpy as np

from ....core.frames import dot
from ....tolerances.features import Associated
from ....tolerances.location import angle, distance, is_folded
from ....tolerances.nominal import Nominal
from ...job import DIMENSIONS, Job, Requirement
from ..findings import Findings
from ..locate import Path
from ..messages import hint
from .sources import GENERAL, LIMITS, PRACTICE, SIZES, ZONES

_AXES = ("cylinder", "line")
#: Shapes on which each characteristic is judged.
SHAPES = {
    "size": ("cylinder", "circle", "sphere"),
    "radius": ("cylinder", "circle", "sphere"),
    "distance": ("plane", "cylinder", "circle", "sphere", "line", "point"),
    "angle": ("plane", "cylinder", "line"),
    "flatness": ("plane",),
    "parallelism": ("plane", "cylinder", "line"),
    "perpendicularity": ("plane", "cylinder", "line"),
    "position": ("plane", "cylinder", "circle", "sphere", "point"),
}
#: Directions of the drawing agree when they do to this, rad (a tenth of a degree).
AGREES_RAD = math.radians(0.1)
#: A distance that is the length of a vector must be well above what is in doubt: the sign of a small one is lost.
LEAST_FOLDED_MM = 1.0
#: The requirement's nominal and that of the features agree to this part, and an angle to this, rad.
_SAME, _SAME_RAD = 0.01, math.radians(1.0)
_NEITHER = 'Add: upper = ..., or general = "ISO 2768-m" at the top of the file if the drawing says so.'
#: What rounded coordinates of features may put between the two, mm and rad, whatever the zone.
_PRINTED_MM, _PRINTED_RAD = 0.001, 1e-5


def drawing(job: Job, findings: Findings) -> None:
    """Check every requirement by itself, and the general tolerance against the standard of the drawing."""
    if job.general is not None and job.standard.startswith("ASME"):
        findings.warn(
            ("general",), "belong to the standard of the drawing", f"{job.general.text} on {job.standard}",
            "ASME Y14.5 has no general tolerances: look whether the title block cites it, or has its own in figures.",
            source=GENERAL,
        )  # fmt: skip
    for index, requirement in enumerate(job.requirements):
        path: Path = ("requirement", index)
        if _features_known(job, requirement, path, findings):
            _shapes(job, requirement, path, findings)
        _limits(requirement, path, findings)


def _features_known(job: Job, requirement: Requirement, path: Path, findings: Findings) -> bool:
    wanted = 2 if requirement.characteristic in ("distance", "angle") else 1
    before = len(findings.errors)
    on = (*path, "on")
    if len(requirement.on) != wanted:
        rule = f"name {wanted} feature{'s' if wanted > 1 else ''} for {_article(requirement.characteristic)}"
        way_out = 'Write on = ["one", "other"].' if wanted > 1 else "Make one requirement for each feature."
        findings.error(on, rule, str(len(requirement.on)), way_out)
    elif len(set(requirement.on)) != wanted:
        findings.error(on, "name two different features", f'"{requirement.on[0]}" twice', "Correct one of them.")
    for name in dict.fromkeys(requirement.on):
        if name not in job.features:
            way_out = hint(name, job.features, f"Add [feature.{name}].")
            findings.error(on, "name a [feature] of the job", f'"{name}"', way_out)
    return len(findings.errors) == before


def _limits(requirement: Requirement, path: Path, findings: Findings) -> None:
    lower, upper, kind = requirement.lower, requirement.upper, requirement.characteristic
    raw = findings.document.raw((*path, kind)) or {}
    given = [f"{key} {raw[key]}" for key in ("lower", "upper") if key in raw] if isinstance(raw, dict) else []
    if lower is None and upper is None and given:
        findings.error(
            (*path, kind), "exclude some angle: one lies between 0 and 180 deg", ", ".join(given),
            "Near 0 deg give an upper deviation, near 180 deg a lower one.",
        )  # fmt: skip
    elif lower is None and upper is None:
        findings.error((*path, kind), "have a lower or an upper deviation", "neither", _NEITHER, source=LIMITS)
    elif lower is not None and upper is not None and not lower < upper:
        findings.error(
            (*path, kind, "upper"), "lie above lower", f"lower {raw.get('lower')}, upper {raw.get('upper')}",
            "Both are deviations from the nominal, with their signs.", source=LIMITS,
        )  # fmt: skip


def _shapes(job: Job, requirement: Requirement, path: Path, findings: Findings) -> None:
    kind = requirement.characteristic
    nominals = [job.features[name].nominal for name in requirement.on]
    for name, nominal in zip(requirement.on, nominals, strict=True):
        if nominal.kind not in SHAPES[kind]:
            way_out = f"Choose another characteristic, or another feature than {_article(nominal.kind)}."
            rule = f"be on one of {', '.join(SHAPES[kind])}"
            source = SIZES if kind in DIMENSIONS else ZONES
            findings.error((*path, kind), rule, f'{_article(nominal.kind)}, "{name}"', way_out, source=source)
            return
    if kind == "size":
        _size(requirement, nominals[0], path, findings)
    elif kind == "radius":
        _agree(requirement, (nominals[0].diameter_mm or 0.0) / 2, path, findings)
    elif kind in ("distance", "angle"):
        _between(requirement, nominals, path, findings)
    elif kind == "position":
        _position(requirement, nominals[0], path, findings)
    elif nominals[0].kind == "plane" and requirement.diameter_zone:
        _no_diameter(requirement, path, findings)


def _size(requirement: Requirement, nominal: Nominal, path: Path, findings: Findings) -> None:
    if nominal.kind == "sphere" and requirement.operator == "two-point":
        findings.error(
            (*path, "size", "operator"), "be least-squares on a sphere", "two-point (the default)",
            'Write operator = "least-squares".', source=SIZES,
        )  # fmt: skip
    _agree(requirement, nominal.diameter_mm or 0.0, path, findings)


def _between(requirement: Requirement, nominals: list[Nominal], path: Path, findings: Findings) -> None:
    first, second = (_as_drawn(nominal) for nominal in nominals)
    if requirement.characteristic == "angle":
        _angle_agrees(requirement, float(angle(first, second)), path, findings)
        return
    if nominals[0].kind == nominals[1].kind == "plane" and requirement.direction is None:
        off = _between_lines(nominals[0], nominals[1])
        if off > AGREES_RAD:
            found = f"planes at {math.degrees(off):.3g} deg to each other"
            way_out = "Give along = [...], or ask for their angle."
            findings.error((*path, "distance"), "lie between parallel planes", found, way_out)
            return
    drawn = float(distance(first, second, along=requirement.direction))
    if is_folded(*nominals, along=requirement.direction) and drawn < LEAST_FOLDED_MM:
        findings.error(
            (*path, "distance"), f"be at least {LEAST_FOLDED_MM:g} mm between axes or centres", f"{drawn:.4g} mm",
            "So near to zero its sign is lost: give along = [...], or ask for a position.",
        )  # fmt: skip
        return
    _agree(requirement, drawn, path, findings)


def _agree(requirement: Requirement, drawn_mm: float, path: Path, findings: Findings) -> None:
    """The nominal asked for is what the nominal features say: a slip of unit or of feature shows here."""
    asked = requirement.nominal or 0.0
    if abs(asked - drawn_mm) > _SAME * max(asked, drawn_mm):
        findings.error(
            (*path, requirement.characteristic, "nominal"),
            f"agree with the nominal features, which give {drawn_mm:.6g} mm", f"{asked:.6g} mm",
            "Correct the requirement or the features: position, diameter or unit.", source=PRACTICE,
        )  # fmt: skip
    elif _off_zone(requirement, drawn_mm, _PRINTED_MM):
        _disagrees(requirement, f"{drawn_mm:.9g} mm", f"{asked:.9g} mm", path, findings)


def _angle_agrees(requirement: Requirement, drawn: float, path: Path, findings: Findings) -> None:
    asked = requirement.nominal or 0.0
    if abs(asked - drawn) <= _SAME_RAD:
        if _off_zone(requirement, drawn, _PRINTED_RAD):
            shown, said = (f"{math.degrees(x):.8g} deg" for x in (drawn, asked))
            _disagrees(requirement, shown, said, path, findings)
        return
    other = abs(math.pi - asked - drawn) <= _SAME_RAD
    findings.error(
        (*path, "angle", "nominal"), f"agree with the nominal features, which give {math.degrees(drawn):.6g} deg",
        f"{math.degrees(asked):.6g} deg",
        "It is the supplement: turn one direction round, or write that angle." if other
        else "Correct the requirement or the directions of the features.", source=PRACTICE,
    )  # fmt: skip


def _off_zone(requirement: Requirement, drawn: float, printed: float) -> bool:
    """Whether the features are drawn off the requirement's nominal by more than its zone is wide.

    With one limit the zone ends there and nowhere else: the features must be drawn beyond it.
    """
    asked, lower, upper = requirement.nominal or 0.0, requirement.lower, requirement.upper
    if lower is not None and upper is not None:
        width = upper - lower
    else:
        beyond = (lower is not None and drawn < lower) or (upper is not None and drawn > upper)
        limit = upper if lower is None else lower
        width = abs(limit - asked) if beyond and limit is not None else math.inf
    return abs(asked - drawn) > max(width, printed)


def _disagrees(requirement: Requirement, drawn: str, asked: str, path: Path, findings: Findings) -> None:
    findings.warn(
        (*path, requirement.characteristic, "nominal"), f"agree with the features as drawn, which give {drawn}",
        f"{asked}, farther off than its zone is wide", "One of the two is a slip, or the features were drawn roughly: "
        "the part is placed on the features, but judged by the nominal of the requirement.", source=PRACTICE,
    )  # fmt: skip


def _position(requirement: Requirement, nominal: Nominal, path: Path, findings: Findings) -> None:
    direction, where = requirement.direction, (*path, "position", "direction")
    has_axis = nominal.kind in ("cylinder", "circle")
    if nominal.kind in ("plane", "point"):
        if requirement.diameter_zone:
            _no_diameter(requirement, path, findings)
        elif direction is not None and abs(float(direction @ nominal.frame()[2])) < math.cos(AGREES_RAD):
            rule = f"lie along the normal of the {nominal.kind}"
            findings.error(where, rule, _shown(direction), "Leave it out: the normal is taken.")
    elif requirement.diameter_zone and direction is not None:
        findings.error(where, "be left out for a zone with a diameter", _shown(direction), "Drop one of the two.")
    elif not requirement.diameter_zone and direction is None:
        findings.error(
            (*path, "position", "zone"), f"say across which direction it lies for a {nominal.kind}", "neither",
            'Write zone = "diameter ...", or add direction = [...] across the two planes.',
        )  # fmt: skip
    elif direction is not None and has_axis and abs(float(direction @ nominal.frame()[2])) > math.sin(AGREES_RAD):
        way_out = "Write the direction that the zone spans."
        findings.error(where, "lie square to the axis", _shown(direction), way_out, source=ZONES)


def _no_diameter(requirement: Requirement, path: Path, findings: Findings) -> None:
    findings.error(
        (*path, requirement.characteristic, "zone"), "lie between two planes for a plane or a point",
        '"diameter"', "Write the width alone.", source=ZONES,
    )  # fmt: skip


def _as_drawn(nominal: Nominal) -> Associated:
    """A nominal feature as if measured without error."""
    radius = None if nominal.diameter_mm is None else np.asarray(nominal.diameter_mm / 2)
    return Associated(nominal, nominal.point_mm, nominal.direction, radius, np.zeros(0))


def _between_lines(first: Nominal, second: Nominal) -> float:
    cosine = abs(float(dot(first.frame()[2], second.frame()[2])))
    return math.acos(min(1.0, cosine))


def _article(word: str) -> str:
    return f"an {word}" if word[0] in "aeiou" else f"a {word}"


def _shown(direction: np.ndarray) -> str:
    return "[" + ", ".join(f"{x:.4g}" for x in direction) + "]"
