"""Error sources, declared once, and their draws.

A source is a leaf with an identity: its name, and within it the key of what shares one draw (its scope). Draw number d
of key k is a pure function of (seed, source name, k, d), so chunks, threads, and the presence of other sources or keys
never change it: two runs that share a source share its draws (common random numbers).
"""

import hashlib
import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from ..core.arrays import Array
from ..core.errors import InputError

#: The links of the chain at which a source may act, in order.
LINKS = (
    "reading",
    "corrected reading",
    "point at a station",
    "common frame",
    "part datums",
    "feature",
    "characteristic",
)

#: What may share one draw.
SCOPES = (
    "reading", "point", "aim", "pose", "view", "axis", "station", "day", "temperature history", "instrument",
    "reference artefact", "target", "part", "feature", "operator",
)  # fmt: skip

DISTRIBUTIONS = ("normal", "rectangular", "triangular", "arcsine")


@dataclass(frozen=True)
class Source:
    """One error source.

    `u` is the standard uncertainty in `unit` (1 when the model scales it); `dof` its degrees of freedom (GUM G.4.2:
    1 / (2 r^2) for a relative doubt r); `origin` says where the figure comes from; `action` what one could do about it.
    Sources with one `doubt` share what is not known of their size: the noise of one instrument at all its stations.
    """

    name: str
    link: str
    u: float
    unit: str
    scope: str
    distribution: str = "normal"
    dof: float = math.inf
    origin: str = "declared"
    action: str = ""
    doubt: str = ""

    def __post_init__(self) -> None:
        for label, value, allowed in (
            ("link", self.link, LINKS), ("scope", self.scope, SCOPES),
            ("distribution", self.distribution, DISTRIBUTIONS),
        ):  # fmt: skip
            if value not in allowed:
                raise InputError(
                    f'source "{self.name}"', label, f"be one of {', '.join(allowed)}", value, "Correct it."
                )
        if not (math.isfinite(self.u) and self.u >= 0):
            raise InputError(
                f'source "{self.name}"', "u", "be zero or more", repr(self.u), "Give a standard uncertainty."
            )
        if not self.dof > 0:
            raise InputError(
                f'source "{self.name}"', "dof", "be above zero", repr(self.dof), "Leave it out for a known figure."
            )


class Draws:
    """Draws `start` to `stop` of every source under one seed.

    With `only`, all sources but the named ones are zero (contributions by source).
    """

    def __init__(self, seed: int, start: int, stop: int, *, only: Collection[str] | None = None) -> None:
        if not 0 <= start <= stop:
            raise InputError(
                "draws", "start and stop", "be 0 <= start <= stop", f"{start} and {stop}", "Exchange them."
            )
        self.seed, self.start, self.stop = seed, start, stop
        self.only = None if only is None else frozenset(only)

    def __len__(self) -> int:
        return self.stop - self.start

    def of(self, source: Source, keys: Sequence[str]) -> Array:
        """Errors of `source`, shape (draws, len(keys)), in its unit; equal keys share a draw.

        With finite degrees of freedom the scale is drawn too, once in each draw for all that shares its doubt, so that
        the errors are Student distributed (JCGM 101 6.4.9).
        """
        if source.u == 0 or (self.only is not None and source.name not in self.only):
            return np.zeros((len(self), len(keys)))
        place = {key: i for i, key in enumerate(dict.fromkeys(keys))}
        z = self._variates(source.name, list(place), source.distribution)
        z *= source.u * (self._student_scale(source)[:, None] if math.isfinite(source.dof) else 1.0)
        return z if len(place) == len(keys) else z[:, [place[key] for key in keys]]

    def uniform(self, name: str, key: str) -> Array:
        """Uniform variates in (0, 1) of stream (name, key), shape (draws,).

        Generator: Philox 4x64 (Salmon et al., 2011), keyed by a hash of seed, name and key; the counter is the draw.
        """
        return self._variates(name, [key], "uniform")[:, 0]

    def normal(self, name: str, keys: Sequence[str]) -> Array:
        """Standard normal variates (draws, keys) of the streams (name, key), whatever `only` says."""
        return self._variates(name, keys, "normal")

    def _variates(self, name: str, keys: Sequence[str], distribution: str) -> Array:
        """Variates (draws, keys) of zero mean and unit standard deviation, or uniform ones in (0, 1)."""
        from .kernels import streams

        # with the length, no two pairs share a label
        prefix = hashlib.blake2b(f"{self.seed}\x1f{len(name)}\x1f{name}\x1f".encode(), digest_size=16)
        digests = bytearray()
        for key in keys:
            label = prefix.copy()
            label.update(key.encode())
            digests += label.digest()
        out = np.empty((len(self), len(keys)))
        words = np.frombuffer(digests, dtype="<u8").astype(np.uint64).reshape(-1, 2)
        streams(words, self.start, distribution == "normal", out)
        return out if distribution in ("normal", "uniform") else _shaped(out, distribution)

    def _student_scale(self, source: Source) -> Array:
        from scipy.special import gammaincinv

        chi2 = 2.0 * gammaincinv(source.dof / 2.0, self.uniform(source.doubt or source.name, "\x1edof"))
        return np.sqrt(source.dof / chi2)


def _shaped(p: Array, distribution: str) -> Array:
    """Uniform variates to variates of zero mean and unit standard deviation."""
    if distribution == "rectangular":
        return math.sqrt(12.0) * (p - 0.5)
    if distribution == "arcsine":
        return -math.sqrt(2.0) * np.cos(math.pi * p)
    half = np.where(p < 0.5, np.sqrt(2 * p) - 1, 1 - np.sqrt(2 * (1 - p)))  # triangular on -1 to 1
    return math.sqrt(6.0) * half
