"""What is true of every requirement of a simulated part, from dense surfaces without errors at 20 degC.

The same functions that turn measured surfaces into measurands are used on the true ones. Zones are the exact smallest
ones of the dense points; local sizes are those at the places that the survey touches.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ...core.arrays import Array
from ...geometry import zone_width
from ...tolerances.features import associate
from ...tolerances.measurand import Asked, Measurand, Surface, measurand, opposite_points
from ..chain import measure
from ..job import Job, Requirement
from .plan_points import opposite, plan_points
from .simulate_hand import local_sizes
from .survey import HandVisit, Survey
from .true_shape import TrueFeature, Truth, true_features


@dataclass(frozen=True)
class TrueValue:
    """The true value of one requirement, mm or rad, and whether it lies within the limits.

    Of several local sizes (`places`, in the order of the survey) it is the one nearest to breaking a limit.
    """

    id: str
    value: float
    conforms: bool
    places: tuple[float, ...]


def true_values(job: Job, truth: Truth, survey: Survey) -> dict[str, TrueValue]:
    """The truth of every requirement, by id."""
    features = true_features(job, truth)
    by_hand = {v.requirement: v for v in survey.hand}
    surfaces = {name: _surface(feature, feature.dense()) for name, feature in features.items()}
    local = {r.id for r in job.requirements if _is_local(r)} - set(by_hand)
    whole = {
        r.id: Asked(r.characteristic, r.on, r.direction)
        for r in job.requirements
        if r.id not in local and r.id not in by_hand
    }
    values = {id_: np.array([single(m)]) for id_, m in measure(job, whole, surfaces).items()}
    for requirement in job.requirements:
        if requirement.id in by_hand:
            values[requirement.id] = _by_hand(requirement, by_hand[requirement.id], features)
        elif requirement.id in local:
            values[requirement.id] = _local(job, requirement, survey, features)
    return {r.id: _judged(r, values[r.id]) for r in job.requirements}


def single(m: Measurand) -> float:
    """The characteristic of a surface without errors, mm or rad."""
    if m.kind == "smooth":
        return float(m.vectors[0][0])
    if m.kind == "magnitude":
        length = m.scale * max(float(np.linalg.norm(v)) for v in m.vectors)
        return length if m.less_from is None else m.less_from - length
    if m.heights_mm is None or m.uv_mm is None:
        raise ValueError("a surface without heights")
    if m.kind == "place":
        return m.scale * float(np.abs(m.heights_mm).max())
    columns = [np.ones((len(m.uv_mm), 1)), m.uv_mm @ _free(m.directions)]
    return float(zone_width(np.concatenate(columns, axis=1), m.heights_mm))


def _free(held: Array | None) -> Array:
    """Directions (2, k) in the plane along which the zone may still tilt: all, or what the datums leave."""
    if held is None or len(held) == 0:
        return np.eye(2)
    _, s, Vt = np.linalg.svd(held)
    return Vt[int((s > 1e-9).sum()) :].T


def _surface(feature: TrueFeature, points: Array) -> Surface:
    return Surface(points, associate(points, feature.nominal, where="true feature"))


def _is_local(requirement: Requirement) -> bool:
    return requirement.characteristic == "size" and requirement.operator == "two-point"


def _by_hand(requirement: Requirement, visit: HandVisit, features: Mapping[str, TrueFeature]) -> Array:
    return local_sizes(requirement, visit, features)


def _local(
    job: Job,
    requirement: Requirement,
    survey: Survey,
    features: Mapping[str, TrueFeature],
) -> Array:
    """True two-point sizes at the opposite pairs that the survey touches; where it touches none, round the middle."""
    name = requirement.on[0]
    visit = next((v for v in survey.visits if v.on == name), None)
    planned = plan_points(job.features[name], count=None if visit is None else visit.count)
    touched = _surface(features[name], features[name].at(planned.points_mm))
    pairs = opposite_points(touched)
    if len(pairs) == 0:
        ends = [features[name].at(opposite(features[name].nominal, turn, 0.0)) for turn in np.arange(90) * np.pi / 90]
        return np.array([np.linalg.norm(b - a) for a, b in ends])
    asked = Asked("size", requirement.on, None, pairs)
    return np.atleast_1d(measurand(asked, {name: touched}, None).vectors[0])


def _judged(requirement: Requirement, values: Array) -> TrueValue:
    below = -np.inf if requirement.lower is None else requirement.lower - values
    above = -np.inf if requirement.upper is None else values - requirement.upper
    beyond = np.broadcast_to(np.maximum(below, above), values.shape)
    worst = int(np.argmax(beyond))
    return TrueValue(requirement.id, float(values[worst]), bool(beyond[worst] <= 0.0), tuple(values.tolist()))
