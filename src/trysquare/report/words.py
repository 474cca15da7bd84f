"""The sentences of a report: verdicts, confidence, advice. A probability is spoken only with its prior named."""

import math
import re
from dataclasses import dataclass

from ..jobs.result import Judged, Result
from .belief import below
from .format import clean, decimals, figure, kind_of, percent, plain, share, shown, value_text, zone_text

WORD = {"accept": "Accept", "undecided": "Undecided", "reject": "Reject"}
_ORDER = {"reject": 0, "undecided": 1, "accept": 2}
_COUNT = {0: "no grain", 1: "one grain", 2: "two grains"}
_STRESS = re.compile(r"^\d+ %|(?<=uncertainty is ).+?(?=\. [A-Z])|(?<=→ )[\d.]+(?: mm|°)")
_FILE = re.compile(r"\S+\.(?:toml|csv)\b")
_SAID = 0.3  # a source with this share of the variance or more is named first


@dataclass(frozen=True)
class Piece:
    """A stretch of a sentence, stressed or not."""

    text: str
    strong: bool = False


def as_text(pieces: list[Piece]) -> str:
    """A sentence without stress."""
    return "".join(piece.text for piece in pieces)


def by_urgency(result: Result) -> list[Judged]:
    """Rejected first, then undecided, then accepted; in each the one most likely beyond its limits first."""
    return sorted(result.requirements, key=lambda j: (_ORDER[j.verdict], *_urgency(j, result.belief_at)))


def _urgency(j: Judged, levels: list[float]) -> tuple[float, float]:
    """Smaller is more urgent; what cannot be stated comes before what can."""
    confidence = beyond(j, levels)
    if j.kind == "attribute" and j.verdict == "accept":
        return (0.0, math.inf)
    if confidence is None or j.value is None:
        return (-2.0, 0.0)
    room = [abs(limit - j.value) for limit in (j.lower, j.upper) if limit is not None and not _wall(j, limit)]
    past = excess(j)
    margin = (-past if past is not None else min(room, default=0.0)) / (j.u or 1.0)
    return (-round(confidence, 3), margin)


def _wall(j: Judged, limit: float) -> bool:
    return kind_of(j) == "zero" and limit == j.lower


def beyond(j: Judged, levels: list[float]) -> float | None:
    """Confidence that the true value lies beyond a limit, None where nothing can be stated."""
    if j.risk is not None:
        return j.risk
    if j.belief is None or kind_of(j) == "none":
        return None
    kind = kind_of(j)
    low = below(j.belief, levels, j.lower) if j.lower is not None and kind != "zero" else 0.0
    high = 1.0 - below(j.belief, levels, j.upper) if j.upper is not None else 0.0
    return min(low + high, 1.0 - levels[0])


def beyond_text(j: Judged, levels: list[float]) -> str:
    """The confidence in words, or the probability with its prior where one was named."""
    if j.p_conform is not None:
        return f"Conforms with probability {percent(j.p_conform.value)} (prior: {clean(j.p_conform.prior)})."
    confidence = beyond(j, levels)
    if confidence is None or kind_of(j) == "none":
        return ""
    least = levels[0] * (2 if kind_of(j) == "both" else 1)
    if confidence <= least * 1.001:
        return f"Confidence that it lies beyond a limit: at most {percent(least)}."
    if confidence >= 1 - levels[0] * 1.001:
        return f"Confidence that it lies beyond a limit: at least {percent(1 - levels[0])}."
    return f"Confidence that it lies beyond a limit: {percent(confidence)}."


def excess(j: Judged) -> float | None:
    """How far the value lies beyond the nearer limit, in the unit of the document; None inside the zone."""
    if j.value is None:
        return None
    if j.upper is not None and j.value > j.upper:
        return j.value - j.upper
    if j.lower is not None and kind_of(j) != "zero" and j.value < j.lower:
        return j.lower - j.value
    return None


