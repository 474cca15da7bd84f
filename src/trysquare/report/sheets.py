"""What the printed report is set from: words and figures as plain data, pictures as painted SVG files."""

import re
from typing import Any

from ..core.files import sha256
from ..jobs.result import Judged, Result
from . import axis, where
from .chain import chain
from .detail import chain_note, facts, figures, note_lines, pictures, source_line
from .facts import conclusion, legend, rule_facts, rule_lines, tie_text, title_block, warning_lines
from .fonts import Font, broken, sans
from .format import clean, frame_zone, plus_minus, value_text, zone_text
from .glyphs import INK, symbol, verdict_mark
from .register import marks
from .strip import strip
from .tokens import PRINT, paint
from .words import WORD, advice, by_urgency, spoken, title

_POINT = 0.3528  # mm
_ROW = 7.6 * _POINT  # size of the text in a row, mm
_ZONE = 6.8 * _POINT
_SHEET, _FIXED = 186.0, 5.0 + 19.0  # width between the margins; columns of symbol and verdict


class Sheets:
    """The data of one report and the files that it names."""

    def __init__(self, result: Result) -> None:
        self.result, self.files = result, dict[str, bytes]()
        ordered = by_urgency(result)
        urgent, widths = [j for j in ordered if j.verdict != "accept"], _widths(ordered)
        self.data: dict[str, Any] = {
            **_words(result), "widths": widths, "counts": self._counts(),
            "rows": self._rows(ordered, widths["name"] - 1.0),
            "full": [self._full(j) for j in urgent],
            "compact": [self._compact(j) for j in ordered if j.verdict == "accept"],
        }  # fmt: skip

    def picture(self, name: str, svg: str, *, ink: str = "ink", alt: str = "") -> dict[str, str]:
        """Keep a drawing as a file; equal names are the same drawing."""
        spoken_label = re.search(r'aria-label="([^"]*)"', svg)
        self.files[f"{name}.svg"] = paint(svg, PRINT, ink=ink).encode()
        return {"file": f"{name}.svg", "alt": alt or (spoken_label[1] if spoken_label else name)}

    def _counts(self) -> list[dict[str, Any]]:
        part = self.result.part
        numbers = {"reject": part.reject, "undecided": part.undecided, "accept": part.accept}
        return [{"verdict": v, "mark": self._mark(v, 1), "count": n} for v, n in numbers.items()]

    def _mark(self, verdict: str, side: int) -> dict[str, str]:
        name = f"mark-{verdict}{'-low' if side < 0 else ''}"
        return self.picture(name, verdict_mark(verdict, side), ink=INK[verdict], alt=WORD[verdict])

    def _common(self, j: Judged) -> dict[str, Any]:
        key = re.sub(r"\W", "-", j.characteristic)
        return {
            "id": breakable(j.id, 17), "verdict": j.verdict, "word": WORD[j.verdict],
            "mark": self._mark(j.verdict, j.side),
            "symbol": self.picture(f"symbol-{key}", symbol(j.characteristic)),
        }  # fmt: skip

    def _rows(self, ordered: list[Judged], room: float) -> list[dict[str, Any]]:
        rows: list[dict[str, Any]] = []
        for n, j in enumerate(ordered):
            drawn = strip(j, self.result.belief_at, key=f"s{n}")
            rows.append(self._common(j) | {
                "name": breakable(j.name, room), "marks": marks(j), "zone": zone_text(j),
                "datums": " ".join(map(clean, j.datums)), "value": value_text(j), "pm": plus_minus(j),
                "first": bool(rows) and rows[-1]["verdict"] != j.verdict,
                "strip": self.picture(f"strip-{n}", drawn, alt=spoken(j, self.result.belief_at)),
            })  # fmt: skip
        return rows

    def _described(self, j: Judged, name: str, *, height: float, size: float, room: float) -> dict[str, Any]:
        value, beside = figures(j)
        wide = sans(bold=True).width(f"{value} ", size) + sans().width(beside, 0.6 * size)
        drawn = strip(j, self.result.belief_at, height=height, axis=True, key=name, ghost=True)
        return self._common(j) | {
            "title": breakable(title(j), 60), "source": source_line(j), "value": value, "beside": beside,
            "size": round(min(size, size * room / (wide * _POINT)), 2),
            "frame": [frame_zone(j) or zone_text(j), *map(clean, j.datums)],
            "facts": facts(j, self.result), "notes": note_lines(j, self.result),
            "big": self.picture(f"{name}-strip", drawn, alt=spoken(j, self.result.belief_at)),
        }  # fmt: skip

    def _chain(self, j: Judged, name: str, thick: float, drop: float) -> dict[str, str] | None:
        drawn = chain(j, width=930, thick=thick, drop=drop)
        if not drawn:
            return None
        head = "From reading to characteristic: share of the variance"
        return self.picture(f"{name}-chain", drawn) | {"head": head, "note": chain_note(j)}

    def _full(self, j: Judged) -> dict[str, Any]:
        name = f"full-{len(self.files)}"
        say = [{"text": piece.text, "strong": piece.strong} for piece in advice(j)]
        return self._described(j, name, height=76.0, size=24.0, room=63.0) | {
            "pictures": self._pictures(j, name), "chain": self._chain(j, name, 112, 44), "say": say,
        }  # fmt: skip

    def _pictures(self, j: Judged, name: str) -> list[list[dict[str, Any]]]:
        heights = {"Twenty grains": 28, "The floor": 42}
        return [
            [
                self.picture(f"{name}-{c}{i}", svg) | {"head": head, "note": note, "height": heights.get(head, 52)}
                for i, (head, svg, note) in enumerate(column)
                if svg
            ]
            for c, column in enumerate(pictures(j, self.result, shared=False))
        ]

    def _compact(self, j: Judged) -> dict[str, Any]:
        name = f"compact-{len(self.files)}"
        cloud = axis.axis_cloud(j)
        points = where.caption(j) if j.where else ""
        described = self._described(j, name, height=58.0, size=15.0, room=56.0)
        described["source"] = " ".join(part for part in (described["source"], points) if part)
        return described | {
            "cloud": self.picture(f"{name}-cloud", cloud) if cloud else None, "chain": self._chain(j, name, 40, 24),
        }  # fmt: skip


