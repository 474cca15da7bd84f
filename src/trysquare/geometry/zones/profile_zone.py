"""Profile of a surface or line: the smallest zone about the nominal surface, over the motions that are left free."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array, points
from ...core.errors import InputError
from ...core.frames import Rigid, best_rigid
from ...core.threads import over_slices
from ..kernels.profile import profile_zone
from .results import GLOBAL, STOPS, ZoneFit, certified, lead_again, local

FREEDOMS = ("tx", "ty", "tz", "rx", "ry", "rz")
_SLICE = 8
_LINE = 1e-6  # second extent over the first below which pairs of points do not fix a turn
_UNIT = 1e-6  # of the length 1 of a normal
PROOF = (
    "The contacts prove the bound with the distances made linear in the motion at the answer: nothing better near it. "
    "Where no turn is free the distances are linear, and the bound holds for all motions."
)


@dataclass(frozen=True, kw_only=True)
class ProfileZone(ZoneFit):
    """The smallest zone of a profile, and the motion that gives it.

    `move` maps the points into the coordinates of the nominal ones, `R` (..., 3, 3) and `t` (..., 3); `rank` (...)
    counts the parts of the motion that the points fix (parts they do not fix stay at the start). `residuals_mm` are
    distances along the normals from the middle of the zone: the nominal surface, or with `offset` a surface parallel
    to it `offset_mm` (...) further out. `width_mm` is twice the largest residual.
    """

    move: Rigid
    rank: npt.NDArray[np.int64]
    offset_mm: Array


def zone_profile(
    points_mm: npt.ArrayLike,
    nominal_mm: npt.ArrayLike,
    normals: npt.ArrayLike,
    *,
    free: Sequence[str] = FREEDOMS,
    offset: bool = False,
    about_mm: npt.ArrayLike = (0.0, 0.0, 0.0),
) -> ProfileZone:
    """Move the points so that the zone about the nominal surface that holds them is the narrowest.

    Parameters
    ----------
    points_mm : (..., n, 3) float, finite
        Measured points, mm. Leading axes are trials.
    nominal_mm : (n, 3) float, finite
        For each its nominal point, in the coordinates of the datum system.
    normals : (n, 3) float
        Unit normals of the nominal surface there, out of the material.
    free : names among tx, ty, tz, rx, ry, rz
        Which shifts along and turns about the axes of the datum system are left free.
    offset : bool
        Let the middle of the zone leave the nominal surface (the modifier OZ of ISO 1101:2017, from memory).
    about_mm : (3,) float
        The point that turns are about, where not all motions are free.

    Returns
    -------
    ProfileZone

    Raises
    ------
    InputError : shapes that do not fit, a value that is not finite, a normal that is not unit, an unknown freedom.

    Notes
    -----
    Method: distances along the nominal normals, made linear in the motion; exact linear zone (`smallest_zone`); the
    step taken in full or in part; again until the width meets its linear bound. Starts from the least-squares motion of
    the pairs of points where all is free, else from no motion. Checked: tests/unit/test_zone_profile.py.
    """
    where = "zone_profile"
    P = points(points_mm, where=where)
    N = points(nominal_mm, where=f"{where}: nominal")
    M = points(normals, where=f"{where}: normals")
    lead, n = P.shape[:-2], P.shape[-2]
    _check(N, M, free, n, where)
    mask = np.array([name in free for name in FREEDOMS])
    flat = P.reshape(-1, n, 3)
    pivot = N.mean(0) if mask.all() else points(np.atleast_2d(about_mm), where=f"{where}: about")[0]
    R0, t0, centres = _starts(flat, N, pivot, whole=bool(mask.all()))
    Q = np.ascontiguousarray(flat - centres[:, None])
    m = len(Q)
    values, motions, notes = np.empty((m, 3)), np.empty((m, 3, 4)), np.empty((m, 3), np.int64)
    held, residuals = np.empty((m, 2, 8), np.int64), np.empty((m, n))
    given = (np.ascontiguousarray(N - pivot), np.ascontiguousarray(M))

    def slices(a: int, b: int) -> None:
        out = (x[a:b] for x in (values, motions, notes, held, residuals))
        profile_zone(Q[a:b], *given, R0[a:b], t0[a:b], mask, offset, *out)

    over_slices(slices, m, size=_SLICE)
    R = np.ascontiguousarray(motions[:, :, :3])
    t = motions[:, :, 3] + pivot - np.einsum("mij,mj->mi", R, centres)
    fields = {
        "width_mm": values[:, 0], "gap_mm": np.maximum(values[:, 0] - values[:, 1], 0.0),
        "kind": np.full(m, local(1) if mask[3:].any() else GLOBAL), "contacts": held[:, 0],
        "sides": held[:, 1].astype(np.int8), "iterations": notes[:, 1] + 1, "stopped": np.array(STOPS)[notes[:, 0]],
        "residuals_mm": residuals, "R": R, "t": t, "rank": notes[:, 2], "offset_mm": values[:, 2],
    }  # fmt: skip
    out = lead_again(fields, lead)
    names = ("width_mm", "residuals_mm", "iterations", "stopped", "rank", "offset_mm")
    return ProfileZone(
        certificate=certified(out, PROOF), move=Rigid(out["R"], out["t"]), **{name: out[name] for name in names}
    )


def _check(N: Array, M: Array, free: Sequence[str], n: int, where: str) -> None:
    if N.shape != (n, 3) or M.shape != (n, 3):
        raise InputError(
            where, "nominal points and normals", f"be one for each of the {n} points", f"{N.shape} and {M.shape}",
            "Give arrays of shape (n, 3).",
        )  # fmt: skip
    length = np.linalg.norm(M, axis=1)
    if (np.abs(length - 1.0) > _UNIT).any():
        k = int(np.abs(length - 1.0).argmax())
        raise InputError(where, f"normal {k}", "have the length 1", f"{length[k]:.6g}", "Divide it by its length.")
    for name in free:
        if name not in FREEDOMS:
            raise InputError(where, "free", f"name some of {', '.join(FREEDOMS)}", f'"{name}"', "Correct it.")


def _starts(P: Array, N: Array, pivot: Array, *, whole: bool) -> tuple[Array, Array, Array]:
    """Turns (m, 3, 3) and shifts (m, 3) about the pivot to start from, and the points (m, 3) that go there."""
    m = len(P)
    spread = np.linalg.svd(N - N.mean(0), compute_uv=False)
    if not whole or len(N) < 3 or not spread[1] > _LINE * spread[0]:
        return np.tile(np.eye(3), (m, 1, 1)), np.zeros((m, 3)), np.tile(pivot, (m, 1))
    centres = P.mean(1)
    move = best_rigid(P - centres[:, None], np.broadcast_to(N - pivot, P.shape))
    return np.ascontiguousarray(move.R), np.ascontiguousarray(move.t), centres
