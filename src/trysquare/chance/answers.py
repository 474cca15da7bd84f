"""What `decide` answers: one document per question, keys as documented in docs/methods/decisions.md."""

from collections.abc import Mapping
from typing import Any

from ..core.errors import InputError
from .decision import check_rule
from .normal_decision import Prior, p_beyond
from .process_answers import answer_process
from .question import Question, read
from .value_answers import judged, law_of

Document = dict[str, Any]


def decide(options: Mapping[str, object], *, where: str = "decide") -> Document:
    """Accept, reject or undecided, from a value and its uncertainty; or the risks of a process.

    Parameters
    ----------
    options : value, u, df, lower, upper, prove, probability, prior ("flat") or prior_mean and prior_sd; for a process
        process_mean and process_sd (or process_distribution "lognormal" with process_median and process_log_sd),
        acceptance_lower and acceptance_upper, target_consumer_risk, cost_wrong_accept and cost_wrong_reject. mm.

    Raises
    ------
    InputError : an option that is unknown, of the wrong kind, or at odds with another.

    Notes
    -----
    Method: ISO 14253-1 (verdict, guard), JCGM 106:2012 (probability of conformity, risks). Checked:
    tests/reference/test_against_integration.py to 1e-9.
    """
    try:
        question = read(options, where=where)
        check_rule(question.lower, question.upper, prove=question.prove, probability=question.probability)
        process = question.process(where)
        return _one_value(question, where) if process is None else answer_process(question, process)
    except InputError as error:
        raise _at(where, error) from None


def decide_all(items: object, *, where: str) -> Document:
    """{"decisions": [..]} for a list of options, in order; a bad item gives its error in its place."""
    if not isinstance(items, list):
        raise InputError(
            where, "the file", "hold a list of objects", type(items).__name__, 'Write [{"value": ..}, ..].'
        )
    return {"decisions": [_or_error(item, f"{where}, item {i}") for i, item in enumerate(items, 1)]}


def _or_error(item: Mapping[str, object], where: str) -> Document:
    try:
        return decide(item, where=where)
    except InputError as error:
        return error.as_dict()


def _at(where: str, error: InputError) -> InputError:
    if error.where.startswith(where):
        return error
    return InputError(where, error.what, error.rule, error.found, error.way_out)


def _one_value(q: Question, where: str) -> Document:
    law, value = law_of(q), q.value or 0.0
    document = judged(q, value)
    prior = q.named_prior(where)
    beyond = p_beyond(value, law, q.lower, q.upper, prior or Prior())
    conforming = 1.0 - beyond
    if prior is not None:
        document["p_conform"] = {"value": conforming, "prior": str(prior)}
    document |= {
        "consumer_risk": beyond,
        "producer_risk": conforming,
        "risk_kind": "specific",
        "risk_basis": "confidence, no prior named" if prior is None else f"prior: {prior}",
    }
    return document