def excess_text(j: Judged) -> str:
    """The excess with its sign: + above the upper limit, − below the lower."""
    past, s = excess(j), shown(j)
    if past is None or j.value is None:
        return ""
    sign = "+" if j.upper is not None and j.value > j.upper else "−"
    return sign + figure(past * s.factor, min(s.decimals, 3)) + ("°" if s.unit == "°" else "")


def title(j: Judged) -> str:
    """Name and characteristic; the name alone where it says the characteristic already."""
    characteristic = j.characteristic.replace("_", " ")
    name = clean(j.name)
    return name if characteristic[:4].lower() in name.lower() else f"{name}, {characteristic}"


def with_unit(text: str, j: Judged) -> str:
    """A figure with its unit; the degree sign is there already."""
    return text if j.unit == "rad" else f"{text} mm"


def interval_text(j: Judged) -> str:
    """The interval with its coverage, or why there is none."""
    s = shown(j)
    if j.kind == "attribute":
        return recorded_text(j)
    if s.interval is None:
        return "Nothing was measured that could be stated."
    low, high = (figure(x, s.decimals) for x in s.interval)
    return f"{percent(j.coverage)} interval {low} to {with_unit(high + ('°' if j.unit == 'rad' else ''), j)}"


def recorded_text(j: Judged) -> str:
    """Who found what of an attribute, when, and where it is written down."""
    lines = [
        f"Recorded as {r.result} by {clean(r.by)}, {clean(r.when)} ({clean(r.file)}, line {r.line})"
        + (f": {clean(r.note)}" if r.note else "")
        for r in j.records
    ]
    return "; ".join(lines) + "." if lines else "Nobody recorded what was found of it."


def acceptance_text(j: Judged) -> str:
    """Between which values the verdict would be accept."""
    s = shown(j)
    low, high = s.acceptance
    if s.U is None or kind_of(j) == "none":
        return ""
    if low is not None and high is not None and kind_of(j) != "zero":
        return f"accept from {s.figure(low)} to {s.figure(high)}" if low < high else "no value would be accepted"
    if high is not None:
        return f"accept up to {s.figure(high)}" if high > 0 or kind_of(j) != "zero" else "no value would be accepted"
    return f"accept from {s.figure(low)} up" if low is not None else "no value would be accepted"


def spoken(j: Judged, levels: list[float]) -> str:
    """What a strip says to a screen reader: value, zone, verdict, confidence."""
    s = shown(j)
    if j.kind == "attribute":
        return f"{title(j)}: {WORD[j.verdict]}. {recorded_text(j)}"
    value = value_text(j) if s.value is None else with_unit(value_text(j), j)
    sure = f" plus or minus {figure(s.U, s.decimals)}" if s.U is not None else ", uncertainty not stated"
    sure = sure if s.value is not None else ""
    words = (
        f"{clean(j.name)}, {j.characteristic.replace('_', ' ')}: {value}{sure}, zone {zone_text(j)}, {WORD[j.verdict]}"
    )
    return f"{words}. {clean(j.reason) if j.reason else beyond_text(j, levels)}".rstrip(" .") + "."


def advice(j: Judged) -> list[Piece]:
    """A sentence or two: what makes the doubt, what to do next, what that is predicted to bring."""
    pieces = [Piece(sentence(j.reason))] if j.reason else _past(j)
    step = sentence(j.next.text) if j.next else ""
    if step and step == sentence(j.reason or ""):
        step = ""
    if is_whole(step):
        return _tidy([*pieces, Piece(" "), *_stressed(step)])
    if j.U is not None or not j.reason:
        pieces += _largest(j)
    if step:
        pieces += [Piece(f" {step}"), *predicted(j)]
    return _tidy(pieces)


def is_whole(step: str) -> bool:
    """Whether a next step says by itself where the doubt comes from or what it is predicted to bring."""
    return "of this uncertainty" in step or "predicted U" in step


def _past(j: Judged) -> list[Piece]:
    """By how much a rejected value lies beyond its limit."""
    if j.verdict != "reject" or not excess_text(j):
        return []
    side = "above the upper" if excess_text(j)[0] == "+" else "below the lower"
    return [Piece("Proven not to conform: "), Piece(with_unit(excess_text(j)[1:], j), True), Piece(f" {side} limit.")]


