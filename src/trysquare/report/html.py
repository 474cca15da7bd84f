"""The report as one page that opens offline: no request leaves it, and without its script everything is still there."""

import re
from html import escape
from pathlib import Path

from ..core.files import sha256
from ..jobs.result import Judged, Result
from . import floor, where
from .closing import closing
from .cut import faces
from .detail import BODY, PLAN, detail, verdict
from .facts import conclusion, rule_lines, title_block, warning_lines
from .fonts import sans
from .format import clean, plus_minus, value_text, zone_text
from .glyphs import symbol, verdict_mark
from .register import marks
from .strip import strip
from .svg import slug
from .tokens import style_sheet
from .words import WORD, by_urgency

_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:; script-src 'unsafe-inline'; "
    "base-uri 'none'; form-action 'none'"
)
_VERDICTS = ("reject", "undecided", "accept")
_GROUPS = {"reject": "Rejected", "undecided": "Undecided", "accept": "Accepted"}


def page(result: Result) -> bytes:
    """The page as UTF-8: same result, same bytes."""
    digest = sha256(result.as_bytes())
    body = _top(result) + _shared(result) + _tools() + _list(result) + closing(result, digest)
    return framed(f"{clean(result.title)}: measurement report", body).encode()


def framed(title: str, body: str, *, script: bool = True) -> str:
    """A whole page about `body`: policy, style, cut typefaces, script."""
    here = Path(__file__)
    script_text = f"<script>{here.with_name('page.js').read_text(encoding='utf-8')}</script>" if script else ""
    style = style_sheet() + here.with_name("page.css").read_text(encoding="utf-8")
    letters = "".join(sorted(set(re.sub(r"<[^>]*>", "", body)) | set(map(chr, range(32, 127)))))
    return (
        '<!doctype html>\n<html lang="en-GB"><head><meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">\n'
        '<meta name="viewport" content="width=device-width,initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>\n{faces(letters)}{style}</style></head>\n"
        f'<body><div class="page">\n{body}</div>\n{script_text}</body></html>\n'
    )


def _top(result: Result) -> str:
    block = "".join(f"<div><dt>{escape(k)}</dt><dd>{escape(v)}</dd></div>" for k, v in title_block(result))
    counts = "".join(
        f'<li class="v {v}">{verdict_mark(v)}<span><span class="far">{WORD[v]}: </span>{n}</span></li>'
        for v, n in zip(_VERDICTS, (result.part.reject, result.part.undecided, result.part.accept), strict=True)
    )
    first, rest = conclusion(result)
    lines = "".join(f'<p class="quiet">{escape(line)}</p>' for line in rule_lines(result))
    warnings = "".join(f"<li>{escape(w)}</li>" for w in warning_lines(result))
    return (
        f'<header><div class="top"><h1>{escape(clean(result.title))}</h1>'
        '<span class="cap">Measurement report</span></div>'
        f'<dl class="block">{block}</dl><div class="sum"><ul class="counts">{counts}</ul>'
        f"<div><p><b>{escape(first)}</b> {escape(rest)}</p>{lines}</div></div>"
        + (f'<ul class="warn">{warnings}</ul>' if warnings else "")
        + "</header>\n"
    )


def _shared(result: Result) -> str:
    """The grounds that all plans and views point to."""
    if result.floor is None:
        return ""
    plan = floor.ground(result.floor, floor.view(result.floor))
    body = where.body(result.floor, where.view(result.floor))
    return (
        f'<svg class="defs" aria-hidden="true"><defs><g id="{PLAN}">{plan}</g><g id="{BODY}">{body}</g></defs></svg>\n'
    )


def _tools() -> str:
    keys = (("↑ ↓", "move"), ("Enter", "opens"), ("Esc", "returns"), ("n", "next undecided"), ("/", "filter"))
    hints = "".join(f"<span><kbd>{k}</kbd> {words}</span>" for k, words in keys)
    return (
        '<div class="tools"><label>Filter <input id="filter" type="search" autocomplete="off" spellcheck="false">'
        f'</label><span class="keys cap">{hints}</span></div>\n'
    )


def _list(result: Result) -> str:
    ordered = by_urgency(result)
    em = 1.0
    widths = {
        "idw": max([1.8 * em, *(sans(bold=True).width(clean(j.id), em) for j in ordered)]),
        "vw": max([3.0 * em, *(sans(bold=True).width(value_text(j), em) for j in ordered)]),
        "uw": max([3.0 * em, *(sans().width(plus_minus(j), em) for j in ordered)]),
    }
    widths["idw"] = min(widths["idw"], 6.0)
    style = ";".join(f"--{name}:{width + 0.3:.2f}em" for name, width in widths.items())
    rows, last = "", ""
    for j in ordered:
        rows += f'<h2 class="far">{_GROUPS[j.verdict]}</h2>' if j.verdict != last else ""
        rows += _row(j, result, first=j.verdict != last and bool(last))
        last = j.verdict
    return (
        f'<main class="list" style="{style}" aria-label="Requirements, most urgent first">{_head()}{rows}'
        '<p class="paper cap">On paper: what was open is printed in full; the PDF has every requirement.</p>'
        '<p class="none" id="none" role="status" hidden>No requirement matches.</p></main>\n'
    )


def _head() -> str:
    return (
        '<div class="head" aria-hidden="true"><span></span><span></span><span>requirement</span><span>zone, mm</span>'
        '<span class="posts"><i>limit</i><i>limit</i></span><span class="num">value</span><span>± U</span>'
        "<span>verdict</span></div>"
    )


def _row(j: Judged, result: Result, *, first: bool) -> str:
    """A whole row is the target; its strip speaks for it."""
    name = escape(clean(j.name)) + (f"<small>{marks(j)}</small>" if marks(j) else "")
    datums = " <b>" + escape(" ".join(map(clean, j.datums))) + "</b>" if j.datums else ""
    picture = strip(j, result.belief_at, key=anchor(j))
    cells = (
        f'<span class="id">{escape(clean(j.id))}</span>{symbol(j.characteristic)}<span class="name">{name}</span>'
        f'<span class="zone" aria-hidden="true">{escape(zone_text(j))}{datums}</span>{picture}'
        f'<span class="val" aria-hidden="true">{value_text(j)}</span>'
        f'<span class="pm" aria-hidden="true">{plus_minus(j)}</span>'
        + verdict(j).replace("<span ", '<span aria-hidden="true" ', 1)
    )
    words = escape(" ".join((j.id, j.name, j.characteristic, j.verdict, *j.datums, *j.on, *j.measured_by)).lower())
    group = " group" if first else ""
    return (
        f'<details class="req {j.verdict}{group}" id="{escape(anchor(j))}" data-words="{words}">'
        f"<summary>{cells}</summary>{detail(j, result)}</details>\n"
    )


def anchor(j: Judged) -> str:
    """The name of a requirement's row in the page."""
    return f"r-{slug(j.id)}"
