"""The answer for a process: global risks, the line that a target or costs ask for, and a value judged by it."""

import math
from dataclasses import dataclass
from typing import Any

from .decision import percent
from .normal_decision import Prior, equal_guard, p_beyond
from .population import Population, Process, Risks
from .question import Question
from .risk import cheapest_guard, check_costs, expected_cost, guard_for_risk
from .value_answers import judged, law_of, rule_of


@dataclass(frozen=True)
class _Line:
    """Where acceptance ends: readings from `low` to `high`; "all" or "none" of them."""

    rule: str
    low: float
    high: float
    accepts: str = "some"
    agreed: bool = True  # drawn for the process as a whole; False: the rule of ISO 14253-1 for each part


def answer_process(q: Question, process: Process) -> dict[str, Any]:
    """The document for a process, with or without a value."""
    population = Population(
        process, law_of(q), -math.inf if q.lower is None else q.lower, math.inf if q.upper is None else q.upper
    )
    if q.cost_wrong_accept is not None and q.cost_wrong_reject is not None:
        check_costs(q.cost_wrong_accept, q.cost_wrong_reject)
    line = _line(q, population)
    risks = population.risks(line.low, line.high)
    document: dict[str, Any] = {
        "verdict": None, "proven": None, "side": 0, "text": _sentence(risks), "rule": line.rule, "interval_mm": None,
        "coverage": q.probability, **_limits(line, population), "accepts": line.accepts,
    }  # fmt: skip
    if q.value is not None:
        document |= _value(q, q.value, population, line)
    document |= {
        "consumer_risk": risks.consumer, "producer_risk": risks.producer, "risk_kind": "global",
        "risk_basis": f"process: {process}", "conforming_fraction": risks.conforming,
        "accepted_fraction": risks.accepted,
    }  # fmt: skip
    if q.cost_wrong_accept is not None and q.cost_wrong_reject is not None:
        document["expected_cost"] = expected_cost(risks, q.cost_wrong_accept, q.cost_wrong_reject)
    return document


def _line(q: Question, population: Population) -> _Line:
    if q.acceptance_lower is not None or q.acceptance_upper is not None:
        low = -math.inf if q.acceptance_lower is None else q.acceptance_lower
        return _Line("acceptance limits as given", low, math.inf if q.acceptance_upper is None else q.acceptance_upper)
    if q.target_consumer_risk is not None:
        rule = f"equal guard for a global consumer's risk of {q.target_consumer_risk:g}"
        return _guarded(rule, guard_for_risk(population, q.target_consumer_risk), population, "all")
    if q.cost_wrong_accept is not None and q.cost_wrong_reject is not None:
        best = cheapest_guard(population, q.cost_wrong_accept, q.cost_wrong_reject)
        return _guarded("equal guard of least expected cost", best.guard, population, best.accepts)
    guard = equal_guard(population.law, q.lower, q.upper, prove=q.prove, probability=q.probability)
    return _guarded(rule_of(q), guard, population, "none", agreed=False)


def _guarded(rule: str, guard: float | None, population: Population, otherwise: str, agreed: bool = True) -> _Line:
    if guard is not None:
        return _Line(rule, *population.guarded(guard), "some", agreed)
    everything = (-math.inf, math.inf) if otherwise == "all" else (math.inf, -math.inf)
    return _Line(rule, *everything, otherwise, agreed)


def _limits(line: _Line, population: Population) -> dict[str, list[float | None]]:
    return {
        "guard_mm": [_finite(line.low - population.lower), _finite(population.upper - line.high)],
        "acceptance_mm": [_finite(line.low), _finite(line.high)],
    }


def _finite(x: float) -> float | None:
    return x if math.isfinite(x) else None


def _value(q: Question, value: float, population: Population, line: _Line) -> dict[str, Any]:
    """What is added for a value: judged by the line where one is drawn for the process, with the process as prior."""
    process = population.process
    found = judged(q, value)
    if process.lognormal:
        chance = population.conforming_given(value)
    else:
        chance = 1.0 - p_beyond(value, population.law, q.lower, q.upper, Prior(process.centre, process.spread))
    keys = ("verdict", "proven", "side", "text", "interval_mm")
    added = {key: found[key] for key in keys} | {"p_conform": {"value": chance, "prior": f"process: {process}"}}
    if line.agreed:
        inside = line.low <= value <= line.high
        added["verdict"] = "accept" if inside else "reject"
        added["side"] = 0 if inside or line.accepts == "none" else (-1 if value < line.low else 1)
        added["text"] = f"The value lies {'within' if inside else 'outside'} the acceptance limits: {line.rule}."
    return added


def _sentence(risks: Risks) -> str:
    return (
        f"Of all parts {percent(risks.consumer)} are accepted and do not conform, "
        f"{percent(risks.producer)} are rejected and do conform."
    )
