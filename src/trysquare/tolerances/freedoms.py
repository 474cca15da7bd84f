"""Which freedoms of the part a datum system fixes, from its nominal features in their order (ISO 5459:2011, 6).

Each feature resists some small motions (three shifts, three turns): these are rows of constraints. A datum fixes what
its rows take from the freedoms that those before it left; one that takes nothing fixes what is fixed already. The six
freedoms are named after the axes of the part frame, or after the nearest of them where the datums lie askew.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..core.arrays import Array
from .nominal import Nominal

FREEDOMS = ("along x", "along y", "along z", "about x", "about y", "about z")
#: A freedom counts as fixed when the sine of its angle to what is open exceeds this: half a degree of tilt, or a lever
#: of a hundredth of the datums' extent. Closer than that, form and errors of the features decide, not the drawing.
THRESHOLD = 1e-2


@dataclass(frozen=True)
class DatumFreedoms:
    """`fixed`: what each datum fixes anew; `again`: what a datum that fixes nothing new would fix a second time.

    `open_twists` (6, f): an orthonormal basis of the motions left open; shifts in mm about `centre_mm`, turns in rad
    times `extent_mm`.
    """

    fixed: tuple[tuple[str, ...], ...]
    again: tuple[tuple[str, ...], ...]
    open_twists: Array
    centre_mm: Array
    extent_mm: float

    @property
    def open(self) -> tuple[str, ...]:
        """Names of the freedoms left open."""
        return _names(self.open_twists)

    @property
    def open_turns(self) -> Array:
        """An orthonormal basis (m, 3) of the rotations left open."""
        return _turn_part(self.open_twists)[0].T

    def open_for(self, nominal: Nominal, *, direction: Array | None = None) -> tuple[str, ...]:
        """Names of the open freedoms that move a feature off its place, across `direction` where a zone has one.

        A turn that an open shift can undo is not named: the shift is.
        """
        rows = _place_rows(nominal, direction, self.centre_mm, self.extent_mm)
        turns, shifts = _split(self.open_twists)
        moving_shifts = _moving(rows @ shifts, shifts)
        reach = _basis((rows @ shifts).T).T  # what shifts can make good
        by_turns = rows @ turns
        moving_turns = _moving(by_turns - reach @ (reach.T @ by_turns), turns)
        return _in_order(_names_of(moving_shifts[:3], 0) + _names_of(_turn_part(moving_turns)[0], 3))


def freedoms(datums: Sequence[Nominal | Sequence[Nominal]]) -> DatumFreedoms:
    """The freedoms fixed by datums, in order of precedence: each a nominal feature, or those of a common datum."""
    systems = [(datum,) if isinstance(datum, Nominal) else tuple(datum) for datum in datums]
    nominals = [nominal for system in systems for nominal in system]
    centre = np.mean([n.point_mm for n in nominals], axis=0)
    extent = _extent(nominals, centre)
    free = np.eye(6)
    fixed: list[tuple[str, ...]] = []
    again: list[tuple[str, ...]] = []
    for system in systems:
        rows = _basis(np.concatenate([constraints(nominal, centre, extent) for nominal in system]))
        rest = _left(rows, free)
        news = _without(_names(free), _names(rest))
        fixed.append(news)
        again.append(() if news else _without(FREEDOMS, _names(_left(rows, np.eye(6)))))
        free = rest
    return DatumFreedoms(tuple(fixed), tuple(again), free, centre, extent)


def constraints(nominal: Nominal, centre_mm: Array, extent_mm: float) -> Array:
    """Rows (k, 6) of the small motions that a feature resists: plane 3, axis 4, circle 2, sphere 3, point 1."""
    u, v, w = nominal.frame()
    p = nominal.point_mm
    if nominal.kind == "plane":
        return np.stack([_shift(p, w, centre_mm, extent_mm), _turn(u), _turn(v)])
    if nominal.kind in ("cylinder", "line"):
        return np.stack([*(_shift(p, d, centre_mm, extent_mm) for d in (u, v)), _turn(u), _turn(v)])
    directions = {"circle": (u, v), "sphere": (u, v, w), "point": (w,)}[nominal.kind]
    return np.stack([_shift(p, d, centre_mm, extent_mm) for d in directions])


def _place_rows(nominal: Nominal, direction: Array | None, centre: Array, extent: float) -> Array:
    """Rows of the motions that take a feature off its true position."""
    u, v, w = nominal.frame()
    if nominal.kind == "plane":
        return constraints(nominal, centre, extent)
    if direction is not None:
        across: tuple[Array, ...] = (direction,)
    else:
        across = {"sphere": (u, v, w), "point": (w,)}.get(nominal.kind, (u, v))
    half = (nominal.length_mm or 0.0) / 2
    ends = [nominal.point_mm + s * w for s in ((-half, half) if half else (0.0,))]
    return np.stack([_shift(p, d, centre, extent) for p in ends for d in across])


def _shift(point: Array, direction: Array, centre: Array, extent: float) -> Array:
    """How far small motions move `point` along `direction`."""
    return np.concatenate([direction, np.cross(point - centre, direction) / extent])


def _turn(axis: Array) -> Array:
    return np.concatenate([np.zeros(3), axis])


def _extent(nominals: Sequence[Nominal], centre: Array) -> float:
    sizes = [float(np.linalg.norm(n.point_mm - centre)) for n in nominals]
    sizes += [(n.length_mm or 0.0) / 2 for n in nominals] + [(n.diameter_mm or 0.0) / 2 for n in nominals]
    sizes += [max(n.size_mm) / 2 for n in nominals if n.size_mm is not None]
    return max(*sizes, 1.0)


def _basis(rows: Array) -> Array:
    """An orthonormal basis (r, k) of the row space of rows (m, k)."""
    _, s, Vt = np.linalg.svd(rows, full_matrices=False)
    return Vt[s > 1e-9 * max(1.0, float(s.max(initial=0.0)))]


def _left(rows: Array, free: Array) -> Array:
    """The part (6, g) of the freedoms (6, f) that orthonormal rows (k, 6) leave open."""
    _, s, Vt = np.linalg.svd(rows @ free, full_matrices=True)
    return free @ Vt[int((s > THRESHOLD).sum()) :].T


def _moving(moved: Array, twists: Array) -> Array:
    """The part (6, g) of twists (6, f) that moves something, from what they move (m, f)."""
    if twists.shape[1] == 0:
        return twists
    _, s, Vt = np.linalg.svd(moved, full_matrices=False)
    return twists @ Vt[s > THRESHOLD].T


def _split(twists: Array) -> tuple[Array, Array]:
    """Twists (6, f) as those that turn (6, r) and pure shifts (6, f - r)."""
    if twists.shape[1] == 0:
        return twists, twists
    _, s, Vt = np.linalg.svd(twists[3:], full_matrices=True)
    r = int((s > 1e-6).sum())
    return twists @ Vt[:r].T, twists @ Vt[r:].T


def _turn_part(twists: Array) -> tuple[Array, int]:
    """An orthonormal basis (3, r) of the rotations among twists (6, f), and r."""
    if twists.shape[1] == 0:
        return np.zeros((3, 0)), 0
    U, s, _ = np.linalg.svd(twists[3:], full_matrices=False)
    r = int((s > 1e-6).sum())
    return U[:, :r], r


def _names(twists: Array) -> tuple[str, ...]:
    _, shifts = _split(twists)
    return _in_order(_names_of(shifts[:3], 0) + _names_of(_turn_part(twists)[0], 3))


def _names_of(columns: Array, first: int) -> tuple[str, ...]:
    """One name a column (3, r): the axes nearest to the space that they span."""
    if columns.shape[1] == 0:
        return ()
    U, s, _ = np.linalg.svd(columns, full_matrices=False)
    kept = U[:, s > 1e-6]
    leverage = (kept**2).sum(1).round(9)
    axes = np.argsort(-leverage, kind="stable")[: kept.shape[1]]
    return tuple(FREEDOMS[first + int(i)] for i in axes)


def _in_order(names: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(name for name in FREEDOMS if name in names)


def _without(names: tuple[str, ...], taken: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(name for name in names if name not in taken)
