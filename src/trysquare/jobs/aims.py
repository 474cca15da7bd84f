"""Readings grouped to aims: repeats of an aim in a station (both faces, say) are averaged before any fit."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array
from ..core.threads import over_slices
from .job import Station

Index = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Aims:
    """The aims of one station: `order` sorts readings by aim, `starts` opens each aim, `counts` are its repeats.

    `keys` names each aim once in the job, `on` its feature or tie point, `target` and `nest` what was held there.
    """

    keys: tuple[str, ...]
    on: tuple[str, ...]
    targets: tuple[str, ...]
    nests: tuple[str, ...]
    order: Index
    starts: Index
    counts: Index

    def mean(self, readings: Array) -> Array:
        """Average readings (..., n, 3) over their aims, (..., m, 3)."""
        if len(self.order) == len(self.starts):
            return readings[..., self.order, :]
        from .kernels import means

        flat = np.ascontiguousarray(readings).reshape(-1, *readings.shape[-2:])
        out = np.empty((len(flat), len(self.starts), 3))
        over_slices(lambda a, b: means(flat[a:b], self.order, self.starts, self.counts, out[a:b]), len(flat), size=128)
        return out.reshape(*readings.shape[:-2], *out.shape[1:])


def aims_of(station: Station, ties: frozenset[str]) -> Aims:
    """Group the readings of a station; all aims at one tie point are one."""
    readings = station.readings
    if readings is None:
        raise ValueError(f"station {station.name} has no readings")
    labels = [on if on in ties else aim for on, aim in zip(readings.on, readings.aims, strict=True)]
    first: dict[str, int] = {}
    group = np.array([first.setdefault(label, len(first)) for label in labels], dtype=np.int64)
    order = np.argsort(group, kind="stable").astype(np.int64)
    counts = np.bincount(group, minlength=len(first)).astype(np.int64)
    starts = np.concatenate([[0], np.cumsum(counts)[:-1]]).astype(np.int64)
    head = [int(order[s]) for s in starts]
    return Aims(
        keys=tuple(f"{station.name}/{label}" for label in first),
        on=tuple(readings.on[i] for i in head),
        targets=tuple(readings.targets[i] for i in head),
        nests=tuple(readings.nests[i] for i in head),
        order=order,
        starts=starts,
        counts=counts,
    )
