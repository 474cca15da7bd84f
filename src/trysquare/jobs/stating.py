"""From a measurand and its draws to what may be said of the true value: one statement function for each kind."""

import math
from dataclasses import replace

import numpy as np

from ..chance.magnitude import largest, magnitude
from ..chance.smooth import picked, smooth
from ..chance.sources import Draws
from ..chance.statement import Statement, not_stated
from ..tolerances.form_plane import flatness_statement, orientation_statement
from ..tolerances.measurand import Measurand
from ..tolerances.place_plane import place_statement
from .job import Requirement
from .rocking import rocking_note
from .simulated.true_values import single


def state(requirement: Requirement, value: Measurand, drawn: Measurand, seed: int) -> Statement:
    """The statement of one requirement. Randomness inside it (form surfaces) has the requirement's own streams."""
    lost = int((~np.isfinite(drawn.vector()).all(-1)).sum())
    if lost:
        kind = "smooth" if value.kind == "smooth" else "magnitude" if value.kind == "magnitude" else "extreme"
        return not_stated(kind, f"cannot be stated: in {lost} of {len(drawn.vector())} draws the points carry no fit")
    if value.kind == "smooth":
        return _local_sizes(requirement, value, drawn)
    if value.kind == "magnitude":
        each = [magnitude(v, d, scale=value.scale) for v, d in zip(value.vectors, drawn.vectors, strict=True)]
        return largest(each) if value.less_from is None else largest(each).taken_from(value.less_from)
    if value.heights_mm is None or value.uv_mm is None or drawn.heights_mm is None:
        raise ValueError(f"requirement {requirement.id}: a surface without heights")
    streams = Draws(seed, 0, len(drawn.heights_mm))
    errors = drawn.heights_mm - value.heights_mm
    if value.kind == "extreme":
        return flatness_statement(
            value.uv_mm, value.heights_mm, errors, streams, feature=requirement.on[0], outline_mm=value.outline_mm
        )
    if value.kind == "place" and value.corners_mm is not None:
        return place_statement(
            value.uv_mm, value.heights_mm, errors, value.corners_mm, np.concatenate(value.vectors),
            np.concatenate(drawn.vectors, axis=1), streams, feature=requirement.on[0], outline_mm=value.outline_mm,
        )  # fmt: skip
    if value.directions is None:
        raise ValueError(f"requirement {requirement.id}: an orientation without directions")
    return orientation_statement(
        value.uv_mm, value.heights_mm, errors, value.vectors[0], drawn.vectors[0], streams,
        directions=value.directions, feature=requirement.on[0], outline_mm=value.outline_mm,
    )  # fmt: skip


def by_contact(requirement: Requirement, value: Measurand, squares: Measurand, seats: list[float]) -> Statement:
    """Of a requirement whose datums touch the material nothing is stated but what the points read; why, in words.

    `squares` is the same by least squares, `seats` the values over the seats of a primary plane. Measured:
    bench/datum_association.py, docs/design/0008-datum-association.md.
    """
    kind = "magnitude" if value.kind == "magnitude" else "extreme"
    reason = (
        "cannot be stated: its datums touch the material at its highest places, which need not be among the points "
        "touched, and errors of the points only ever push such a datum outward. Lay the datums by least squares for an "
        "interval"
    )
    note = f"with the same datums by least squares the points read {single(squares):.4f} mm"
    rocks = rocking_note(seats, requirement.upper, touching=True)
    return not_stated(kind, reason, value=single(value), notes=(note,) if rocks is None else (note, rocks))


def _local_sizes(requirement: Requirement, value: Measurand, drawn: Measurand) -> Statement:
    """One number as it stands; of several local sizes the one that is nearest to breaking a limit.

    Accepting needs every size inside, so the worst one may be judged as it stands; but it was picked for being the
    worst, so its interval, and the proof that it lies beyond, answer for their share of the doubt (Bonferroni).
    """
    sizes, draws = value.vectors[0], drawn.vectors[0]
    each = [smooth(float(sizes[k]), draws[:, k]) for k in range(len(sizes))]
    if len(each) == 1:
        return each[0]
    worst = max(range(len(each)), key=lambda k: _beyond(each[k], requirement))
    what = "local sizes" if requirement.characteristic == "size" else "places"
    note = (
        f"{len(each)} {what} from {sizes.min():.4f} to {sizes.max():.4f} mm; the one nearest to breaking a limit is "
        "judged; what lies between the places is not covered"
    )
    shared = picked(each[worst], draws[:, worst], len(each), high=_towards_upper(float(sizes[worst]), requirement))
    return replace(shared, notes=(*shared.notes, note))


def _towards_upper(size: float, requirement: Requirement) -> bool:
    """Whether the upper limit is the nearer one."""
    if requirement.lower is None or requirement.upper is None:
        return requirement.lower is None
    return size >= (requirement.lower + requirement.upper) / 2


def _beyond(statement: Statement, requirement: Requirement) -> tuple[float, float]:
    """Confidence beyond either limit, then how far towards the nearest limit, to break ties."""
    value = statement.value or 0.0
    low = -math.inf if requirement.lower is None else requirement.lower - value
    high = -math.inf if requirement.upper is None else value - requirement.upper
    risk = (0.0 if requirement.lower is None else statement.below(requirement.lower)) + (
        0.0 if requirement.upper is None else 1.0 - statement.below(requirement.upper)
    )
    return risk, max(low, high)
