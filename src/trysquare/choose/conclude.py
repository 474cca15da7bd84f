"""The conclusion in words: which set, what goes to the laboratory, what nobody holds, and on what all that rests."""

from collections.abc import Mapping, Sequence

from ..instruments.catalogue import InstrumentClass
from ..jobs.job import Job
from .case import HAND_READINGS
from .conditions import BLOCK, LABORATORY_K, SCAN_PLACES
from .predict import READING_SHARE
from .readings import FORM_SHARE
from .result import Cell, Cost, Set, ToLab
from .sets import HOURLY_EUR
from .words import HOLDS, LIMITED, factor, percent

Cells = Mapping[str, Mapping[str, Cell]]  # requirement -> class -> cell


def lab_list(job: Job, known: Mapping[str, InstrumentClass], cells: Cells) -> list[ToLab]:
    """Every requirement that no instrument in the hall holds."""
    out = []
    for r in job.requirements:
        row = cells[r.id]
        if any(row[n].word == "holds" for n, c in known.items() if c.where == "hall"):
            continue
        lab = next((n for n, c in known.items() if c.where == "laboratory" and row[n].word == "holds"), None)
        best = _best([row[n] for n, c in known.items() if c.where == "hall"])
        out.append(
            ToLab(
                requirement=r.id, name=r.name, holds=lab, why=_why(best),
                best=None if best is None else best.instrument, left=None if best is None else best.left,
                action=None if best is None else best.action,
            )
        )  # fmt: skip
    return out


def conclusion(job: Job, sets: Sequence[Set], lab: Sequence[ToLab], known: Mapping[str, InstrumentClass]) -> str:
    """The sentences on top: what holds for how much, and where the rest goes."""
    total = len(job.requirements)
    chosen = next((s for s in sets if s.chosen), None)
    if chosen is None:
        some = [x for x in lab if x.action is not None]
        return " ".join([f"No instrument here holds any of the {total} requirements as it is.", *_only(some)])
    hall = [n for n in chosen.instruments if known[n].where == "hall"]
    here = next((s for s in sets if s.instruments == hall), None)
    main = here or chosen
    verb = "holds" if len(main.instruments) == 1 else "hold"
    parts = [f"{_names(main.instruments, known)} {verb} {main.covers} of {total} for {money(main.cost)}."]
    if here is not None:
        parts += _goes([x for x in lab if x.holds is not None], _difference(chosen.cost, here.cost))
    parts += _only([x for x in lab if x.holds is None and x.action is not None])
    parts += _nobody([x for x in lab if x.holds is None and x.action is None])
    alone = [s for s in sets if s is not chosen and all(known[n].where == "laboratory" for n in s.instruments)]
    for s in alone:
        if s.covers >= chosen.covers and s.cost.middle < chosen.cost.middle:
            parts.append(f"In the lab, the {s.instruments[0]} alone would hold {s.covers} for {money(s.cost)}.")
    return " ".join(parts)


def money(cost: Cost) -> str:
    """A range of cost as people say it, to the nearest ten."""
    low, high = (f"{round(x, -1):.0f}" for x in (cost.low, cost.high))
    return f"{low} {cost.currency}" if low == high else f"{low} to {high} {cost.currency}"


def assumptions(job: Job) -> list[str]:
    """What the predictions rest on: the rules of the house and their figures."""
    z = factor(job.decision.probability)
    return [
        f"Readings are assumed: nominal features, form of {percent(FORM_SHARE)} of the zone where flatness is asked, a "
        f"position or tilt read at {percent(READING_SHARE)} of its zone. Errors are drawn as in judging.",
        f"Left for the maker is the zone less {z:.4g} u at each limit. Holds: {percent(HOLDS)} or more; holds if: with "
        f"the action named, or {percent(LIMITED)} or more and the maker keeps to it. These shares are a proposal.",
        f"Points: as the job plans, else typical for the shape; a scanner reads {SCAN_PLACES} times as many places, "
        f"each the mean of {BLOCK} readings; a hand tool {HAND_READINGS} readings at a place (no source).",
        "Lines of sight and elbow room are not checked, only reach, room for the ball and light in bores.",
        f"A laboratory holds 20 degC within {LABORATORY_K:g} K, without gradient.",
        f"Cost: the range of the class and minutes per feature at {HOURLY_EUR:.0f} EUR an hour (common practice, no "
        "source); sets are compared by the middle of their range.",
    ]


