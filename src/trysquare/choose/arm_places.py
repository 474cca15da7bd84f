"""Where an arm stands: as many set-ups as its reach needs, tied one to the next by nests that both can touch."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array
from ..core.frames import perpendicular, unit
from ..jobs.simulated.plan_points import Touches
from .conditions import box

#: Shares of the reach (common practice, no source): how much of it is used; what going round an edge costs; how far
#: two set-ups stand apart that share nests; spacing of the places tried.
USED, ROUND_EDGE, APART, GRID = 0.9, 0.3, 1.1, 0.4
#: Nests that two neighbouring set-ups share.
NESTS = 4
#: An arm is not set up nearer to the part than this, mm.
CLEAR_MM = 150.0
_LEAST_COS = -0.2
_MOST = 24

Bool = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class ArmPlaces:
    """`shoulders_mm` (k, 3); for each feature the set-up (n,) that touches each point, -1 for none; nests of each
    set-up by name, those that it shares with its neighbours."""

    shoulders_mm: Array
    by: dict[str, npt.NDArray[np.int64]]
    nests: tuple[dict[str, Array], ...]


def arm_places(touches: Mapping[str, Touches], *, least_mm: float, reach_mm: float, shoulder_mm: float) -> ArmPlaces:
    """Places for an arm that shall touch all `touches`.

    Places are tried on a grid about the part, clear of it, the shoulder no lower than its height over the floor. The
    first reaches most points; each further one lies near enough to share nests with one before and reaches most of
    what is left. A feature is touched from one place where one reaches all of it, the nearest such.
    """
    points = np.concatenate([t.points_mm for t in touches.values()])
    far = USED * reach_mm
    tried = _grid(points, far, shoulder_mm)
    reaches = np.concatenate([_reaches(tried, t, least_mm, far) for t in touches.values()], axis=1)
    chosen, links = _chain(tried, reaches, points, far)
    low, high = box(points)
    nests: list[dict[str, Array]] = [{} for _ in chosen]
    for k, back in links:
        for i, place in enumerate(_ring(tried[chosen[back]], tried[chosen[k]], far, low, high)):
            nests[k][f"N{k}-{i + 1}"] = nests[back][f"N{k}-{i + 1}"] = place
    return ArmPlaces(tried[chosen], _who(touches, tried[chosen], reaches[chosen]), tuple(nests))


def _grid(points: Array, far: float, shoulder_mm: float) -> Array:
    """Places (c, 3) about the part, outside its box and not below its floor."""
    low, high = box(points)
    margin, step = max(0.5 * far, 1.1 * CLEAR_MM), GRID * far
    start = np.array([low[0] - margin, low[1] - margin, low[2] + shoulder_mm])
    stop = high + margin
    axes = [np.linspace(a, max(a, b), max(2, int(np.ceil((b - a) / step)) + 1)) for a, b in zip(start, stop)]
    tried = np.stack(np.meshgrid(*axes, indexing="ij"), -1).reshape(-1, 3)
    inside = ((tried > low - CLEAR_MM) & (tried < high + CLEAR_MM)).all(-1)
    return tried[~inside]


def _reaches(tried: Array, touches: Touches, near: float, far: float) -> Bool:
    """Which place reaches which point of one feature, (c, n).

    A feature that looks away as a whole costs reach; one that some place reaches whole counts only from such places.
    """
    away = tried[:, None] - touches.points_mm
    distance = np.linalg.norm(away, axis=-1)
    behind = away @ touches.normals.mean(0) < _LEAST_COS * distance
    out: Bool = (distance > near) & (distance + ROUND_EDGE * far * behind < far)
    whole: Bool = np.all(out, axis=1)
    return np.repeat(whole[:, None], out.shape[1], axis=1) if whole.any() else out


def _chain(tried: Array, reaches: Bool, points: Array, far: float) -> tuple[list[int], list[tuple[int, int]]]:
    """Indices of chosen places, and links (place, earlier place) in their own numbering."""
    lonely = np.linalg.norm(tried - points.mean(0), axis=-1)
    chosen = [_best(reaches.sum(1), lonely)]
    links: list[tuple[int, int]] = []
    left = reaches.any(0) & ~reaches[chosen[0]]
    while left.any() and len(chosen) < _MOST:
        distance = np.linalg.norm(tried[:, None] - tried[chosen], axis=-1)
        free = (distance.min(1) <= APART * far) & (distance.min(1) > 0)
        gain = np.where(free, (reaches & left).sum(1), -1)
        if gain.max() > 0:
            new = _best(gain, lonely)
        else:  # nothing in sight of the nests reaches more: step towards what is left
            new = int(np.argmin(np.where(free, np.linalg.norm(tried - points[left].mean(0), axis=-1), np.inf)))
        links.append((len(chosen), int(distance[new].argmin())))
        chosen.append(new)
        left &= ~reaches[new]
    return chosen, links


def _best(gain: npt.NDArray[np.int64], lonely: Array) -> int:
    """The greatest gain; of equals the one nearest to the middle of the part."""
    return int(np.lexsort((lonely, -gain))[0])


def _ring(a: Array, b: Array, far: float, low: Array, high: Array) -> Array:
    """Nests (4, 3) that both shoulders reach: on a ring half-way between, clear of part and floor where it can be."""
    middle, along = (a + b) / 2, unit(b - a)
    u, v = perpendicular(along)
    angle = 2 * np.pi * np.arange(12) / 12
    ring = middle + 0.55 * far * (np.outer(np.cos(angle), u) + np.outer(np.sin(angle), v))
    ring += 0.12 * far * np.outer((-1.0) ** np.arange(12), along)
    clear = ~((ring > low) & (ring < high)).all(-1) & (ring[:, 2] > low[2])
    usable = np.flatnonzero(clear) if clear.sum() >= NESTS else np.arange(12)
    return ring[usable[np.linspace(0, len(usable), NESTS, endpoint=False).astype(int)]]


def _who(touches: Mapping[str, Touches], shoulders: Array, reaches: Bool) -> dict[str, npt.NDArray[np.int64]]:
    out, first = {}, 0
    for name, t in touches.items():
        mine = reaches[:, first : first + len(t)]
        first += len(t)
        distance = np.linalg.norm(shoulders[:, None] - t.points_mm, axis=-1)
        whole = mine.all(1)
        if whole.any():
            out[name] = np.full(len(t), int(np.argmin(np.where(whole, distance.mean(1), np.inf))))
        else:
            nearest = np.where(mine, distance, np.inf).argmin(0)
            out[name] = np.where(mine.any(0), nearest, -1)
    return out
