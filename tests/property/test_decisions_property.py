"""What must hold of decisions whatever the numbers: moves, mirrors, units, order."""

import math

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from trysquare.chance.answers import decide
from trysquare.chance.decision import judge_statement
from trysquare.chance.law import Law
from trysquare.chance.normal_decision import equal_guard, judge_normal
from trysquare.chance.population import Population, Process
from trysquare.chance.smooth import smooth

profile = settings(max_examples=50, derandomize=True, deadline=None)
values = st.floats(-3, 3)
spreads = st.floats(0.01, 2)
dofs = st.one_of(st.just(math.inf), st.floats(1, 60))
probabilities = st.floats(0.51, 0.999)
proofs = st.sampled_from(["conformity", "non-conformity"])
ORDER = {"accept": 0, "undecided": 1, "reject": 2}


def close(a: float | None, b: float | None, scale: float = 1.0) -> bool:
    return a is b or (a is not None and b is not None and abs(a - b) < 1e-9 * scale)


@profile
@given(
    values, spreads, dofs, st.floats(0.05, 4), proofs, probabilities, st.floats(-1e3, 1e3), st.sampled_from([25.4, 1e3])
)
def test_a_move_or_another_unit_changes_nothing(
    value: float, u: float, df: float, width: float, prove: str, p: float, move: float, unit: float
) -> None:
    here = judge_normal(value, Law(u, df), -width, width, prove=prove, probability=p)
    assume(all(abs((here.risk or 0) - edge) > 1e-6 for edge in (p, 1 - p)))
    there = judge_normal(
        unit * (value + move),
        Law(unit * u, df),
        unit * (move - width),
        unit * (move + width),
        prove=prove,
        probability=p,
    )
    assert (here.verdict, here.proven, here.accepts) == (there.verdict, there.proven, there.accepts)
    assert close(here.risk, there.risk, 10)
    for a, b in zip(here.guard, there.guard):
        assert close(a, None if b is None else b / unit, 1e3)


@profile
@given(values, spreads, dofs, values, values, proofs, probabilities)
def test_the_mirror_image_has_the_mirrored_verdict(
    value: float, u: float, df: float, a: float, b: float, prove: str, p: float
) -> None:
    assume(abs(a - b) > 1e-3)
    lower, upper = min(a, b), max(a, b)
    here = judge_normal(value, Law(u, df), lower, upper, prove=prove, probability=p)
    assume(abs(value - (lower + upper) / 2) > 1e-6)
    there = judge_normal(-value, Law(u, df), -upper, -lower, prove=prove, probability=p)
    assert (here.verdict, here.side) == (there.verdict, -there.side)


@profile
@given(st.lists(values, min_size=2, max_size=6), spreads, dofs, proofs, probabilities)
def test_farther_out_is_never_judged_better(vs: list[float], u: float, df: float, prove: str, p: float) -> None:
    verdicts = [judge_normal(v, Law(u, df), None, 0.0, prove=prove, probability=p).verdict for v in sorted(vs)]
    ranks = [ORDER[verdict] for verdict in verdicts]
    assert ranks == sorted(ranks)


@profile
@given(values, spreads, dofs, st.floats(0.05, 4), proofs, probabilities)
def test_accepted_is_what_lies_in_the_acceptance_interval(
    value: float, u: float, df: float, width: float, prove: str, p: float
) -> None:
    found = judge_normal(value, Law(u, df), -width, width, prove=prove, probability=p)
    low, high = found.acceptance
    assume(low is None or high is None or min(abs(value - low), abs(value - high)) > 1e-6)
    inside = low is not None and high is not None and low <= value <= high
    assert inside == (found.verdict == "accept")


@profile
@given(spreads, dofs, st.floats(0.05, 4), probabilities, probabilities)
def test_more_proof_takes_more_guard(u: float, df: float, width: float, p: float, q: float) -> None:
    assume(q - p > 1e-6)
    a, b = (equal_guard(Law(u, df), 0.0, width, probability=x) for x in (p, q))
    assert b is None or (a is not None and a <= b)


@profile
@given(values, spreads, st.floats(0.01, 1), dofs, st.floats(-0.5, 0.5), st.floats(0, 0.3))
def test_a_wider_guard_trades_one_risk_for_the_other(
    centre: float, sd: float, u: float, df: float, guard: float, more: float
) -> None:
    population = Population(Process(centre, sd), Law(u, df), -1.0, 1.0)
    here, there = (population.risks(*population.guarded(g)) for g in (guard, guard + more))
    assert there.consumer <= here.consumer + 1e-12
    assert there.producer >= here.producer - 1e-12
    total = here.accepted - here.consumer + here.producer  # accepted rightly, rejected wrongly
    assert abs(total - here.conforming) < 1e-12


@profile
@given(values, spreads, values, st.floats(0.05, 3))
def test_the_answer_repeats_the_decision(value: float, u: float, centre: float, width: float) -> None:
    answer = decide({"value": value, "u": u, "lower": centre - width, "upper": centre + width, "prior": "flat"})
    decision = judge_normal(value, Law(u), centre - width, centre + width)
    assert answer["verdict"] == decision.verdict
    assert close(answer["consumer_risk"], decision.risk)
    assert close(answer["p_conform"]["value"], 1 - (decision.risk or 0))


@profile
@given(st.integers(0, 10_000), st.floats(-0.5, 4), st.one_of(st.none(), st.floats(0.1, 6)), proofs)
def test_a_statement_is_accepted_where_its_acceptance_interval_says_so(
    seed: int, above: float, width: float | None, prove: str
) -> None:
    """Ragged and lopsided distributions too, between limits so narrow that several stretches would be accepted."""
    samples = np.random.default_rng(seed).lognormal(size=60)
    said = smooth(float(np.median(samples)), samples)
    upper = said.value + above
    found = judge_statement(said, None if width is None else upper - width, upper, prove=prove, probability=0.9)
    low, high = found.acceptance
    inside = found.accepts == "some" and (low is None or low <= said.value) and said.value <= high
    assert inside == (found.verdict == "accept")


def test_the_acceptance_interval_agrees_with_the_verdict_where_two_stretches_do() -> None:
    """Two heaps of samples, and limits that either of them fits into: two stretches of shifts are accepted."""
    samples = np.concatenate([np.linspace(0, 0.1, 90), np.linspace(5, 5.1, 10)])
    left = smooth(0.05, samples)
    for lower, upper, verdict in ((-0.2, 0.35, "accept"), (-0.2, 5.35, "accept"), (4.7, 5.35, "accept")):
        found = judge_statement(left, lower, upper, prove="non-conformity", probability=0.91)
        low, high = found.acceptance
        assert found.verdict == verdict
        assert low <= 0.05 <= high
