"""Zones and touching planes whose normal is given: the extremes of the points along it, nothing to search."""

from typing import Any

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.threads import over_slices
from ..axes import turned
from ..kernels.sweep import heights
from .flat import check_read
from .results import GLOBAL, MET, STOPS, ZoneFit, certified, lead_again

PROOF = "The normal is given; no planes square to it that are nearer to one another hold the two contacts."
_SLICE = 64


def along(P: Array, normals: Array, where: str) -> tuple[Array, Array]:
    """Centroids (m, 3) and heights (m, n) of points (m, n, 3) over them along the normals (1 or m, 3)."""
    centroids = P.mean(1)
    W = np.ascontiguousarray(np.broadcast_to(normals, centroids.shape))
    h = np.empty(P.shape[:2])

    def slices(a: int, b: int) -> None:
        for k in range(a, b):
            heights(P[k], centroids[k], W[k], 0.0, h[k])

    over_slices(slices, len(P), size=_SLICE)
    if not np.isfinite(h.sum()):
        check_read(P, where)
    return centroids, h


def fixed_fields(P: Array, normals: Array, where: str) -> dict[str, npt.NDArray[Any]]:
    """Zone of points (m, n, 3) square to the normals (1 or m, 3): what every result has, and the point."""
    centroids, h = along(P, normals, where)
    rows = np.stack([h.argmax(1), h.argmin(1)], 1)
    ends = np.take_along_axis(h, rows, 1)
    level, m = ends.mean(1), len(h)
    h -= level[:, None]
    return {
        "width_mm": ends[:, 0] - ends[:, 1], "gap_mm": np.zeros(m), "kind": np.full(m, GLOBAL), "contacts": rows,
        "sides": np.tile(np.array([1, -1], np.int8), (m, 1)), "iterations": np.ones(m, np.int64),
        "stopped": np.full(m, STOPS[MET]), "residuals_mm": h, "point_mm": centroids + level[:, None] * normals,
    }  # fmt: skip


def fixed_zone(P: Array, directions: Array, lead: tuple[int, ...], hint: Array | None, where: str) -> ZoneFit:
    """The two planes square to `directions` (1 or m, 3) that hold the points (m, n, 3)."""
    normals = np.ascontiguousarray(np.broadcast_to(turned(directions, hint), (len(P), 3)))
    out = lead_again({**fixed_fields(P, normals, where), "normal": normals}, lead)
    names = ("width_mm", "residuals_mm", "iterations", "stopped", "point_mm", "normal")
    return ZoneFit(certificate=certified(out, PROOF), **{name: out[name] for name in names})
