"""The summary that a person reads in a terminal: counts, conclusion, the most urgent requirements as strips of
characters, what to do next, where the files are. Plain characters where the terminal knows no others; colour only when
asked for."""

import re
import textwrap
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from ..jobs.result import Judged, Result
from . import register
from .belief import curve
from .facts import conclusion
from .format import MINUS, clean, kind_of, plus_minus, u_text, value_text
from .strip import off_scale, scale
from .tokens import POST_HIGH, POST_LOW, STRIP_WIDTH
from .words import WORD, advice, as_text, by_urgency, excess_text, is_whole, sentence, then_text, with_unit

_CELLS = 25
_COLOUR = {"reject": "\x1b[31m", "undecided": "\x1b[35m", "accept": ""}
_RESET = "\x1b[0m"
_SIGNS = {
    "±": "+/-", MINUS: "-", "→": "->", "≥": ">=", "≤": "<=", "°": " deg", "Ø": "dia ", "’": "'", "‘": "'", "“": '"',
    "”": '"', "–": "-", "—": "-", "…": "...", "×": "x", "·": ".", "µ": "u", "²": "2", "ß": "ss",
}  # fmt: skip
#: Spaces that a line is not broken at: between a number and its unit, in "0.56 → 0.43", after "36:".
_HELD = re.compile(r"(?<=\d) (?=(?:mm|m|deg|K)\b|%|→|->)|(?<=[→>:]) (?=\d)")
Say = Callable[[str], str]


@dataclass(frozen=True)
class Letters:
    """The characters of a text strip."""

    post: str
    wall: str
    ground: str
    hump: str
    arrows: tuple[str, str]
    unseen: str


UNICODE = Letters("│", "┃", "·", "▁▂▃▄▅▆▇█", ("◀", "▶"), "╱")
ASCII = Letters("|", "#", ".", "_-=^", ("<", ">"), "/")


def summary(
    result: Result, *, files: Sequence[Path] = (), unicode: bool = True, colour: bool = False, width: int = 80,
    rows: int = 12, most: int = 30,
) -> str:  # fmt: skip
    """The summary as text of `width` columns; the list has at least `rows` lines, more when more is urgent."""
    say: Say = clean if unicode else plain_letters
    ordered = by_urgency(result)
    urgent = [j for j in ordered if j.verdict != "accept"]
    listed = ordered[: max(rows, min(len(urgent), most))]
    left, rest = len(ordered) - len(listed), "" if len(urgent) > len(listed) else ", all accepted"
    lines = [
        say(result.title),
        *_wrapped(say(_part(result)), width),
        "",
        *_wrapped(say(" ".join(conclusion(result))), width),
        "",
    ]
    lines += _rows(listed, result.belief_at, UNICODE if unicode else ASCII, say, width, colour=colour)
    lines += [f"and {left} more{rest}"] if left else []
    lines += [line for text in _steps(urgent) for line in ("", *_wrapped(say(text), width))]
    lines += [line for text in _recorded(ordered) for line in ("", *_wrapped(say(text), width))]
    lines += [line for text in register.lines(listed) for line in ("", *_wrapped(say(text), width))]
    lines += [line for w in result.warnings for line in ("", *_wrapped(say(f"Note: {sentence(w)}"), width))]
    lines += ["", "Written:", *(f"  {path}" for path in files)] if files else []
    return "\n".join(line.rstrip() for line in lines) + "\n"


def knows_unicode(encoding: str | None) -> bool:
    """Whether a stream of this encoding can show the strips of the summary."""
    try:
        (UNICODE.hump + UNICODE.post + "±→−").encode(encoding or "ascii")
    except (LookupError, UnicodeEncodeError):
        return False
    return True


def plain_letters(text: str) -> str:
    """Text in plain ASCII: signs spelled, accents dropped, a letter without a plain form as a question mark."""
    for sign, plain in _SIGNS.items():
        text = text.replace(sign, plain)
    split = unicodedata.normalize("NFKD", clean(text))
    return "".join(c for c in split if not unicodedata.combining(c)).encode("ascii", "replace").decode()


def text_strip(j: Judged, levels: list[float], letters: Letters = UNICODE) -> str:
    """The tolerance strip in 25 characters: posts, ground between them, the hump; arrows off the scale."""
    cells = [_ground(j, i, letters) for i in range(_CELLS)]
    off = off_scale(j)
    if j.value is not None and not off:
        _heap(cells, j, levels, letters)
    if kind_of(j) == "zero" or j.lower is not None:
        cells[_cell(POST_LOW)] = letters.wall if kind_of(j) == "zero" else letters.post
    if j.upper is not None:
        cells[_cell(POST_HIGH)] = letters.post
    if off:
        edge = range(_CELLS - 2, _CELLS) if off > 0 else range(2)
        for i in edge:
            cells[i] = letters.arrows[off > 0]
    return "".join(cells)


