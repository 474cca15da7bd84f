"""Batches of points through the compiled zones: shared starts, threads, failures, and the proof in words."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array, finite, points
from ...core.errors import InputError, RankError
from ...core.threads import over_slices
from ..kernels.cover import search
from ..kernels.flat import flat_zone
from .results import GLOBAL, MET, NO_DECREASE, OPEN, STOPS, local

_SLICE = 128
_QUICK_CHECK = 100_000  # coordinates from which the kernels look for those that are not finite
_DONE = 1e-9  # mm, and of the width: a gap to the bound of less is none
_RATIO = 1e-6  # least extent across, of the largest extent: as in the kernels
PROOF = (
    "The contacts hold a chord as long as the zone is wide, along its normal: a zone leant by t from it is at least "
    "W cos t + g sin t wide, g the least width of the contacts across. Where that leaves directions open, all others "
    "are covered by such caps and by cells, in each of which the longest chord is a bound."
)


@dataclass(frozen=True)
class Solved:
    """Outcome for m members: normals and points (m, 3), widths and bounds (m), contacts and sides (m, 4), `code` (m):
    0 proven over all directions, 1 near the answer only, below 0 not solved; turns and starts (m), residuals (m, n).
    """

    normals: Array
    points: Array
    widths: Array
    bounds: Array
    code: npt.NDArray[np.int64]
    turns: npt.NDArray[np.int64]
    starts: npt.NDArray[np.int64]
    contacts: npt.NDArray[np.int64]
    sides: npt.NDArray[np.int64]
    residuals: Array

    @property
    def failed(self) -> npt.NDArray[np.bool_]:
        """Members (m) without an answer."""
        return self.code < 0

    def fields(self) -> dict[str, npt.NDArray[Any]]:
        """What every result has, for `lead_again`."""
        gaps = np.maximum(self.widths - self.bounds, 0.0)
        met = gaps <= _DONE * (1.0 + self.widths)
        stops = np.where(self.failed, OPEN, np.where(met, MET, NO_DECREASE))
        kinds = np.full(len(self.code), GLOBAL, dtype="U32")
        for k in np.flatnonzero(self.code == 1):
            kinds[k] = local(int(self.starts[k]))
        return {
            "width_mm": self.widths, "residuals_mm": self.residuals, "gap_mm": gaps, "kind": kinds,
            "contacts": self.contacts, "sides": self.sides.astype(np.int8), "iterations": self.turns + 1,
            "stopped": np.array(STOPS)[stops],
        }  # fmt: skip


def read_points(value: npt.ArrayLike, *, least: int, dims: int, where: str) -> tuple[Array, tuple[int, ...]]:
    """Points (m, n, 3), z = 0 for those in a plane, and the leading axes. Large sets are left to `check_read`."""
    P = np.asarray(value) if isinstance(value, np.ndarray) else np.asarray(value, dtype=object)
    if P.dtype.kind not in "fiu" or P.size < _QUICK_CHECK:
        P = points(value, at_least=least, dims=dims, where=where)
    else:
        points(P[..., :least, :], at_least=least, dims=dims, where=where)
    flat = np.ascontiguousarray(P, dtype=np.float64).reshape(-1, *P.shape[-2:])
    if dims == 2:
        flat = np.concatenate([flat, np.zeros((*flat.shape[:2], 1))], -1)
    return flat, P.shape[:-2]


def read_direction(value: npt.ArrayLike, lead: tuple[int, ...], where: str, what: str, dims: int = 3) -> Array:
    """A direction as unit vectors (1 or m, 3), z = 0 in a plane. Raises `InputError` for a wrong shape or length 0."""
    T = finite(np.asarray(value, dtype=np.float64), where=f"{where}: {what}")
    length = np.linalg.norm(T, axis=-1, keepdims=True) if T.ndim else np.zeros(1)
    if T.shape not in ((dims,), (*lead, dims)) or not (length > 0).all():
        raise InputError(
            where, what, f"be one direction ({dims},) or one per trial (..., {dims}), of a length above 0",
            f"shape {T.shape}", "Correct it.",
        )  # fmt: skip
    unit = (T / length).reshape(-1, dims)
    return np.ascontiguousarray(np.pad(unit, ((0, 0), (0, 3 - dims))))


def solve_flat(
    P: Array, outward: Array, *, across: Array | None = None, one: bool = False, centres: Array | None = None,
    whole: bool = True,
) -> Solved:  # fmt: skip
    """Zones of members P (m, n, 3): the first from its own start, the others from where it ended.

    `across` (1 or m, 3): normals stay across it. `one`: the planes on the facet over the centroid, or over `centres`
    (m, 3), on the side of `outward` (1 or m, 3), instead of zones. Without `whole` the residuals are left out (m, 0).
    """
    m, n = P.shape[:2]
    out = (np.full((m, 3), np.nan), np.full((m, 3), np.nan), np.full((m, 2), np.nan), np.empty((m, 3), np.int64),
           np.full((m, 2, 4), -1), np.empty((m, n if whole else 0)))  # fmt: skip
    v = np.array([[0.0, 0.0, 1.0]]) if across is None else across
    middles = np.empty((0, 3)) if centres is None else centres
    begin = _begin_nowhere()

    def slices(a: int, b: int) -> None:
        wanted = (x if len(x) <= 1 else x[a:b] for x in (middles, outward, v))
        flat_zone(P[a:b], *begin, *wanted, 3 if across is None else 2, one, *(x[a:b] for x in out))

    slices(0, 1)
    if m > 1:
        if out[3][0, 0] >= 0 and len(v) == 1:
            begin = _begin_at(out[0][0], out[1][0], out[4][0], v[0] if across is not None else None, n if one else -1)
        over_slices(slices, m, size=_SLICE)
    _search(P, (middles, outward, v), 3 if across is None else 2, one, out)
    normals, places, values, notes, held, residuals = out
    return Solved(
        normals, places, values[:, 0], values[:, 1], notes[:, 0], notes[:, 1], notes[:, 2], held[:, 0], held[:, 1],
        residuals,
    )  # fmt: skip


def _search(
    P: Array, wanted: tuple[Array, Array, Array], free: int, one: bool, out: tuple[npt.NDArray[Any], ...]
) -> None:
    """Look over all directions for the members whose contacts do not prove their zone."""
    left = np.flatnonzero(out[3][:, 0] == 1)
    if not len(left):
        return
    part = [x[left] for x in out]
    Q, own = P[left], [x if len(x) <= 1 else x[left] for x in wanted]

    def slices(a: int, b: int) -> None:
        search(Q[a:b], *(x if len(x) <= 1 else x[a:b] for x in own), free, one, *(x[a:b] for x in part))

    over_slices(slices, len(left), size=_SLICE // 16)
    for whole, some in zip(out, part, strict=True):
        whole[left] = some


def _begin_nowhere() -> tuple[Array, Array, npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    return np.zeros(3), np.full((3, 3), np.nan), np.full(4, -1), np.zeros(4, np.int64)


def _begin_at(
    normal: Array, point: Array, held: npt.NDArray[np.int64], across: Array | None, origin: int
) -> tuple[Array, Array, npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """A start from one solved member: middle, frame, and the basis of contacts (with the origin for a ray)."""
    v = across
    if v is None:
        v = np.eye(3)[np.abs(normal).argmin()]
        v = v - (v @ normal) * normal
        v = v / np.linalg.norm(v)
    index, sides = held[0].copy(), held[1].copy()
    if origin >= 0 and across is None:
        index, sides = np.where(index < 0, origin, index), np.where(index < 0, -1, sides)
    return point, np.array([np.cross(v, normal), v, normal]), index, sides


def check_read(P: Array, where: str) -> None:
    """Raise `InputError` when a coordinate is not finite (named)."""
    finite(P[0] if len(P) == 1 else P, where=where)


def refuse(solved: Solved, P: Array, where: str, shape: str) -> None:
    """Raise when a coordinate is not finite, and when no member could be solved."""
    if (solved.code == -2).any():
        check_read(P, where)
    if not solved.failed.all():
        return
    spread = np.linalg.svd(P[0] - P[0].mean(0), compute_uv=False)
    rank = 1 if shape == "plane" else 0
    ratio = float(spread[rank] / spread[0]) if spread[0] > 0 else 0.0
    apart = rank == 0 or not spread[0] > 1e-14 * np.abs(P[0]).max() * np.sqrt(P.shape[1])
    raise RankError(
        where, "the points", "lie apart" if apart else "not lie on one line",
        "points that coincide" if apart else f"a ratio of extents of {ratio:.3g}, below {_RATIO:g}",
        "Measure points that lie apart." if apart else "Add points off the line through them.",
        ratio=ratio, threshold=_RATIO,
    )  # fmt: skip
