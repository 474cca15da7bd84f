"""Target offsets: from the centre of a ball or tip to the surface it touches, and what is not known of them."""

from dataclasses import dataclass

import numpy as np

from ..chance.sources import Draws, Source
from ..core.arrays import Array
from .job import Job

_AXES = ("x", "y", "z")


@dataclass(frozen=True)
class Offsets:
    """Offset of each aim along the outward normal (m,), mm, and the sources behind it."""

    keys: tuple[str, ...]
    targets: tuple[str, ...]
    nests: tuple[str, ...]
    offset_mm: Array
    _sources: tuple[tuple[str, Source], ...]

    @property
    def sources(self) -> tuple[Source, ...]:
        return tuple(source for _, source in self._sources)

    def centring(self, draws: Draws) -> Array:
        """Where the optical centre lies off the ball's centre, (draws, m, 3) mm, any direction; anew for each aim."""
        out = np.zeros((len(draws), len(self.keys), 3))
        for name, source in self._sources:
            if source.scope == "aim":
                mine = [i for i, target in enumerate(self.targets) if target == name]
                for axis in range(3):
                    out[:, mine, axis] += draws.of(source, [f"{self.keys[i]}|{_AXES[axis]}" for i in mine])
        return out

    def along_normal(self, draws: Draws) -> Array:
        """Errors of the offsets, (draws, m) mm: one for each ball, one for each nest."""
        out = np.zeros((len(draws), len(self.keys)))
        for name, source in self._sources:
            if source.scope == "target":
                held = np.array([name in (t, n) for t, n in zip(self.targets, self.nests, strict=True)])
                out += draws.of(source, [name]) * held
        return out


def offsets_of(job: Job, keys: tuple[str, ...], targets: tuple[str, ...], nests: tuple[str, ...]) -> Offsets:
    """Offsets for aims in order. A nest brings the ball's centre to its own height; else the ball's radius counts."""
    offset = np.array([
        job.nests[nest].height_mm if nest else job.targets[target].radius_mm if target else 0.0
        for target, nest in zip(targets, nests, strict=True)
    ])  # fmt: skip
    sources: list[tuple[str, Source]] = []
    for name in dict.fromkeys(t for t, n in zip(targets, nests, strict=True) if t and not n):
        ball = job.targets[name]
        sources.append((name, _source(f"{name}: radius", ball.u_radius_mm, "target", ball.origin)))
    for name in dict.fromkeys(t for t in targets if t):
        ball = job.targets[name]
        sources.append((name, _source(f"{name}: centring", ball.centring_mm, "aim", ball.origin)))
    for name in dict.fromkeys(n for n in nests if n):
        sources.append((name, _source(f"{name}: height", job.nests[name].u_height_mm, "target", "declared in the job")))
    return Offsets(keys, targets, nests, offset, tuple(sources))


def _source(name: str, u_mm: float, scope: str, origin: str) -> Source:
    action = "use a ball or nest with a tighter certificate"
    return Source(name, "corrected reading", u_mm, "mm", scope, origin=origin, action=action)
