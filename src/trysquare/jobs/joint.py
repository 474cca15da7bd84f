"""Joint risk: the confidence that at least one requirement of the part lies beyond its limits."""

from collections.abc import Mapping

import numpy as np

from ..chance.decision import Decision
from ..chance.sources import Draws
from ..core.arrays import Array
from ..tolerances.measurand import Measurand
from .found import Found


def joint_risk(found: Mapping[str, Found], decisions: Mapping[str, Decision], seed: int) -> float | None:
    """Share of the joint draws in which any requirement lies beyond; None where one cannot be stated.

    Each requirement keeps its own risk; what its errors have in common with the others' is kept by ranks: draw m is
    beyond where its signed error, towards the limit at risk, ranks among the largest `risk` of all draws. Form draws
    are taken as independent of the others.
    """
    if not found or any(d.risk is None for d in decisions.values()):
        return None
    count = max((len(f.drawn.vector()) for f in found.values() if f.drawn is not None), default=0)
    if count == 0:
        return None
    beyond = np.zeros(count, dtype=bool)
    for id_, f in found.items():
        decision = decisions[id_]
        if f.value is None or f.drawn is None or decision.risk is None:
            return None
        beyond |= _ranks(_towards(f.value, f.drawn, decision.side or 1, id_, seed)) >= 1.0 - decision.risk
    return float(beyond.mean())


def _towards(value: Measurand, drawn: Measurand, side: int, key: str, seed: int) -> Array:
    """Signed error of each draw towards the limit at risk; independent of all else for form."""
    if value.kind in ("extreme", "orientation"):
        return Draws(seed, 0, len(drawn.vector())).uniform("joint risk", key)
    if value.kind == "smooth":
        errors = side * (drawn.vectors[0] - value.vectors[0])
        return errors[:, 0]
    worst = int(np.argmax([np.linalg.norm(v) for v in value.vectors]))
    v = value.vectors[worst]
    length = float(np.linalg.norm(v))
    return (drawn.vectors[worst] - v) @ (v / length if length > 0 else np.eye(len(v))[0])


def _ranks(x: Array) -> Array:
    """Ranks from 0.5 / M to 1 - 0.5 / M."""
    out = np.empty(len(x))
    out[np.argsort(x, kind="stable")] = (np.arange(len(x)) + 0.5) / len(x)
    return out
