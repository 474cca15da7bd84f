"""Verdicts after ISO 14253-1: from a statement, and from a value with a normal or Student error."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from trysquare.chance.decision import judge_statement, percent
from trysquare.chance.law import Law
from trysquare.chance.normal_decision import Prior, equal_guard, interval, judge_normal, p_beyond, tails
from trysquare.chance.statement import P_GRID, Statement, not_stated
from trysquare.core.errors import InputError

K95 = 1.6448536269514722  # normal quantile at 95 %: any table
LAW = Law(0.1)


def normal_statement(value: float, u: float) -> Statement:
    from scipy.special import ndtri

    q = value + u * ndtri(np.array(P_GRID))
    return Statement("smooth", value, u, (value - 1.96 * u, value + 1.96 * u), q)


@pytest.mark.parametrize(
    ("value", "verdict", "side", "proven"),
    [
        (9.5, "accept", 0, "conformity"),
        (9.83, "accept", 0, "conformity"),
        (9.84, "undecided", 1, None),
        (10.0, "undecided", 1, None),
        (10.16, "undecided", 1, None),
        (10.17, "reject", 1, "non-conformity"),
        (9.1, "undecided", -1, None),
        (8.8, "reject", -1, "non-conformity"),
    ],
)
def test_three_verdicts_and_the_limit_that_decides(value: float, verdict: str, side: int, proven: str | None) -> None:
    for found in (judge_normal(value, LAW, 9.0, 10.0), judge_statement(normal_statement(value, 0.1), 9.0, 10.0)):
        assert (found.verdict, found.side, found.proven) == (verdict, side, proven)


@pytest.mark.parametrize(
    ("value", "verdict", "proven"),
    [
        (9.5, "accept", "conformity"),
        (10.0, "accept", None),
        (10.16, "accept", None),
        (10.17, "reject", "non-conformity"),
    ],
)
def test_whoever_must_prove_non_conformity_accepts_in_doubt(value: float, verdict: str, proven: str | None) -> None:
    options = {"prove": "non-conformity"}
    for found in (
        judge_normal(value, LAW, 9.0, 10.0, **options),  # type: ignore[arg-type]
        judge_statement(normal_statement(value, 0.1), 9.0, 10.0, **options),  # type: ignore[arg-type]
    ):
        assert (found.verdict, found.proven) == (verdict, proven)
        assert ("nor is it proven to conform" in found.text) == (proven is None)
        assert ("Conformity is proven" in found.text) == (proven == "conformity")


def test_guard_is_1_645_u_and_the_sign_says_who_proves() -> None:
    inside, outside = judge_normal(9.9, LAW, 9.0, 10.0), judge_normal(9.9, LAW, 9.0, 10.0, prove="non-conformity")
    assert inside.guard == pytest.approx((0.1 * K95, 0.1 * K95), rel=1e-12)
    assert outside.guard == pytest.approx((-0.1 * K95, -0.1 * K95), rel=1e-12)
    assert inside.acceptance == pytest.approx((9 + 0.1 * K95, 10 - 0.1 * K95))


def test_no_limit_no_guard() -> None:
    assert judge_normal(9.9, LAW, None, 10.0).guard == (None, pytest.approx(0.1 * K95))
    assert judge_normal(9.9, LAW, 9.0, None).guard == (pytest.approx(0.1 * K95), None)
    assert judge_statement(normal_statement(9.5, 0.1), None, 10.0).acceptance[0] is None


def test_statement_and_closed_form_agree() -> None:
    """P_GRID is coarse: linear interpolation between 95.0 and 96.0 % misses the normal curve by 1e-3 u."""
    for lower, upper in ((None, 10.0), (9.0, None), (9.0, 10.0), (9.65, 10.0)):
        for prove in ("conformity", "non-conformity"):
            exact = judge_normal(9.8, LAW, lower, upper, prove=prove)
            found = judge_statement(normal_statement(9.8, 0.1), lower, upper, prove=prove)
            assert found.risk == pytest.approx(exact.risk, abs=1.5e-3)
            for a, b in zip(found.guard, exact.guard):
                assert a == (None if b is None else pytest.approx(b, abs=1e-3))


@pytest.mark.parametrize("width", [0.34, 0.4, 0.6, 2.0])
@pytest.mark.parametrize("prove", ["conformity", "non-conformity"])
@pytest.mark.parametrize("df", [math.inf, 5.0])
def test_a_value_on_the_acceptance_limit_has_the_stated_probability(width: float, prove: str, df: float) -> None:
    law = Law(0.05, df)
    guard = equal_guard(law, 10 - width, 10.0, prove=prove)
    assert guard is not None
    risk = sum(tails(10.0 - guard, law, 10 - width, 10.0))
    assert float(risk) == pytest.approx(0.05 if prove == "conformity" else 0.95, abs=1e-12)
    assert judge_normal(10.0 - guard, law, 10 - width, 10.0, prove=prove).verdict == (
        "accept" if prove == "conformity" else "reject"
    )


def test_a_zone_narrower_than_the_doubt_accepts_nothing() -> None:
    narrow = judge_normal(10.0, LAW, 9.85, 10.15)
    assert (narrow.verdict, narrow.guard, narrow.acceptance, narrow.accepts) == (
        "undecided", (None, None), (None, None), "none",
    )  # fmt: skip
    wide = judge_normal(10.0, LAW, 9.8, 10.2)  # 2 u to either side: 95.45 % inside
    assert (wide.verdict, wide.accepts) == ("accept", "some")
    assert judge_statement(normal_statement(10.0, 0.1), 9.85, 10.15).accepts == "none"


def test_a_zone_far_below_the_doubt_is_missed_for_certain() -> None:
    found = judge_normal(10.0, LAW, 9.999, 10.001, prove="non-conformity")
    assert (found.verdict, found.accepts) == ("reject", "none")


def test_skew_statement_has_a_guard_of_its_own_at_each_limit() -> None:
    """Verdict and acceptance interval agree when the very statement is moved onto its acceptance limits."""
    skew = np.exp(0.8 * normal_statement(0.0, 1.0).quantiles)  # type: ignore[operator]
    statement = Statement("smooth", 1.0, 1.0, None, skew)
    found = judge_statement(statement, -20.0, 20.0)
    low, high = found.guard
    assert low is not None
    assert high is not None
    assert low < high
    for at, step in ((-20.0 + low, 1e-6), (20.0 - high, -1e-6)):
        for move, verdict in ((step, "accept"), (-step, "undecided")):
            moved = Statement("smooth", at + move, 1.0, None, skew + (at + move - 1.0))
            assert judge_statement(moved, -20.0, 20.0).verdict == verdict


def test_what_cannot_be_stated_is_undecided_with_its_reason() -> None:
    found = judge_statement(not_stated("extreme", "too few points"), None, 0.05)
    assert (found.verdict, found.side, found.risk, found.guard) == ("undecided", 0, None, (None, None))
    assert "too few points" in found.text


def test_a_certain_value_is_judged_without_a_guard() -> None:
    certain = Statement("smooth", 9.9, 0.0, (9.9, 9.9), np.full(len(P_GRID), 9.9))
    found = judge_statement(certain, 9.0, 10.0)
    assert found.verdict == "accept"
    assert found.guard == pytest.approx((0.0, 0.0), abs=1e-12)
    assert judge_statement(certain, None, 9.8).verdict == "reject"


def test_a_zone_from_zero_has_no_lower_limit() -> None:
    """Negative twin: with lower=0 the same magnitude near zero would be called undecided."""
    q = np.maximum(0.0, normal_statement(0.001, 0.002).quantiles)  # type: ignore[type-var]
    statement = SimpleNamespace(value=0.001, quantiles=q, reason=None, below=Statement("smooth", 0, 1, None, q).below)
    assert judge_statement(statement, None, 0.05).verdict == "accept"
    assert judge_statement(statement, 1e-9, 0.05).verdict == "undecided"


def test_student_needs_a_wider_guard() -> None:
    """Any table: t with 4 degrees of freedom at 95 % is 2.132, at 97.5 % 2.776."""
    assert equal_guard(Law(1.0, 4), None, 10.0) == pytest.approx(2.132, abs=5e-4)
    assert interval(0.0, Law(1.0, 4)) == pytest.approx((-2.776, 2.776), abs=5e-4)
    assert interval(0.0, Law(1.0)) == pytest.approx((-1.95996, 1.95996), abs=1e-5)


def test_priors() -> None:
    """Analytic: equal spreads halve the distance; a wide prior is nearly flat, a sharp one overrules the value."""
    assert p_beyond(9.9, LAW, None, 10.0, Prior(9.7, 0.1)) == pytest.approx(0.5 * math.erfc(0.2 / 0.1), rel=1e-12)
    flat = p_beyond(9.9, LAW, 9.0, 10.0, Prior())
    assert p_beyond(9.9, LAW, 9.0, 10.0, Prior(9.5, 1e4)) == pytest.approx(flat, rel=1e-6)
    assert p_beyond(9.9, LAW, 9.0, 10.0, Prior(9.5, 1e-4)) < 1e-12 < flat


@pytest.mark.parametrize(
    ("lower", "upper", "options", "words"),
    [
        (None, None, {}, "the limits"), (2.0, 1.0, {}, "lower limit"), (1.0, 1.0, {}, "lower limit"),
        (None, 1.0, {"probability": 0.5}, "probability"), (None, 1.0, {"probability": 1.0}, "probability"),
        (None, 1.0, {"prove": "nothing"}, "prove"),
    ],
)  # fmt: skip
def test_a_rule_without_sense_is_refused(
    lower: float | None, upper: float | None, options: dict[str, object], words: str
) -> None:
    with pytest.raises(InputError, match=words):
        judge_normal(1.0, LAW, lower, upper, **options)  # type: ignore[arg-type]
    with pytest.raises(InputError, match=words):
        judge_statement(normal_statement(1.0, 0.1), lower, upper, **options)  # type: ignore[arg-type]


def test_other_refusals() -> None:
    with pytest.raises(InputError, match=r"0\.9995"):
        judge_statement(normal_statement(1.0, 0.1), None, 2.0, probability=0.9999)
    with pytest.raises(InputError, match="finite"):
        judge_normal(math.nan, LAW, None, 1.0)
    for bad in (0.0, -1.0, math.nan, math.inf):
        with pytest.raises(InputError, match="u must"):
            Law(bad)
    with pytest.raises(InputError, match="df"):
        Law(1.0, 0.5)
    with pytest.raises(InputError, match="together"):
        Prior(1.0)
    with pytest.raises(InputError, match="sd"):
        Prior(1.0, 0.0)


def test_percent_as_people_read_it() -> None:
    shown = [percent(p) for p in (0.0, 0.00012, 0.049, 0.5, 0.9987, 1.0)]
    assert shown == ["under 0.0001 %", "0.012 %", "4.9 %", "50.0 %", "99.87 %", "over 99.9999 %"]
