"""Ties: every station hangs on the others by three tie points or more that lie off one line."""

from collections.abc import Mapping

import numpy as np

from ....core.arrays import Array
from ...job import Job, Station
from ..findings import Findings
from ..locate import Path
from .seen import on_one_line

_LEAST = 3


def ties(job: Job, points: Mapping[str, Mapping[str, Array]], findings: Findings) -> None:
    """Grow the network from the first station; what cannot be reached is an error at its station.

    `points`: by station, then by feature or tie point, in the station's own frame.
    """
    seen = {station: _tie_points(mine, job) for station, mine in points.items()}
    if len(seen) < 2:
        return
    first = next(iter(seen))
    joined, known = {first}, set(seen[first])
    while grown := [name for name in seen if name not in joined and _holds(seen[name], known)]:
        joined.update(grown)
        known.update(tie for name in grown for tie in seen[name])
    for index, station in enumerate(job.stations):
        if station.name in seen and station.name not in joined:
            _loose(station, ("station", index), seen[station.name], known, findings)


def _tie_points(mine: Mapping[str, Array], job: Job) -> dict[str, Array]:
    return {name: points.mean(0) for name, points in mine.items() if name in job.ties}


def _common(mine: dict[str, Array], known: set[str]) -> list[str]:
    return [name for name in mine if name in known]


def _holds(mine: dict[str, Array], known: set[str]) -> bool:
    common = _common(mine, known)
    return len(common) >= _LEAST and not on_one_line(_stack(mine, common))


def _stack(mine: dict[str, Array], names: list[str]) -> Array:
    return np.stack([mine[name] for name in names])


def _loose(station: Station, path: Path, mine: dict[str, Array], known: set[str], findings: Findings) -> None:
    common = _common(mine, known)
    what = f'station "{station.name}"'
    listed = ", ".join(common) or "none"
    if len(common) < _LEAST:
        findings.error(
            path, "have three tie points or more in common with the other stations", f"{len(common)} ({listed})",
            "Measure the missing tie points from here too, or correct their names.", what=what,
        )  # fmt: skip
    else:
        findings.error(
            path, "share tie points that lie off one line", f"{listed} on one line",
            "Add a tie point well off that line.", what=what,
        )  # fmt: skip
