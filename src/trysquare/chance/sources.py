"""Error sources, declared once, and their draws.

A source is a leaf with an identity: its name, and within it the key of what shares one draw (its scope). Draw number d
of key k is a pure function of (seed, source name, k, d), so chunks, threads, and the presence of other sources or keys
never change it: two runs that share a source share its draws (common random numbers).
"""

import hashlib
import math
import threading
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

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

_EMPTY = np.zeros(4, dtype=np.uint64)


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
        distinct = list(dict.fromkeys(keys))
        columns = {key: i for i, key in enumerate(distinct)}
        p = np.empty((len(distinct), len(self)))
        for i, key in enumerate(distinct):
            p[i] = self.uniform(source.name, key)
        z = np.ascontiguousarray(_shaped(p, source.distribution).T)
        if math.isfinite(source.dof):
            z *= self._student_scale(source)[:, None]
        index = [columns[key] for key in keys]
        return source.u * (z if index == list(range(len(distinct))) else z[:, index])

    def uniform(self, name: str, key: str) -> Array:
        """Uniform variates in (0, 1) of stream (name, key), shape (draws,).

        Generator: Philox 4x64 (Salmon et al., 2011), keyed by a hash of seed, name and key; the counter is the draw.
        """
        label = f"{self.seed}\x1f{len(name)}\x1f{name}\x1f{key}"  # with the length, no two pairs share a label
        digest = hashlib.blake2b(label.encode(), digest_size=16).digest()
        skip = self.start % 4
        raw = _raw(np.frombuffer(digest, dtype="<u8").astype(np.uint64), self.start // 4, skip + len(self))[skip:]
        return ((raw >> np.uint64(12)).astype(np.float64) + 0.5) * 2.0**-52  # 52 bits: the half is exact, 1 never met

    def _student_scale(self, source: Source) -> Array:
        from scipy.special import gammaincinv

        chi2 = 2.0 * gammaincinv(source.dof / 2.0, self.uniform(source.doubt or source.name, "\x1edof"))
        return np.sqrt(source.dof / chi2)


_generators = (
    threading.local()
)  # one a thread, set to a key and counter each time: making one anew costs ten times that


def _raw(key: npt.NDArray[np.uint64], block: int, count: int) -> npt.NDArray[np.uint64]:
    """`count` words of the Philox stream of `key`, from block `block` (of four words) on."""
    generator = getattr(_generators, "philox", None)
    if generator is None:
        generator = _generators.philox = np.random.Philox(key=key)
    generator.state = {
        "bit_generator": "Philox",
        "state": {"counter": np.array([block, 0, 0, 0], dtype=np.uint64), "key": key},
        "buffer": _EMPTY, "buffer_pos": 4, "has_uint32": 0, "uinteger": 0,
    }  # fmt: skip
    return generator.random_raw(count)


def _shaped(p: Array, distribution: str) -> Array:
    """Uniform variates to variates of zero mean and unit standard deviation."""
    if distribution == "normal":
        from scipy.special import ndtri

        return ndtri(p)
    if distribution == "rectangular":
        return math.sqrt(12.0) * (p - 0.5)
    if distribution == "arcsine":
        return -math.sqrt(2.0) * np.cos(math.pi * p)
    half = np.where(p < 0.5, np.sqrt(2 * p) - 1, 1 - np.sqrt(2 * (1 - p)))  # triangular on -1 to 1
    return math.sqrt(6.0) * half