def _largest(j: Judged) -> list[Piece]:
    """The largest source of doubt, where one stands out."""
    top = max(j.contributions, key=lambda c: c.share, default=None)
    if top is None or top.share < _SAID / 3:
        return []
    name = Piece(clean(top.source), True)
    if top.share >= _SAID:
        return [Piece(" "), Piece(share(top.share), True), Piece(" of this uncertainty is "), name, Piece(".")]
    figure = Piece(share(top.share), True)
    return [Piece(" The largest part, "), figure, Piece(" of this uncertainty, is "), name, Piece(".")]


def _stressed(step: str) -> list[Piece]:
    """A sentence with its share, its cause and its predicted figure stressed."""
    pieces, at = [], 0
    for match in _STRESS.finditer(step):
        pieces += [Piece(step[at : match.start()]), Piece(match[0], True)]
        at = match.end()
    return [*pieces, Piece(step[at:])]


def predicted(j: Judged) -> list[Piece]:
    """What the next step is predicted to bring: U now and then, and the interval if the value stays."""
    if j.next is None:
        return []
    s, then = shown(j), then_text(j)
    if not then:
        return []
    if s.U is None:
        return [Piece(" Predicted U: "), Piece(then, True), Piece(".")]
    now = Piece(f" Predicted U: {figure(s.U, s.decimals)} → ")
    return [now, Piece(then, True), Piece(_if_value_stays(j) or ".")]


def then_text(j: Judged) -> str:
    """U after the next step, with two figures and its unit; "" where none is predicted."""
    if j.next is None or j.next.predicted_U is None:
        return ""
    big_u = j.next.predicted_U * shown(j).factor
    n = max(decimals(big_u), shown(j).decimals if j.U is not None else 0)
    return with_unit(figure(big_u, n) + ("°" if j.unit == "rad" else ""), j)


def _if_value_stays(j: Judged) -> str:
    if j.next is None or j.next.predicted_interval is None:
        return ""
    low, high = j.next.predicted_interval
    inside = (kind_of(j) == "zero" or j.lower is None or low >= j.lower) and (j.upper is None or high <= j.upper)
    s, n = shown(j), shown(j).decimals
    if inside:
        return "; if the value stays, the whole interval lies inside the zone."
    return f"; if the value stays, the interval is {figure(low * s.factor, n)} to {figure(high * s.factor, n)}."


def sentence(text: str) -> str:
    """Text with a capital at its start and a full stop at its end; the name of a file at its start stays as it is."""
    words = clean(text).strip()
    if not _FILE.match(words):
        words = words[:1].upper() + words[1:]
    return words if not words or words[-1] in ".!?" else words + "."


def _tidy(pieces: list[Piece]) -> list[Piece]:
    """No space at the start, no empty pieces."""
    kept = [piece for piece in pieces if piece.text]
    while kept and not kept[0].text.strip():
        kept.pop(0)
    return [Piece(kept[0].text.lstrip(), kept[0].strong), *kept[1:]] if kept else []


def remainder_text(j: Judged) -> str:
    """What the sources one by one leave unexplained, said and not scaled away."""
    if j.remainder is None or abs(j.remainder) < 0.005 or not j.contributions:
        return ""
    if j.remainder > 0:
        return f"{share(j.remainder)} of the variance is not traced to one source."
    return f"The shares add up to {share(1 - j.remainder)}: sources act together here."


def grains_text(j: Judged, result: Result) -> str:
    """What the grains mean, without calling them a probability of the part."""
    allowed = 1 - result.rule.probability
    count = int(20 * allowed + 1e-9)
    if result.rule.prove == "conformity":
        rule = f"The rule allows {plain(round(100 * allowed, 3))} % beyond"
        rule += f", about {_COUNT[count]}." if count in _COUNT else f", about {count} grains."
    else:
        rule = f"Rejected when at least {plain(round(100 * result.rule.probability, 3))} % lie beyond."
    return f"Each is a twentieth of the confidence distribution. {beyond_text(j, result.belief_at)} {rule}"
