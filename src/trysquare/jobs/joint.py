"""Joint risk: the confidence that at least one requirement of the part lies beyond its limits."""

from collections.abc import Mapping

import numpy as np

from ..chance.sources import Draws
from ..core.arrays import Array
from ..tolerances.measurand import Measurand
from .found import Found


def joint_risk(found: Mapping[str, Found], seed: int) -> float | None:
    """Share of the joint draws in which any requirement lies beyond; None where one cannot be stated.

    Each requirement keeps its own risk at either limit; what its errors have in common with the others' is kept by
    ranks: draw m is beyond the upper limit where its signed error ranks among the largest of all draws, as many as that
    risk says, and beyond the lower one where it ranks among the smallest. Form draws are taken as independent of the
    others.
    """
    if not found or any(f.statement.reason is not None for f in found.values()):
        return None
    count = max((len(f.drawn.vector()) for f in found.values() if f.drawn is not None), default=0)
    if count == 0:
        return None
    beyond = np.zeros(count, dtype=bool)
    for id_, f in found.items():
        if f.value is None or f.drawn is None:
            return None
        low, high = f.tails
        rank = _ranks(_signed(f, f.value, f.drawn, id_, seed))
        beyond |= (rank >= 1.0 - high) | (rank <= low)
    return float(beyond.mean())


def _signed(f: Found, value: Measurand, drawn: Measurand, key: str, seed: int) -> Array:
    """Error (draws,) of the characteristic, positive upwards; independent of all else for form."""
    if value.kind in ("extreme", "orientation"):
        return Draws(seed, 0, len(drawn.vector())).uniform("joint risk", key)
    if value.kind == "smooth":
        errors = drawn.vectors[0] - value.vectors[0]
        judged = int(np.argmin(np.abs(value.vectors[0] - (f.statement.value or 0.0))))  # of several places
        return errors[:, judged]
    worst = int(np.argmax([np.linalg.norm(v) for v in value.vectors]))
    v = value.vectors[worst]
    length = float(np.linalg.norm(v))
    outward = (drawn.vectors[worst] - v) @ (v / length if length > 0 else np.eye(len(v))[0])
    return outward if value.less_from is None else -outward


def _ranks(x: Array) -> Array:
    """Ranks from 0.5 / M to 1 - 0.5 / M."""
    out = np.empty(len(x))
    out[np.argsort(x, kind="stable")] = (np.arange(len(x)) + 0.5) / len(x)
    return out