def cautions(known: Mapping[str, InstrumentClass], used: Sequence[str]) -> list[str]:
    """One line for each hazard that the instruments bring which hold something."""
    out = []
    if any("laser" in need for n in used for need in known[n].needs):
        out.append(
            "Laser light: keep to the class on the instrument's label and to the rules of the site; the person "
            "responsible for laser safety decides."
        )
    if any(known[n].where == "laboratory" for n in used):
        out.append(
            "Lifting: a part that goes to the laboratory is slung and moved by people qualified for it, by local rules."
        )
    return out


def _best(cells: Sequence[Cell]) -> Cell | None:
    """The cell that leaves most of the zone; one with a remedy first."""
    able = [c for c in cells if c.predicted_u is not None]
    return max(able, key=lambda c: (c.word == "holds if", c.action_u is not None, c.left or 0.0), default=None)


def _why(best: Cell | None) -> str:
    if best is None:
        return "No instrument here can measure it."
    if best.left is None:
        return f"The zone is open; with the {best.instrument} the maker keeps away from the limit."
    eats = f"Here the best choice, the {best.instrument}, would eat {_portion(1 - best.left)}"
    return f"{eats}; it holds only if: {best.action}." if best.action else f"{eats}."


def _portion(share: float) -> str:
    if share >= 0.995:
        return "its whole zone"
    return "half its zone" if 0.45 <= share <= 0.55 else f"{percent(share)} of its zone"


def _goes(items: Sequence[ToLab], more: Cost) -> list[str]:
    """Requirements that go to the laboratory."""
    if not items:
        return []
    verb = "goes" if len(items) == 1 else "go"
    return [f"{_several(items)} {verb} to the lab for {money(more)} more: {_here(items)}."]


def _nobody(items: Sequence[ToLab]) -> list[str]:
    """Requirements that nobody holds."""
    return [f"Nobody here holds {_several(items, start=False)}: {_here(items)}."] if items else []


def _only(items: Sequence[ToLab]) -> list[str]:
    """Requirements that hold only with an action."""
    if not items:
        return []
    verb = "holds" if len(items) == 1 else "hold"
    return [f"{_several(items)} {verb} only with an action named: {_first_action(items)}."]


def _here(items: Sequence[ToLab]) -> str:
    left = [x.left for x in items if x.left is not None]
    if not left:
        return "no instrument here can measure it" if len(items) == 1 else "no instrument here can measure them"
    each = "" if len(items) == 1 else "at least "
    return f"here the best instrument would eat {each}{_portion(1 - max(left))}"


def _first_action(items: Sequence[ToLab]) -> str:
    counts: dict[str, int] = {}
    for x in items:
        counts[x.action or ""] = counts.get(x.action or "", 0) + 1
    best = max(counts, key=lambda a: counts[a])
    return best if len(counts) == 1 else f"{best}, and others"


def _several(items: Sequence[ToLab], *, start: bool = True) -> str:
    if len(items) <= 2:
        return " and ".join(x.name if x.name == x.requirement else f"{x.name} ({x.requirement})" for x in items)
    return f"{len(items)} more" if start else f"{len(items)} of them"


def _folded(names: Sequence[str], known: Mapping[str, InstrumentClass]) -> list[str]:
    """Names with two or more hand tools as one."""
    tools = [n for n in names if known[n].by_hand]
    rest = [n for n in names if not known[n].by_hand]
    return [*(["hand tools"] if len(tools) > 1 else tools), *rest]


def _names(names: Sequence[str], known: Mapping[str, InstrumentClass]) -> str:
    words = _folded(names, known)
    text = words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
    return text[:1].upper() + text[1:]


def _difference(whole: Cost, part: Cost) -> Cost:
    return Cost(low=whole.low - part.low, high=whole.high - part.high, currency=whole.currency)
