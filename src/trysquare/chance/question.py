"""What `decide` may be asked, as options in snake_case, checked.

Lengths are mm, or texts with their unit ("0.002 in"). An option that is None counts as left out.
"""

import difflib
import math
from collections.abc import Mapping
from dataclasses import dataclass, fields

from ..core.errors import InputError
from ..core.units import quantity
from .normal_decision import Prior
from .population import Process

LENGTHS = (
    "value", "u", "lower", "upper", "prior_mean", "prior_sd", "process_mean", "process_sd", "process_median",
    "acceptance_lower", "acceptance_upper",
)  # fmt: skip
NUMBERS = (
    "df", "probability", "process_log_sd", "target_consumer_risk", "cost_wrong_accept", "cost_wrong_reject",
)  # fmt: skip
WORDS = {
    "prove": ("conformity", "non-conformity"),
    "prior": ("flat",),
    "process_distribution": ("normal", "lognormal"),
}
_OF_A_PROCESS = (
    "acceptance_lower",
    "acceptance_upper",
    "target_consumer_risk",
    "cost_wrong_accept",
    "cost_wrong_reject",
)


@dataclass(frozen=True)
class Question:
    """One question: a value, a process, or a value from a process, with the rule to judge it by."""

    value: float | None = None
    u: float | None = None
    df: float | None = None
    lower: float | None = None
    upper: float | None = None
    prove: str = "conformity"
    probability: float = 0.95
    prior: str | None = None
    prior_mean: float | None = None
    prior_sd: float | None = None
    process_distribution: str | None = None
    process_mean: float | None = None
    process_sd: float | None = None
    process_median: float | None = None
    process_log_sd: float | None = None
    acceptance_lower: float | None = None
    acceptance_upper: float | None = None
    target_consumer_risk: float | None = None
    cost_wrong_accept: float | None = None
    cost_wrong_reject: float | None = None

    def named_prior(self, where: str) -> Prior | None:
        """The prior of the part, where one was named."""
        if self.prior_mean is None and self.prior_sd is None:
            return None if self.prior is None else Prior()
        if self.prior is not None:
            raise _clash(where, "prior", "name one prior", "flat and prior_mean or prior_sd")
        _together(where, self, "prior_mean", "prior_sd")
        _above_zero(where, "prior_sd", self.prior_sd)
        return Prior(self.prior_mean, self.prior_sd)

    def process(self, where: str) -> Process | None:
        """The process, where one was described."""
        normal, log = ("process_mean", "process_sd"), ("process_median", "process_log_sd")
        word = self.process_distribution or "normal"
        used, other = (log, normal) if word == "lognormal" else (normal, log)
        if any(getattr(self, name) is not None for name in other):
            rule = f"be described by {used[0]} and {used[1]}"
            raise _clash(where, f"a {word} process", rule, f"{other[0]} or {other[1]}")
        if self.process_distribution is None and all(getattr(self, name) is None for name in used):
            return None
        centre, spread = _together(where, self, *used)
        _above_zero(where, used[1], spread)
        if word == "lognormal":
            _above_zero(where, used[0], centre)
        return Process(centre, spread, word == "lognormal")


def read(options: Mapping[str, object], *, where: str) -> Question:
    """The question that `options` ask.

    Raises
    ------
    InputError : an unknown option (names the nearest), a value of the wrong kind, or options that do not go together.
    """
    if not isinstance(options, Mapping):
        raise InputError(where, "an item", "be an object of options", _shown(options), 'Write {"value": .., "u": ..}.')
    known = [field.name for field in fields(Question)]
    for name in options:
        if name not in known:
            near = difflib.get_close_matches(str(name), known, 1)
            way_out = f'Did you mean "{near[0]}"?' if near else f"Known: {', '.join(known)}."
            raise InputError(where, "an option", "be a known one", f'"{name}"', way_out)
    given = {name: _read_one(name, x, where) for name, x in options.items() if x is not None}
    question = Question(**given)  # type: ignore[arg-type]
    _check(question, where)
    return question


def _read_one(name: str, x: object, where: str) -> float | str:
    if isinstance(x, int) and abs(x) > 1e300:
        raise InputError(where, name, "be a finite number", "a number of over 300 digits", "Correct it.")
    if name in WORDS:
        if x not in WORDS[name]:
            raise InputError(where, name, f"be {' or '.join(WORDS[name])}", _shown(x), "Correct it.")
        return str(x)
    if name in LENGTHS:
        if isinstance(x, bool) or not isinstance(x, (int, float, str)):
            raise InputError(where, name, "be a length in mm", _shown(x), "Correct it.")
        return quantity(x, "length", "mm", where=f"{where}: {name}")
    if isinstance(x, bool) or not isinstance(x, (int, float)) or not math.isfinite(x):
        raise InputError(where, name, "be a finite number", _shown(x), "Correct it, or leave it out.")
    return float(x)


def _check(q: Question, where: str) -> None:
    _above_zero(where, "u", q.u)
    if q.df is not None and q.df < 1:
        raise InputError(where, "df", "be 1 or more", f"{q.df:g}", "Leave it out where u is well known.")
    process, prior = q.process(where), q.named_prior(where)
    if q.value is None and process is None:
        raise InputError(where, "the question", "hold a value or a process", "neither", "Give value, or process_mean.")
    if q.value is None and prior is not None:
        raise _clash(where, "a prior", "go with a value", "no value")
    if process is not None and prior is not None:
        raise _clash(where, "what is known of the part", "be said once", "a prior and a process")
    if process is None:
        for name in _OF_A_PROCESS:
            if getattr(q, name) is not None:
                raise _clash(where, name, "go with a process", "no process")
    _check_acceptance(q, where)
    if q.cost_wrong_accept is not None or q.cost_wrong_reject is not None:
        _together(where, q, "cost_wrong_accept", "cost_wrong_reject")


def _check_acceptance(q: Question, where: str) -> None:
    low, high = q.acceptance_lower, q.acceptance_upper
    if low is None and high is None:
        return
    for side in ("lower", "upper"):
        limit, name = getattr(q, side), f"acceptance_{side}"
        if (limit is None) != (getattr(q, name) is None):
            rule = f"be given if, and only if, there is a limit {side}"
            raise InputError(where, name, rule, "one without the other", "Give both, or neither.")
    if low is not None and high is not None and not low < high:
        raise InputError(
            where, "acceptance_lower", "lie below acceptance_upper", f"{low:g} and {high:g}", "Correct it."
        )
    if q.target_consumer_risk is not None:
        raise _clash(where, "the acceptance limits", "be given or asked for", "given, with target_consumer_risk")


def _above_zero(where: str, name: str, x: float | None) -> None:
    if x is None or not x > 0:
        found = "nothing" if x is None else f"{x:g}"
        raise InputError(where, name, "be given and above zero", found, "Give a positive figure.")


def _together(where: str, q: Question, first: str, second: str) -> tuple[float, float]:
    a, b = getattr(q, first), getattr(q, second)
    if a is None or b is None:
        rule = f"go with {second if a is not None else first}"
        raise InputError(where, first if a is not None else second, rule, "one alone", "Give both.")
    return float(a), float(b)


def _clash(where: str, what: str, rule: str, found: str) -> InputError:
    return InputError(where, what, rule, found, "Drop one of them.")


def _shown(x: object) -> str:
    text = f'"{x}"' if isinstance(x, str) else repr(x)
    return text if len(text) <= 60 else text[:57] + "..."
