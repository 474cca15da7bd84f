"""Where readings lie, roughly: enough to see points on one line or a tie that cannot hold."""

from collections.abc import Iterable

import numpy as np

from ...core.arrays import Array
from ..job import Readings, Station

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
    points, rows = cartesian(readings), rows_of(readings)
    return {on: np.stack([points[mine].mean(0) for mine in _by_aim(readings, indices)]) for on, indices in rows.items()}


def rows_of(readings: Readings) -> dict[str, list[int]]:
    """Rows of each feature and tie point."""
    rows: dict[str, list[int]] = {}
    for i, on in enumerate(readings.on):
        rows.setdefault(on, []).append(i)
    return rows


def on_one_line(points: Array, *, of_mm: float = 0.0) -> bool:
    """Whether points (n, 3) lie on one line, or coincide; a feature of size `of_mm` must be spanned in some measure."""
    spread = np.linalg.svd(points - points.mean(0), compute_uv=False) / np.sqrt(len(points))
    return bool(spread[1] <= FLAT * max(spread[0], of_mm))


def measured_features(stations: Iterable[Station]) -> set[str]:
    """Names that some reading lands on."""
    return {on for station in stations if station.readings for on in set(station.readings.on)}


def _by_aim(readings: Readings, indices: list[int]) -> Iterable[list[int]]:
    groups: dict[str, list[int]] = {}
    for i in indices:
        groups.setdefault(readings.aims[i], []).append(i)
    return groups.values()
