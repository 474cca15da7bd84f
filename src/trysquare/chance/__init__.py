"""Chance: sources and draws, statements, decisions, contributions. Knows no geometry.

The public face. Names load when first used, so that a command starts without SciPy. The functions `smooth` and
`magnitude` live in modules of their own name: `from trysquare.chance.smooth import smooth`.
"""

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .answers import decide, decide_all
    from .contributions import by_link, shares
    from .decision import Decision, judge_statement
    from .law import Law
    from .magnitude import confidence_of_magnitude, largest
    from .normal_decision import Prior, judge_normal
    from .pooling import pool, pooled_source
    from .population import Population, Process, Risks
    from .risk import cheapest_guard, guard_for_risk
    from .sources import LINKS, SCOPES, Draws, Source
    from .statement import P_GRID, Statement

_HOME = {
    "LINKS": "sources",
    "P_GRID": "statement",
    "SCOPES": "sources",
    "Decision": "decision",
    "Draws": "sources",
    "Law": "law",
    "Population": "population",
    "Prior": "normal_decision",
    "Process": "population",
    "Risks": "population",
    "Source": "sources",
    "Statement": "statement",
    "by_link": "contributions",
    "cheapest_guard": "risk",
    "confidence_of_magnitude": "magnitude",
    "decide": "answers",
    "decide_all": "answers",
    "guard_for_risk": "risk",
    "judge_normal": "normal_decision",
    "judge_statement": "decision",
    "largest": "magnitude",
    "pool": "pooling",
    "pooled_source": "pooling",
    "shares": "contributions",
}

__all__ = [
    "LINKS",
    "P_GRID",
    "SCOPES",
    "Decision",
    "Draws",
    "Law",
    "Population",
    "Prior",
    "Process",
    "Risks",
    "Source",
    "Statement",
    "by_link",
    "cheapest_guard",
    "confidence_of_magnitude",
    "decide",
    "decide_all",
    "guard_for_risk",
    "judge_normal",
    "judge_statement",
    "largest",
    "pool",
    "pooled_source",
    "shares",
]


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__} has no attribute {name!r}")
    return getattr(importlib.import_module(f".{_HOME[name]}", __name__), name)
