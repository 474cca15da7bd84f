"""Where readings lie, roughly: enough to see points on one line or a tie that cannot hold."""

import numpy as np

from ....core.arrays import Array
from ...job import Readings

#: Points lie on one line, or in one plane, when their spread across it is below this part of their spread along it.
FLAT = 1e-3


def cartesian(readings: Readings) -> Array:
    """Readings as points (n, 3) in the station's frame, mm: centres of balls, no correction."""
    if not readings.polar:
        return readings.obs
    azimuth, elevation, distance = readings.obs.T
    level = distance * np.cos(elevation)
    return np.stack([level * np.cos(azimuth), level * np.sin(azimuth), distance * np.sin(elevation)], axis=-1)


def aimed_at(readings: Readings) -> dict[str, Array]:
    """Points (m, 3) of each feature and tie point, repeats of an aim averaged; in the order first seen."""
    first: dict[str, int] = {}
    group = np.array([first.setdefault(aim, len(first)) for aim in readings.aims], dtype=np.int64)
    counts = np.bincount(group)
    means = np.stack([np.bincount(group, column) / counts for column in cartesian(readings).T], axis=-1)
    on_of = dict(zip(readings.aims, readings.on, strict=True))
    rows: dict[str, list[int]] = {}
    for aim, index in first.items():
        rows.setdefault(on_of[aim], []).append(index)
    return {on: means[indices] for on, indices in rows.items()}


def on_one_line(points: Array, *, of_mm: float = 0.0) -> bool:
    """Whether points (n, 3) lie on one line, or coincide; a feature of size `of_mm` must be spanned in some measure."""
    spread = np.linalg.svd(points - points.mean(0), compute_uv=False) / np.sqrt(len(points))
    return bool(spread[1] <= FLAT * max(spread[0], of_mm))
