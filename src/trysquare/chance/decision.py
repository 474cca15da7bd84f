"""The verdict: what is proven of a characteristic, at which risk, and how far inside its limits that needs a value.

ISO 14253-1: the uncertainty counts against whoever has to prove. With `risk` the confidence that the true value lies
beyond either limit, and P the agreed probability:

    ==================  ===========================  ==================================================
    verdict             prove="conformity"           prove="non-conformity"
    ==================  ===========================  ==================================================
    accept              conformity is proven:        non-conformity is not proven: risk < P. It cannot
                        risk <= 1 - P                be rejected; `proven` says whether conformity is
    reject              non-conformity is proven: risk >= P
    undecided           neither is proven            nothing can be stated
    ==================  ===========================  ==================================================

`proven` never depends on who proves. The risk is a confidence (1 - p of the limit), not a probability of the part:
that would need a prior.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np

from ..core.errors import InputError
from .statement import P_GRID

Verdict = Literal["accept", "reject", "undecided"]
Proven = Literal["conformity", "non-conformity"]
Pair = tuple[float | None, float | None]

#: Rounding that a risk may carry: a value on the acceptance limit itself counts as inside.
_ROUNDING = 1e-9


@dataclass(frozen=True)
class Decision:
    """A verdict and what it rests on.

    `side` is the limit that decides: -1 lower, 1 upper, 0 none. `risk` is the confidence that the true value lies
    beyond either limit (None: cannot be stated). `guard` is the distance from each limit, positive inward, at which a
    value would just be accepted; `acceptance` the values that lie as far in. None stands where there is no limit;
    `accepts` is "none", and both are all None, where no value could be accepted.
    """

    verdict: Verdict
    side: Literal[-1, 0, 1]
    risk: float | None
    guard: Pair
    acceptance: Pair
    text: str
    proven: Proven | None = None
    accepts: Literal["some", "none"] = "some"


class Stated(Protocol):
    """What a decision needs of a statement (`chance.statement.Statement` is one)."""

    @property
    def value(self) -> float | None: ...
    @property
    def quantiles(self) -> np.ndarray | None: ...
    @property
    def reason(self) -> str | None: ...
    def below(self, x: float) -> float: ...


def judge_statement(
    statement: Stated,
    lower: float | None,
    upper: float | None,
    *,
    prove: str = "conformity",
    probability: float = 0.95,
) -> Decision:
    """Judge a statement against its limits (ISO 14253-1, both limits counted together).

    Give `lower=None` for a zone that begins at zero: a distance from perfect has no lower limit. The guard bands come
    from shifting the confidence distribution as it stands: for a normal one 1.645 u at 95 %. They are equal for a
    symmetric distribution, so that the verdict and the acceptance interval always agree.

    Raises
    ------
    InputError : no limit, limits in the wrong order, a probability outside (0.5, 0.9995], another word for `prove`.
    """
    check_rule(lower, upper, prove=prove, probability=probability)
    if probability > P_GRID[-1]:
        raise InputError(
            "a decision", "the probability", f"be at most {P_GRID[-1]}, as far as statements from draws reach",
            f"{probability:g}", "Ask for less, or decide from a value and its u.",
        )  # fmt: skip
    if statement.reason is not None or statement.quantiles is None or statement.value is None:
        why = statement.reason or "nothing can be stated"
        return Decision("undecided", 0, None, (None, None), (None, None), f"Undecided: {why}")
    tails = (
        0.0 if lower is None else statement.below(lower),
        0.0 if upper is None else 1.0 - statement.below(upper),
    )
    guard = _shift_guards(statement, statement.value, lower, upper, threshold(prove, probability))
    return decided(tails, guard, lower, upper, prove=prove, probability=probability)


def check_rule(lower: float | None, upper: float | None, *, prove: str, probability: float) -> None:
    """Raise `InputError` unless limits and rule make sense."""
    where = "a decision"
    if lower is None and upper is None:
        raise InputError(where, "the limits", "be at least one", "none", "Give a lower or an upper limit, or both.")
    if lower is not None and upper is not None and not lower < upper:
        raise InputError(
            where, "the lower limit", "lie below the upper", f"{lower:g} and {upper:g}", "Exchange or correct them."
        )
    if prove not in ("conformity", "non-conformity"):
        raise InputError(where, "prove", "be conformity or non-conformity", f'"{prove}"', "Say what must be proven.")
    if not 0.5 < probability < 1:
        raise InputError(
            where, "the probability", "lie between 0.5 and 1", f"{probability:g}", "Give 0.95 unless agreed otherwise."
        )


def threshold(prove: str, probability: float) -> float:
    """The risk at which acceptance ends."""
    return 1.0 - probability if prove == "conformity" else probability


def decided(
    tails: tuple[float, float],
    guard: Pair | None,
    lower: float | None,
    upper: float | None,
    *,
    prove: str,
    probability: float,
) -> Decision:
    """The decision from the confidence beyond each limit and the guard at each (None: no value can be accepted)."""
    risk = min(1.0, tails[0] + tails[1])
    proven: Proven | None = None
    if risk <= 1.0 - probability + _ROUNDING:
        proven = "conformity"
    elif risk >= probability - _ROUNDING:
        proven = "non-conformity"
    verdict: Verdict = "undecided"
    if proven == "non-conformity":
        verdict = "reject"
    elif proven == "conformity" or prove == "non-conformity":
        verdict = "accept"
    side: Literal[-1, 0, 1] = 0 if verdict == "accept" else (-1 if tails[0] > tails[1] else 1)
    found = guard or (None, None)
    acceptance = (
        None if lower is None or found[0] is None else lower + found[0],
        None if upper is None or found[1] is None else upper - found[1],
    )
    text = _sentence(verdict, proven, side, risk, probability)
    return Decision(verdict, side, risk, found, acceptance, text, proven, "some" if guard else "none")


def percent(p: float) -> str:
    """A share in per cent as people read it, with two figures of what is rare."""
    if p < 1e-6:
        return "under 0.0001 %"
    if p > 1 - 1e-6:
        return "over 99.9999 %"
    decimals = max(1, 1 - math.floor(math.log10(100 * min(p, 1 - p))))
    return f"{100 * p:.{decimals}f} %"


def _sentence(verdict: Verdict, proven: Proven | None, side: int, risk: float, probability: float) -> str:
    where = {-1: "below the lower limit", 1: "above the upper limit", 0: "beyond a limit"}[side]
    doubt = f"the confidence that the truth lies {'beyond a limit' if proven != 'non-conformity' else where} is "
    doubt += percent(risk)
    most, least = f"{100 * (1 - probability):g} %", f"{100 * probability:g} %"
    if proven == "conformity":
        return f"Conformity is proven: {doubt}; at most {most} is allowed."
    if proven == "non-conformity":
        return f"Non-conformity is proven: {doubt}; at least {least} is asked."
    if verdict == "accept":
        return (
            f"Non-conformity is not proven, so it cannot be rejected; nor is it proven to conform: {doubt}; "
            f"non-conformity takes at least {least}, conformity at most {most}."
        )
    return f"Neither is proven: {doubt}; to accept takes at most {most}, to reject at least {least}."


def _shift_guards(
    statement: Stated, value: float, lower: float | None, upper: float | None, alpha: float
) -> Pair | None:
    """The guard at each limit: where the confidence distribution, shifted, leaves `alpha` beyond the limits.

    Where several stretches of shifts do (narrow limits, ragged distributions), the one that agrees with the verdict:
    it holds the value as it stands if that is accepted, and ends before it if not.
    """
    q = np.asarray(statement.quantiles)
    least, most = float(q[0]), float(q[-1])

    def risk(shift: float) -> float:
        low = 0.0 if lower is None else statement.below(lower - shift)
        return low + (0.0 if upper is None else 1.0 - statement.below(upper - shift))

    shifts = np.concatenate([limit - q for limit in (lower, upper) if limit is not None])
    risks = [risk(float(s)) for s in shifts]
    accepted = risk(0.0) <= alpha + _ROUNDING
    if min(risks) > alpha and not accepted:
        return None
    best = 0.0 if accepted else float(shifts[int(np.argmin(risks))])
    low, high = (lower or 0.0) - most, (upper or 0.0) - least
    if not accepted:
        low, high = (max(low, 0.0), high) if best > 0.0 else (low, min(high, 0.0))
    return (
        None if lower is None else value + _crossing(risk, best, low, alpha) - lower,
        None if upper is None else upper - value - _crossing(risk, best, high, alpha),
    )


def _crossing(risk: Callable[[float], float], inside: float, outside: float, alpha: float) -> float:
    """The shift at which the risk passes alpha, between `inside` (at most alpha) and `outside` (more): bisection."""
    for _ in range(200):
        middle = 0.5 * (inside + outside)
        if middle in (inside, outside):
            break
        if risk(middle) <= alpha:
            inside = middle
        else:
            outside = middle
    return float(inside)