def breakable(words: str, width: float) -> str:
    """Text whose longest words may break where they would not fit `width` mm in a row."""
    font = sans(bold=True)
    return " ".join("\u200b".join(broken(word, width, _ROW, font)) for word in clean(words).split(" "))


def _widths(ordered: list[Judged]) -> dict[str, float]:
    """Columns of the list in mm: as wide as their widest entry; between name and strip whoever needs it gets more."""
    bold, regular = sans(bold=True), sans()

    def widest(least: float, *lines: tuple[str, Font, float]) -> float:
        return max([least, *(font.width(words, size) for words, font, size in lines)])

    ids = min(20.0, widest(5.0, *((clean(j.id), bold, _ROW) for j in ordered))) + 2.0
    zones = min(30.0, widest(14.0, *((f"{zone_text(j)} {' '.join(j.datums)}", bold, _ZONE) for j in ordered))) + 1.5
    values = widest(16.0, *((value_text(j), bold, _ROW) for j in ordered)) + 1.4
    big_u = widest(13.0, *((plus_minus(j), regular, _ROW) for j in ordered)) + 1.2
    left = _SHEET - _FIXED - ids - zones - values - big_u
    wanted = min(48.0, widest(20.0, *((f"{j.name} {marks(j)}", bold, _ROW) for j in ordered))) + 1.5
    picture = min(60.0, max(54.0 if left > 82 else 42.0, left - wanted))
    widths = {"id": ids, "name": left - picture, "zone": zones, "strip": picture, "value": values, "u": big_u}
    return {name: round(width, 2) for name, width in widths.items()}


def _words(result: Result) -> dict[str, Any]:
    """Everything that needs no picture."""
    digest = sha256(result.as_bytes())
    part = clean(result.part_name) + (f" {clean(result.serial)}" if result.serial else "")
    tie = [("Stations", tie_text(result))] if result.tie else []
    return {
        "title": clean(result.title), "date": date_of(result.measured),
        "colour": {"ink": PRINT["ink"], "ink2": PRINT["ink-2"], "rule": PRINT["rule"], "ask": PRINT["ask"],
                   "stop": PRINT["stop"]},
        "block": title_block(result), "conclusion": conclusion(result), "legend": legend(result),
        "lines": [line for line in rule_lines(result) if line != legend(result)],
        "warnings": warning_lines(result),
        "footer": f"{clean(result.title)}, {part}",
        "made": f"result {digest[:8]}, seed {result.seed}, {result.draws} draws",
        "interpretations": [(clean(i.about), clean(i.text)) for i in result.interpretations],
        "facts": [*rule_facts(result), *tie, ("Result document", f"SHA-256 {digest}")],
        "inputs": [(clean(i.file), str(i.bytes), i.sha256) for i in result.inputs],
        "sign": clean(result.part.sign_off or ""),
    }  # fmt: skip


def date_of(measured: str | None) -> tuple[int, int, int] | None:
    """The day of the measurement, where the text names one as year-month-day."""
    found = re.search(r"\b(\d{4})-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])\b", measured or "")
    if found is None:
        return None
    year, month, day = (int(group) for group in found.groups())
    leap = year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)
    longest = 29 if month == 2 and leap else 28 if month == 2 else 30 if month in (4, 6, 9, 11) else 31
    return (year, month, day) if year > 0 and day <= longest else None
