"""The rough placement of a part: all measured features onto their nominals at once, from anywhere.

Several starts are made from what the features show by themselves (axes, normals, places), each is brought to its least
squares, and the one that fits is taken: in distances from the surfaces, and within their extents. Where two fit alike,
the one is taken whose planes face the stations that saw them.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..core.arrays import Array
from ..core.errors import RankError
from ..core.frames import Rigid, cross
from .nominal import Nominal
from .seating import distance_rows, distances, motion_of
from .starts import starts

#: Points of a feature that tell the starts apart.
_FEW = 8
#: Solutions whose misfits agree to this part of the extent fit alike.
_ALIKE = 1e-3
#: Two rotations are the same within this, rad.
_SAME_RAD = 0.05
#: A freedom is fixed when a unit of it moves the points by this part or more, root mean square.
_FIXED = 1e-3
#: Starts that are carried on, and steps of each.
_TRIED, _STEPS = 5, 15
_LARGEST_TURN = 0.3


@dataclass(frozen=True)
class _Solution:
    motion: Rigid
    misfit: float
    behind: int
    astray: float


def place(
    points: Sequence[Array],
    nominals: Sequence[Nominal],
    *,
    where: str,
    seen_from: Sequence[Array] | None = None,
    whole: bool = True,
) -> Rigid:
    """The motion that brings all measured features (n, 3) together onto their nominals, without a first guess.

    `seen_from`: for each feature the places (k, 3) of the stations that saw it, in the frame of the points. With
    `whole` False freedoms may stay open that the features do not fix, such as the turn about a lone axis, and of ways
    that fit alike any will do: a drawing that fits upside down is the same upside down.

    Raises
    ------
    RankError : the features do not fix the six freedoms, or fit their nominals in two ways.
    """
    few = [p[:: -(-len(p) // _FEW)] for p in points]
    extent = max(
        *(float(np.ptp(p, axis=0).max()) for p in (np.concatenate(points), np.stack([n.point_mm for n in nominals]))),
        1.0,
    )
    begun = _distinct(few, nominals, starts(few, nominals))
    found = [_solution(few, nominals, _brought(few, nominals, s, extent), seen_from) for s in begun]
    if whole:
        best = min(found, key=lambda s: s.misfit).motion
        _check_rank([best.apply(p) for p in points], nominals, where)
    chosen = _chosen(found, extent, where, whole)
    return _refined([chosen.apply(p) for p in points], nominals, chosen)


def _distinct(points: Sequence[Array], nominals: Sequence[Nominal], motions: Sequence[Rigid]) -> list[Rigid]:
    """The starts that fit best as they are, each turn once; where few features hardly tell them apart, more of them."""
    kept: list[Rigid] = []
    tried = _TRIED if len(points) > 3 else 3 * _TRIED
    for start in sorted(motions, key=lambda s: _solution(points, nominals, s, None).misfit):
        if len(kept) < tried and not any(_near(start.R, other.R) for other in kept):
            kept.append(start)
    return kept


def _near(R: Array, other: Array) -> bool:
    return bool(np.trace(R @ other.T) > 1.0 + 2.0 * np.cos(_SAME_RAD))


def _solution(
    points: Sequence[Array], nominals: Sequence[Nominal], motion: Rigid, seen_from: Sequence[Array] | None
) -> _Solution:
    there = [motion.apply(p) for p in points]
    off = np.concatenate([_less_size(distances(p, n), n) for p, n in zip(there, nominals, strict=True)])
    out = np.concatenate([_outside(p, n)[0] for p, n in zip(there, nominals, strict=True)])
    behind = 0
    for k, n in enumerate(nominals):
        if seen_from is not None and n.kind in ("plane", "point"):
            away = motion.apply(seen_from[k]) - there[k].mean(0)
            behind += int((away @ n.frame()[2] < 0.0).sum())
    astray = [p.mean(0) - n.point_mm for p, n in zip(there, nominals, strict=True)]
    misfit = np.sqrt(np.mean(off**2) + (np.mean(out**2) if len(out) else 0.0))
    return _Solution(motion, float(misfit), behind, float(np.linalg.norm(astray)))


def _less_size(off: Array, nominal: Nominal) -> Array:
    """Distances without what another diameter would take from them."""
    return off - off.mean() if nominal.diameter_mm is not None else off


def _outside(points: Array, nominal: Nominal) -> tuple[Array, Array]:
    """How far points lie past the extent of a feature, (m,), and the unit directions (m, 3) in which that grows."""
    u, v, w = nominal.frame()
    d = points - nominal.point_mm
    reach = {"cylinder": [(w, nominal.length_mm)], "line": [(w, nominal.length_mm)]}.get(nominal.kind, [])
    if nominal.kind == "plane" and nominal.size_mm is not None:
        reach = [(u, nominal.size_mm[0]), (v, nominal.size_mm[1])]
    if not reach:
        return np.zeros(0), np.zeros((0, 3))
    along = [(d @ axis, (length or 0.0) / 2, axis) for axis, length in reach]
    past = np.concatenate([np.maximum(np.abs(s) - half, 0.0) for s, half, _ in along])
    ways = np.concatenate([np.outer(np.sign(s) * (np.abs(s) > half), axis) for s, half, axis in along])
    return past, ways


def _brought(points: Sequence[Array], nominals: Sequence[Nominal], motion: Rigid, extent: float) -> Rigid:
    """The motion after least squares of distances and of what lies outside the extents, in steps that stay small."""
    centre = np.mean([n.point_mm for n in nominals], axis=0)
    for _ in range(_STEPS):
        there = [motion.apply(p) for p in points]
        J, r = _system(there, nominals, centre, extent)
        step = np.linalg.lstsq(J, -r, rcond=1e-6)[0][:6]
        step = step * min(1.0, _LARGEST_TURN * extent / max(float(np.linalg.norm(step[3:])), 1e-300),
                    extent / max(float(np.linalg.norm(step[:3])), 1e-300))  # fmt: skip
        motion = motion_of(np.asarray(step, dtype=np.float64), centre, extent).after(motion)
        if np.abs(step).max() < 1e-5 * extent:
            break
    return motion


def _system(points: Sequence[Array], nominals: Sequence[Nominal], centre: Array, extent: float) -> tuple[Array, Array]:
    rows = [distance_rows(p, n, centre, extent) for p, n in zip(points, nominals, strict=True)]
    past = [_outside(p, n) for p, n in zip(points, nominals, strict=True)]
    repeats = [len(out) // max(len(p), 1) for (out, _), p in zip(past, points, strict=True)]
    at = np.concatenate([np.tile(p, (k, 1)) for p, k in zip(points, repeats, strict=True)])
    ways = np.concatenate([w for _, w in past])
    bordered = _bordered(rows, nominals)
    pushed = np.zeros((len(ways), bordered.shape[1]))
    pushed[:, :6] = np.concatenate([ways, cross(at - centre, ways) / extent], axis=-1)
    r = [distances(p, n) for p, n in zip(points, nominals, strict=True)]
    return np.concatenate([bordered, pushed]), np.concatenate([*r, *(out for out, _ in past)])


def _chosen(found: Sequence[_Solution], extent: float, where: str, whole: bool) -> Rigid:
    """The best solution; where another, different one fits alike, facing the stations and lying nearer decide."""
    best = min(found, key=lambda s: s.misfit)
    alike = [s for s in found if s.misfit <= best.misfit + _ALIKE * extent]
    least = min(s.behind for s in alike)
    facing = sorted((s for s in alike if s.behind == least), key=lambda s: s.astray)
    chosen = min((s for s in facing if _near(s.motion.R, facing[0].motion.R)), key=lambda s: s.misfit)
    rivals = [s for s in facing if not _near(s.motion.R, chosen.motion.R)]
    if whole and rivals and rivals[0].astray < 2.0 * chosen.astray + _ALIKE * extent:
        raise RankError(
            where, "the measured features", "fit the drawing in one way only", "two ways that fit alike",
            "Measure another feature, or give planes their size.", ratio=0.0, threshold=_ALIKE,
        )  # fmt: skip
    return chosen.motion


def _refined(points: list[Array], nominals: Sequence[Nominal], motion: Rigid) -> Rigid:
    centre = np.mean([n.point_mm for n in nominals], axis=0)
    extent = max(float(np.ptp(np.concatenate(points), axis=0).max()), 1.0)
    for _ in range(50):
        rows = [distance_rows(p, n, centre, extent) for p, n in zip(points, nominals, strict=True)]
        J = _bordered(rows, nominals)
        r = np.concatenate([distances(p, n) for p, n in zip(points, nominals, strict=True)])
        step = np.linalg.lstsq(J, -r, rcond=1e-9)[0][:6]
        small = motion_of(step, centre, extent)
        motion, points = small.after(motion), [small.apply(p) for p in points]
        if np.abs(step).max() < 1e-10:
            break
    return motion


def _bordered(rows: list[Array], nominals: Sequence[Nominal]) -> Array:
    """Jacobian of all features with one radius column for each feature of size."""
    sized = [i for i, n in enumerate(nominals) if n.diameter_mm is not None]
    border = np.zeros((sum(len(r) for r in rows), len(sized)))
    at = np.cumsum([0] + [len(r) for r in rows])
    for k, i in enumerate(sized):
        border[at[i] : at[i + 1], k] = 1.0
    return np.concatenate([np.concatenate(rows), border], axis=1)


def _check_rank(points: Sequence[Array], nominals: Sequence[Nominal], where: str) -> None:
    centre = np.mean([n.point_mm for n in nominals], axis=0)
    extent = max(float(np.ptp(np.concatenate(points), axis=0).max()), 1.0)
    rows = []
    for p, n in zip(points, nominals, strict=True):
        J = distance_rows(p, n, centre, extent)
        rows.append(J - J.mean(0) if n.diameter_mm is not None else J)
    J = np.concatenate(rows)
    s = np.linalg.svd(J, compute_uv=False) / np.sqrt(len(J))
    fixed = int((s > _FIXED).sum())
    if fixed < 6:
        raise RankError(
            where, "the measured features", "fix the part in all its six freedoms", f"{fixed} of them",
            "Measure another feature, off the others or lying another way.", ratio=float(s[-1]), threshold=_FIXED,
        )  # fmt: skip
