"""Every reading of the drawing that the standard leaves open, or that this edition makes, said aloud."""

from collections.abc import Collection

from ..tolerances.contact import ASSOCIATIONS
from ..tolerances.general import General
from ..tolerances.location import distance_reading
from . import states
from .job import Job, Requirement
from .result import DatumSystem, Interpretation
from .systems import fixed_text, name_of, systems_of

_SIZE = {
    "least-squares": "size is the least squares size of the feature (ISO 14405-1:2016, GG); by independency (ISO 8015) "
    "it does not limit the form",
    "two-point": "size is the two-point size at the places measured (ISO 14405-1:2016, LP; the default of ISO 8015); "
    "by independency it does not limit the form",
}
_SIZE_ASME = {
    "least-squares": "size is the least squares size of the feature, which is neither local size nor mating size",
    "two-point": "size is the actual local size, between opposite points, at the places measured",
}
_PLACE = {
    "cylinder": "the axis is the least squares axis, judged at both ends of its nominal length",
    "circle": "the centre is that of the least squares circle",
    "sphere": "the centre is that of the least squares sphere",
    "point": "the touched point itself, along its nominal normal",
    "plane": "the whole surface counts: the least squares plane at its corners (of the points, if the drawing gives no "
    "size), and the form on it",
}


def interpretations(job: Job, by_hand: Collection[str]) -> list[Interpretation]:
    """The readings made in one job, most general first; `by_hand` are the requirements that hand tools decide."""
    iso = job.standard.upper().startswith("ISO")
    out = [
        Interpretation(about="standard", text=_standard(job.standard, iso)),
        Interpretation(
            about="temperature",
            text="all results hold at 20 degC (ISO 1:2022); readings are brought there zone by zone",
        ),
        Interpretation(about="state of the part", text=_state(job)),
    ]
    if job.general is not None:
        out.append(Interpretation(about="general tolerances", text=_general(job.general)))
    out += [Interpretation(about=f"datum system {name_of(s)}", text=_datums(job, s, iso)) for s in systems_of(job)]
    for requirement in job.requirements:
        state = states.read_as(job, requirement)
        texts = [*requirement.said, *_of(job, requirement, iso, by_hand), *([state] if state else [])]
        out += [Interpretation(about=f"requirement {requirement.id}", text=t) for t in texts]
    if job.attributes:
        names = ", ".join(attribute.id for attribute in job.attributes)
        out.append(Interpretation(about="attributes", text=f"{names}: {_ATTRIBUTES}"))
    return out


def _general(general: General) -> str:
    if not general.by_class:
        return (
            f"{general.text}:2021, by the values stated: they hold for sizes; the general profile that goes with them "
            "is not judged"
        )
    text = f"{general.text}: for what has no tolerance of its own (ISO 2768-1:1989)"
    if general.features is not None:
        text += "; ISO 2768-2:1989 was withdrawn in 2021 for ISO 22081 and still counts where a drawing cites it"
    return (
        f"{text}. A part beyond a general tolerance is not to be refused for that alone where its function does not "
        "suffer (ISO 2768-1:1989, 6): whether it does, the customer says, not this verdict"
    )


_ATTRIBUTES = (
    "accepted or not as somebody recorded, with no number, no uncertainty and no probability; they are no part of the "
    "joint risk"
)


def _standard(standard: str, iso: bool) -> str:
    if iso:
        return f"{standard}: each requirement stands alone (independency); no envelope unless the drawing says so"
    return (
        f"{standard}: Rule #1 (envelope of perfect form) and simultaneous requirements are not judged in this edition: "
        "each requirement is judged alone, sizes as local or least squares sizes"
    )


def _state(job: Job) -> str:
    if job.part.state == "restrained":
        return (
            f"measured restrained, by {job.part.supports}: the results hold in that state (ISO 10579:2010)"
            + states.silent(job)
        )
    return "measured in the free state; what its own weight bends it by on its supports is not corrected"


_LAID = {
    "least squares": "by least squares",
    "outer minimax": "outside the material, touching, the largest distance least",
    "outer squares": "outside the material, touching, the sum of squares least",
    "outer sum": "outside the material, touching, the sum of distances least",
    "ISO 5459:2011": "by the default of ISO 5459:2011 (from memory): outside the material, the largest distance least",
    "ASME Y14.5.1-2019": "by ASME Y14.5.1-2019 (from memory): outside the material, the sum of squares least",
}
_SIZED = (
    ". A feature of size that touches is the largest inscribed in a hole, the smallest circumscribed about a shaft; "
    "one that a datum before it holds in part is laid where it is, then turned into line"
)


def _datums(job: Job, system: DatumSystem, iso: bool) -> str:
    names = ", ".join(f"{datum.datum} = {' with '.join(datum.features)}" for datum in system.datums)
    common = [datum.datum for datum in system.datums if len(datum.features) > 1]
    at_once = f" ({', '.join(common)}: all its features at once, each point counting alike)" if common else ""
    if any(ASSOCIATIONS[datum.association] for datum in system.datums):
        laid = "; ".join(f"{datum.datum} {_LAID[datum.association]}" for datum in system.datums)
        return f"{names}: {fixed_text(system)}. Laid in order of precedence{at_once}: {laid}{_sized(job, system)}"
    wanted = "touching from outside the material (ISO 5459:2011" if iso else "a simulator that touches (ASME Y14.5"
    return (
        f"{names}: {fixed_text(system)}. Each datum by least squares of its points over the freedoms that earlier ones "
        f"leave{at_once}; the standard's default is {wanted}; from memory). Form of the datum features is part of the "
        "difference"
    )


def _sized(job: Job, system: DatumSystem) -> str:
    """How features of size touch, where there are any that do."""
    touching = [name for datum in system.datums if ASSOCIATIONS[datum.association] for name in datum.features]
    return _SIZED if any(job.features[name].nominal.diameter_mm is not None for name in touching) else ""


def _of(job: Job, requirement: Requirement, iso: bool, by_hand: Collection[str]) -> list[str]:
    kind = requirement.characteristic
    if requirement.id in by_hand:
        return ["as the hand tool reads it: a two-point length at each place, the place nearest to a limit is judged"]
    if kind == "size":
        texts = [(_SIZE if iso else _SIZE_ASME)[requirement.operator]]
        if not iso:
            texts.append("the envelope of Rule #1 (ASME Y14.5) needs the mating size, which is not judged here")
        return texts
    if kind == "radius":
        return ["the radius is half the least squares diameter of what was measured, however short the arc"]
    if kind == "distance":
        first, second = (job.features[name].nominal for name in requirement.on)
        reading = distance_reading(first, second, along=requirement.direction)
        return [f"a distance between features is open to readings (ISO 14405-2:2018); taken here {reading}"]
    if kind == "position":
        return [_PLACE[job.features[requirement.on[0]].nominal.kind]]
    if kind == "angle":
        return ["between the normals or axes of the least squares features, turned as the drawing has them"]
    if kind == "flatness":
        return [
            "the narrowest zone that holds the whole surface, what lies between the points included (ISO 1101:2017)"
        ]
    if kind in ("parallelism", "perpendicularity") and requirement.diameter_zone:
        return ["the axis is the least squares axis over its nominal length"]
    return []
