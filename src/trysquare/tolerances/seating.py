"""Seating a part: the rigid motion that brings measured datum features onto their nominals, in order of precedence.

Every datum feature contributes the distances of its points from its nominal surface. The first one is brought to its
least squares over all six freedoms; each further one over the freedoms that those before it left open (lexicographic
least squares). A common datum (A-B) is several features at once: the squares of all of them together. A feature of size
keeps its own free radius. The freedoms that a datum fixes are the row space of its
Jacobian. The normal matrix is factorised once, at the estimate; distances and gradients of each draw are evaluated anew
in every step (simplified Newton), so that each draw ends at its own optimum.

Reading of ISO 5459:2011: its default association touches the outside of the material; least squares is named in the
results as the reading made.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..core.arrays import Array
from ..core.frames import Rigid, cross, rotation
from ..core.threads import over_slices
from .nominal import Nominal

#: A direction counts as fixed when its singular value exceeds this part of the largest one (lengths scaled to extent).
RANK_THRESHOLD = 1e-5
_STEPS = 12
_DONE_MM = 1e-12
_SLICE = 64
#: What the distance from each kind of feature is taken from: a plane, a centre, an axis (codes of the kernel).
KIND = {"plane": 0, "point": 0, "sphere": 1, "cylinder": 2, "circle": 2, "line": 2}


@dataclass(frozen=True)
class Seat:
    """`T_datum_part` maps to the frame of the datum system; `open_turns` (m, 3) are the rotations it leaves free."""

    T_datum_part: Rigid
    rank: int
    open_turns: Array


@dataclass(frozen=True)
class _Stage:
    """One datum at the estimate: `gain` (6, 6) maps the gradient of its squares to a twist that earlier ones allow."""

    nominals: tuple[Nominal, ...]
    gain: Array


def seat(
    points: Sequence[Array],
    nominals: Sequence[Nominal],
    *,
    start: Rigid | None = None,
    together: Sequence[int] | None = None,
) -> Seat:
    """Seat the datum features `points` (each (..., n, 3), mm, near the part frame) on `nominals`, in their order.

    Leading axes are draws; the factorisation is made at their mean. `start` (default identity) is applied first.
    `together` says how many features make up each datum (default one each): several are a common datum, brought to the
    least squares of all their distances at once.
    """
    counts = [1] * len(points) if together is None else list(together)
    moved = [p if start is None else start.apply(p) for p in points]
    centre = np.mean([n.point_mm for n in nominals], axis=0)
    mean = [m.reshape(-1, *m.shape[-2:]).mean(0) for m in moved]
    extent = max(float(np.ptp(np.concatenate(mean), axis=0).max()), 1.0)
    rough = _iterate(mean, _stages(mean, nominals, counts, centre, extent)[0], centre, extent)
    settled = [rough.apply(m) for m in mean]
    stages, free, rank = _stages(settled, nominals, counts, centre, extent)
    motion = _iterate([rough.apply(m) for m in moved], stages, centre, extent)
    whole = motion.after(rough)
    return Seat(whole if start is None else whole.after(start), rank, _turns(free))


def distance_rows(points: Array, nominal: Nominal, centre: Array, extent: float) -> Array:
    """Derivative (n, 6) of the distances for a shift and a turn about `centre`; turns in units of 1 / extent.

    A line counts by two components across it, (2 n, 6): the distance from it has no derivative where it vanishes. They
    are taken at its own points, which no turn about it moves.
    """
    if nominal.kind == "line":
        u, v, w = nominal.frame()
        on_it = nominal.point_mm + np.outer((points - nominal.point_mm) @ w, w)
        points, normal = np.concatenate([on_it, on_it]), np.repeat(np.stack([u, v]), len(on_it), axis=0)
    else:
        normal = nominal.outward(points)
    return np.concatenate([normal, cross(points - centre, normal) / extent], axis=-1)


def distances(points: Array, nominal: Nominal) -> Array:
    """The distances (n,) whose derivatives `distance_rows` gives; of a line by two components, (2 n,)."""
    if nominal.kind == "line":
        u, v, _ = nominal.frame()
        d = points - nominal.point_mm
        return np.concatenate([d @ u, d @ v])
    return nominal.distance(points)


def _stages(
    points: Sequence[Array], nominals: Sequence[Nominal], counts: Sequence[int], centre: Array, extent: float
) -> tuple[list[_Stage], Array, int]:
    free, stages, rank = np.eye(6), [], 0
    rows = [_own_rows(p, nominal, centre, extent) for p, nominal in zip(points, nominals, strict=True)]
    for last, count in zip(np.cumsum(counts), counts, strict=True):
        J = np.concatenate(rows[last - count : last])
        _, s, Vt = np.linalg.svd(np.linalg.qr(J @ free, mode="r"), full_matrices=True)
        fixed = int((s > RANK_THRESHOLD * np.sqrt(len(J))).sum())
        held = free @ Vt[:fixed].T
        stages.append(_Stage(tuple(nominals[last - count : last]), held / s[:fixed] ** 2 @ held.T))
        free, rank = free @ Vt[fixed:].T, rank + fixed
    return stages, free, rank


def _own_rows(points: Array, nominal: Nominal, centre: Array, extent: float) -> Array:
    J = distance_rows(points, nominal, centre, extent)
    return J if nominal.diameter_mm is None else J - J.mean(0)  # the free radius takes the mean of the distances


def _iterate(points: Sequence[Array], stages: Sequence[_Stage], centre: Array, extent: float) -> Rigid:
    """The motion of every draw, each until its own steps vanish."""
    from .kernels import settle

    lead = points[0].shape[:-2]
    together = np.concatenate(points, axis=-2).reshape(-1, sum(p.shape[-2] for p in points), 3)
    bounds = np.cumsum([0] + [p.shape[-2] for p in points])
    on = [nominal for stage in stages for nominal in stage.nominals]
    last = [k == len(stage.nominals) for stage in stages for k in range(1, len(stage.nominals) + 1)]
    surfaces = (
        np.array([KIND[n.kind] for n in on]), np.array([n.point_mm for n in on]), np.array([n.frame()[2] for n in on]),
        np.array([(n.diameter_mm or 0.0) / 2 for n in on]), np.array([-1.0 if n.inside else 1.0 for n in on]),
        np.array([n.diameter_mm is not None for n in on]), np.array(last),
        np.array([stage.gain for stage in stages for _ in stage.nominals]),
    )  # fmt: skip
    R, t = np.empty((len(together), 3, 3)), np.empty((len(together), 3))
    done = _DONE_MM * max(1.0, extent)

    def slices(a: int, b: int) -> None:
        settle(together[a:b], bounds, *surfaces, centre, extent, _STEPS, done, R[a:b], t[a:b])

    over_slices(slices, len(together), size=_SLICE)
    return Rigid(R.reshape(*lead, 3, 3), t.reshape(*lead, 3))


def motion_of(step: Array, centre: Array, extent: float) -> Rigid:
    """The motion of a step (6,): shift, then turn about `centre` in units of 1 / `extent`."""
    R = rotation(step[..., 3:] / extent)
    return Rigid(R, step[..., :3] + centre - (R @ centre))


def _turns(free: Array) -> Array:
    """An orthonormal basis (m, 3) of the rotations among the free twists (6, f)."""
    if free.shape[1] == 0:
        return np.zeros((0, 3))
    _, s, Vt = np.linalg.svd(free[3:].T, full_matrices=False)
    return Vt[s > 1e-6]
