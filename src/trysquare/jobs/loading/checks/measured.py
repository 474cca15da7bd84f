"""Readings against the drawing: enough points on each feature, readings for each requirement, values that can be."""

from collections.abc import Collection, Mapping
from dataclasses import replace

from ....core.arrays import Array
from ....core.errors import FormatError, NumericalError
from ....core.frames import Rigid
from ....tolerances.features import AT_LEAST, associate
from ....tolerances.nominal import Nominal
from ....tolerances.placing import place
from ...job import HandSet, Job, Requirement, Station
from ..findings import Findings
from ..readings import CONTACT
from .seen import on_one_line

#: Characteristics that a tool which reads one length can decide.
BY_HAND = ("size", "distance")
#: A hand reading farther from the nominal than this part of it is a slip (of unit, tool or line), not a deviation.
_SLIP = 0.05


def measured(
    job: Job, points: Mapping[str, Mapping[str, Array]], findings: Findings, *, doubtful: Collection[str] = ()
) -> None:
    """Check the readings as a whole; `points` by station, then by feature, in the station's own frame.

    Nothing will be stated of `doubtful` features: they need not have points enough.
    """
    _points(job, points, doubtful, findings)
    for station in job.stations:
        _balls_on_lines(job, station, findings)
    for hand in job.hand:
        _hand(job, hand, findings)
    _unmeasured(job, {name for seen in points.values() for name in seen} | set(doubtful), findings)


def _points(job: Job, points: Mapping[str, Mapping[str, Array]], doubtful: Collection[str], findings: Findings) -> None:
    """Each feature that a requirement or datum uses has points that carry its shape."""
    used = {name for r in job.requirements for name in r.on} | set(job.datums.values())
    used -= set(doubtful)
    seen = [(station, points[station.name]) for station in job.stations if station.name in points]
    placed = {station.name: _placed(job, own) for station, own in seen}
    for name, feature in job.features.items():
        mine = [(station, own[name]) for station, own in seen if name in own]
        if mine and name in used:
            _feature(name, feature.nominal, mine, placed[mine[0][0].name], findings)


def _balls_on_lines(job: Job, station: Station, findings: Findings) -> None:
    """A ball that touches a line may lie on any side of it: its centre does not say where the line is."""
    readings = station.readings
    if readings is None:
        return
    for name in dict.fromkeys(on for on in readings.on if on in job.features):
        rows = [i for i, on in enumerate(readings.on) if on == name and readings.targets[i]]
        if job.features[name].nominal.kind == "line" and rows:
            rule = f'be points of the line itself (target "{CONTACT}", x, y and z)'
            way_out = "Measure the two faces that meet in it instead, or an axis as a cylinder."
            found = f'centres of "{readings.targets[rows[0]]}", which may touch it from any side'
            findings.in_file(
                FormatError(
                    readings.file, int(readings.lines[rows[0]]), f'the points on "{name}"', rule, found, way_out
                )
            )


def _placed(job: Job, points: Mapping[str, Array]) -> Rigid | None:
    """Roughly where a station stands, from the features it sees; None where they do not say."""
    names = [name for name in points if name in job.features]
    if not names:
        return None
    try:
        return place([points[n] for n in names], [job.features[n].nominal for n in names], where="", whole=False)
    except NumericalError:
        return None


def _feature(
    name: str, nominal: Nominal, mine: list[tuple[Station, Array]], placed: Rigid | None, findings: Findings
) -> None:
    station, points = mine[0]
    count, least = sum(len(p) for _, p in mine), AT_LEAST[nominal.kind]
    if count < least:
        error: tuple[str, str, str] | None = (
            f"be at least {least} on a {nominal.kind}", f"{count}",
            "Measure more points; a few to spare say more of its form.",
        )  # fmt: skip
    elif len(mine) > 1:
        return  # what one station leaves open another may fix: seen when they are tied
    else:
        error = _refusal(points, nominal, placed)
    if error is not None:
        _at(station, name, *error, findings)


def _refusal(points: Array, nominal: Nominal, placed: Rigid | None) -> tuple[str, str, str] | None:
    """Rule, found and way out where the points of one station do not carry the shape."""
    if nominal.kind not in ("point", "line") and on_one_line(points, of_mm=nominal.diameter_mm or 0.0):
        return "lie off one line", "points on one line", "Add points well off that line."
    free = replace(nominal, direction=None, along=None)
    try:
        associate(points, free, where="") if placed is None else associate(placed.apply(points), nominal, where="")
    except NumericalError as error:
        return error.rule, error.found, error.way_out
    return None


def _at(station: Station, name: str, rule: str, found: str, way_out: str, findings: Findings) -> None:
    readings = station.readings
    if readings is not None:
        line = int(readings.lines[readings.on.index(name)])
        findings.in_file(FormatError(readings.file, line, f'the points on "{name}"', rule, found, way_out))


def _hand(job: Job, hand: HandSet, findings: Findings) -> None:
    """Hand readings land on lengths, near their nominal."""
    asked = {requirement.id: requirement for requirement in job.requirements}
    for id_ in dict.fromkeys(hand.requirement):
        rows = [i for i, other in enumerate(hand.requirement) if other == id_]
        requirement = asked[id_]
        if requirement.characteristic not in BY_HAND:
            findings.in_file(
                FormatError(
                    hand.file, int(hand.lines[rows[0]]), f'requirement "{id_}"', f"be a {' or '.join(BY_HAND)}",
                    requirement.characteristic, "Measure it with an instrument that sees points.",
                )
            )  # fmt: skip
            continue
        _near_nominal(hand, rows, requirement, findings)


def _near_nominal(hand: HandSet, rows: list[int], requirement: Requirement, findings: Findings) -> None:
    nominal = requirement.nominal or 0.0
    for row in rows:
        value = float(hand.value_mm[row])
        if abs(value - nominal) > _SLIP * nominal:
            findings.in_file(
                FormatError(
                    hand.file, int(hand.lines[row]), f'the reading of requirement "{requirement.id}"',
                    f"lie within 5 % of the nominal {nominal:.6g} mm", f"{value:.6g} mm",
                    "Check the unit in the header, the tool's zero and the requirement.",
                )
            )  # fmt: skip


def _unmeasured(job: Job, seen: set[str], findings: Findings) -> None:
    by_hand = {id_ for hand in job.hand for id_ in hand.requirement}
    for index, requirement in enumerate(job.requirements):
        missing = [name for name in job.needed(requirement) if name not in seen]
        if requirement.id not in by_hand and missing:
            names = ", ".join(f'"{name}"' for name in missing)
            findings.warn(
                ("requirement", index), "be measured", f"no reading on {names}",
                'It will be "undecided: not measured".', what=f'requirement "{requirement.id}"',
            )  # fmt: skip