def _part(result: Result) -> str:
    names = [result.part_name, result.serial or "", f"drawing {result.drawing}" if result.drawing else ""]
    names += [f"issue {result.revision}" if result.revision else "", result.place]
    return ", ".join(n for n in names if n)


def _wrapped(text: str, width: int) -> list[str]:
    """Lines that keep a number and its unit together."""
    held = _HELD.sub("\0", text)
    return [line.replace("\0", " ") for line in textwrap.wrap(held, width, break_on_hyphens=False)]


def _rows(
    listed: Sequence[Judged], levels: list[float], letters: Letters, say: Say, width: int, *, colour: bool
) -> list[str]:
    """One line a requirement: id, name, strip, value and U, verdict."""
    values = [(say(value_text(j)), say(plus_minus(j))) for j in listed]
    wide, pm = (max((len(pair[i]) for pair in values), default=0) for i in (0, 1))
    ids = min(8, max((columns(say(j.id)) for j in listed), default=0))
    room = max(8, width - ids - _CELLS - wide - pm - 9 - 5)
    lines = []
    for j, (value, big_u) in zip(listed, values, strict=True):
        tone = _COLOUR[j.verdict] if colour else ""
        word = f"{tone}{WORD[j.verdict]}{_RESET}" if tone else WORD[j.verdict]
        start = f"{_filled(say(j.id), ids)} {_filled(say(j.name), room)}"
        lines.append(f"{start} {text_strip(j, levels, letters)} {value:>{wide}} {big_u:<{pm}} {word}")
    return lines


def _filled(words: str, room: int) -> str:
    """A name in exactly `room` columns; one that does not fit ends in a tilde, the reports have it whole."""
    if columns(words) > room:
        while columns(words) > room - 1:
            words = words[:-1]
        words += "~"
    return words + " " * (room - columns(words))


def columns(words: str) -> int:
    """How many columns of a terminal the words take (Unicode Standard Annex 11: wide letters take two)."""
    return sum(2 if unicodedata.east_asian_width(c) in "WF" else 0 if unicodedata.combining(c) else 1 for c in words)


def _cell(x: float) -> int:
    return min(_CELLS - 1, max(0, round(x / STRIP_WIDTH * (_CELLS - 1))))


def _ground(j: Judged, i: int, letters: Letters) -> str:
    kind = kind_of(j)
    low = _cell(POST_LOW) if kind != "most" else 0
    high = _cell(POST_HIGH) if kind != "least" else _CELLS
    mark = letters.ground if j.value is not None else letters.unseen
    return mark if low < i < high and kind != "none" else " "


def _heap(cells: list[str], j: Judged, levels: list[float], letters: Letters) -> None:
    """The hump as columns of characters; a question mark where no interval can be stated."""
    x = scale(j)
    if j.belief is None:
        cells[_cell(x(j.value or 0.0))] = "?"
        return
    tops = [0.0] * _CELLS
    at, height = curve(j.belief, levels, floor=0.0 if kind_of(j) == "zero" else None, count=400)
    for a, h in zip(at, height, strict=True):
        place = x(float(a))
        if 0 <= place <= STRIP_WIDTH:
            tops[_cell(place)] = max(tops[_cell(place)], float(h))
    for i, top in enumerate(tops):
        if top > 0.04:
            cells[i] = letters.hump[min(len(letters.hump) - 1, int(top * len(letters.hump)))]


def _steps(urgent: Sequence[Judged]) -> list[str]:
    """What is beyond its limits, what cannot be stated, and what would decide the rest; one step once."""
    past = [f"{j.id} by {with_unit(excess_text(j), j)}" for j in urgent if j.verdict == "reject" and excess_text(j)]
    steps = [f"Beyond a limit: {', '.join(past)}."] if past else []
    unsaid: dict[str, list[str]] = {}
    together: dict[str, list[Judged]] = {}
    for j in urgent:
        if j.reason:
            unsaid.setdefault(as_text(advice(j)), []).append(j.id)
        elif j.next is not None:
            together.setdefault(sentence(j.next.text), []).append(j)
    steps += [f"{', '.join(ids)}: {why}" for why, ids in unsaid.items()]
    for step, served in together.items():
        gains = "; ".join(_gain(j) for j in served if then_text(j) and not is_whole(step))
        names = ", ".join(j.id for j in served)
        steps.append(f"To decide {names}: {step}" + (f" Predicted U, now and then: {gains}." if gains else ""))
    return steps


def _recorded(ordered: Sequence[Judged]) -> list[str]:
    """Who accepted which attributes, and when, in one sentence; what is not accepted says so among the steps."""
    said = [f"{j.id} {r.result} by {r.by}, {r.when}" for j in ordered if j.verdict == "accept" for r in j.records]
    return [f"Recorded: {'; '.join(said)}."] if said else []


def _gain(j: Judged) -> str:
    """One requirement's U now and after the next step."""
    return f"{j.id}: {u_text(j)} → {then_text(j)}" if u_text(j) else f"{j.id}: {then_text(j)}"
