"""The part of an answer that judges one value."""

import math
from typing import Any

from .law import Law
from .normal_decision import interval, judge_normal
from .question import Question


def law_of(q: Question) -> Law:
    """The law of the reading's error."""
    return Law(q.u or 0.0, q.df or math.inf)


def rule_of(q: Question) -> str:
    """The rule of ISO 14253-1 that is asked for, in words."""
    return f"ISO 14253-1, {q.prove} to be proven with {100 * q.probability:g} %"


def judged(q: Question, value: float) -> dict[str, Any]:
    """Verdict, interval, guard and acceptance of a value after ISO 14253-1."""
    law = law_of(q)
    decision = judge_normal(value, law, q.lower, q.upper, prove=q.prove, probability=q.probability)
    return {
        "verdict": decision.verdict,
        "proven": decision.proven,
        "side": decision.side,
        "text": decision.text,
        "rule": rule_of(q),
        "interval_mm": list(interval(value, law, q.probability)),
        "coverage": q.probability,
        "guard_mm": list(decision.guard),
        "acceptance_mm": list(decision.acceptance),
        "accepts": decision.accepts,
    }
