"""Targets: where the optical centre of a ball lies, how far its centre is off the surface, and the doubt about both."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..chance.sources import Draws, Source
from ..core.arrays import Array
from ..instruments.effects import wanted
from .job import Job

_AXES = ("x", "y", "z")
_ACTION = "use a ball or nest with a tighter certificate"


@dataclass(frozen=True)
class Centring:
    """The optical centres of the balls of aims: off the ball's centre in any direction, anew for each aim."""

    keys: tuple[str, ...]
    targets: tuple[str, ...]
    sources: tuple[Source, ...]

    def errors(self, draws: Draws) -> Array:
        """Errors (draws, m, 3) mm, in whatever frame: no direction is special."""
        shape = (len(draws), len(self.keys), 3)
        acting = [source for source in self.sources if wanted(source, draws)]
        out = np.zeros(shape) if acting else np.broadcast_to(0.0, shape)
        for source in acting:
            mine = self._rows(source)
            labels = [f"{self.keys[i]}|{axis}" for i in mine for axis in _AXES]
            out[:, mine] = draws.of(source, labels).reshape(len(draws), -1, 3)
        return out

    def variances(self) -> Array:
        """Variance (m,) of each coordinate, mm2."""
        out = np.zeros(len(self.keys))
        for source in self.sources:
            out[self._rows(source)] = source.u**2
        return out

    def _rows(self, source: Source) -> list[int]:
        return [i for i, target in enumerate(self.targets) if _centring_name(target) == source.name]


@dataclass(frozen=True)
class Offsets:
    """How far the centre of the ball of each aim lies off the surface along the outward normal, (m,) mm."""

    keys: tuple[str, ...]
    targets: tuple[str, ...]
    nests: tuple[str, ...]
    offset_mm: Array
    named: tuple[tuple[str, Source], ...]

    @property
    def sources(self) -> tuple[Source, ...]:
        return tuple(source for _, source in self.named)

    def along_normal(self, draws: Draws) -> Array:
        """Errors of the offsets, (draws, m) mm: one for each ball, one for each nest."""
        out = np.zeros((len(draws), len(self.keys)))
        for name, source in self.named:
            held = np.array([(n or t) == name for t, n in zip(self.targets, self.nests, strict=True)])
            out += draws.of(source, [name]) * held
        return out


def centring_of(job: Job, keys: tuple[str, ...], targets: tuple[str, ...]) -> Centring:
    """Centring of the balls of aims, in order; contact tips have none."""
    sources = tuple(
        Source(
            _centring_name(name), "corrected reading", job.targets[name].centring_mm, "mm", "aim",
            origin=job.targets[name].origin, action=_ACTION,
        )
        for name in _distinct(targets)
    )  # fmt: skip
    return Centring(keys, targets, sources)


def offsets_of(job: Job, keys: tuple[str, ...], targets: tuple[str, ...], nests: tuple[str, ...]) -> Offsets:
    """Offsets of aims, in order. A nest brings the ball's centre to its own height; else the ball's radius counts."""
    pairs = list(zip(targets, nests, strict=True))
    offset = [job.nests[n].height_mm if n else job.targets[t].radius_mm if t else 0.0 for t, n in pairs]
    named = [(t, _radius(job, t)) for t in _distinct([t for t, n in pairs if not n])]
    named += [(n, _height(job, n)) for n in _distinct(nests)]
    return Offsets(keys, targets, nests, np.array(offset), tuple(named))


def _radius(job: Job, name: str) -> Source:
    ball = job.targets[name]
    return Source(
        f"{name}: radius", "corrected reading", ball.u_radius_mm, "mm", "target", origin=ball.origin, action=_ACTION
    )


def _height(job: Job, name: str) -> Source:
    u = job.nests[name].u_height_mm
    return Source(
        f"{name}: height", "corrected reading", u, "mm", "target", origin="declared in the job", action=_ACTION
    )


def _centring_name(target: str) -> str:
    return f"{target}: centring"


def _distinct(names: Sequence[str]) -> list[str]:
    return list(dict.fromkeys(name for name in names if name))
