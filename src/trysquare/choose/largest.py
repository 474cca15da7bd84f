"""The largest contribution to every requirement, sources that call for the same action taken together."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ..chance.contributions import shares
from ..chance.sources import Source
from ..jobs.chain import Chain
from ..jobs.form import NAME as FORM
from ..jobs.runs import parts_alone
from ..tolerances.measurand import Measurand

#: What sources are called for people, where their own name without its owner says too little.
_CALLED = {
    "radius": "the radius of ball or tip", "centring": "the centring of the ball", "height": "the height of nests",
    "noise": "noise of single readings", "indication": "indication of the tool",
}  # fmt: skip
#: Draws that the contribution of each group of sources takes: shares are then stable to about 4 points of 30.
CONTRIBUTION_DRAWS = 125


@dataclass(frozen=True)
class Largest:
    """The largest contribution: a name for people, its share of the variance, and one of its sources."""

    name: str
    share: float
    source: Source


def largest_of(chain: Chain, drawn: Mapping[str, Measurand], seed: int) -> dict[str, Largest]:
    """The largest contribution to each measurand in `drawn`, by id; those that do not vary, or not everywhere, have
    none."""
    together: dict[str, list[Source]] = {}
    for source in chain.sources:
        if source.u > 0:
            together.setdefault(group_of(source.name), []).append(source)
    count = min(CONTRIBUTION_DRAWS, *(len(m.vector()) for m in drawn.values()))
    members = [[s.name for s in sources] for sources in together.values()]
    alone = dict(zip(together, parts_alone(chain, seed, count, members, _no_tick), strict=True))
    out = {}
    for id_, m in drawn.items():
        parts = {name: vectors[id_] for name, vectors in alone.items() if id_ in vectors}
        total = m.vector()[:count]
        if parts and np.isfinite(total).all() and np.ptp(total, axis=0).any():
            name, share = shares({k: p for k, p in parts.items() if np.isfinite(p).all()}, total).ordered[0]
            out[id_] = Largest(name, min(share, 1.0), together[name][0])
    return out


def group_of(name: str) -> str:
    """Under which name a source is counted: what, without where; all geometry and all air as one."""
    if name.startswith(f"{FORM}: "):
        return FORM
    what = name.partition(": ")[2] or name
    if what.startswith("geometry"):
        return "geometry of the axes"
    if what.startswith("air "):
        return "index of the air"
    if what.startswith(("part temperature", "part expansion")):
        return what.partition(", ")[0]
    return _CALLED.get(what, what)


def _no_tick() -> None:
    """The choice counts steps by instruments, not by contributions."""
