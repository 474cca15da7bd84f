"""One requirement in full, for the page: value, strip, what to do, where it is and may be, the chain, the notes."""

from html import escape

from ..jobs.result import Judged, Result
from ..jobs.systems import fixed_text
from . import axis, floor, register, where
from .chain import chain, standing_chain
from .format import clean, frame_zone, shown, u_text, value_text, zone_text
from .glyphs import symbol, verdict_mark
from .grains import grains
from .strip import strip
from .svg import slug
from .words import (
    WORD,
    Piece,
    acceptance_text,
    advice,
    beyond_text,
    grains_text,
    interval_text,
    recorded_text,
    remainder_text,
    sentence,
    title,
    with_unit,
)

#: Names of the grounds that all plans and views of a page share.
PLAN, BODY = "plan-ground", "part-body"


def detail(j: Judged, result: Result) -> str:
    """The block that opens under a row."""
    parts = [_about(j), _lead(j, result), said(advice(j)), _pictures(j, result), _chain(j), _notes(j, result)]
    return f'<div class="detail">{"".join(parts)}</div>'


def verdict(j: Judged) -> str:
    """Mark and word."""
    return f'<span class="v {j.verdict}">{verdict_mark(j.verdict, j.side)}<span>{WORD[j.verdict]}</span></span>'


def said(pieces: list[Piece]) -> str:
    """A sentence in the book face."""
    if not pieces:
        return ""
    words = "".join(f"<b>{escape(p.text)}</b>" if p.strong else escape(p.text) for p in pieces)
    return f'<p class="say">{words}</p>'


def frame(j: Judged) -> str:
    """The tolerance frame as the drawing writes it; for sizes and distances the zone."""
    zone = frame_zone(j) or zone_text(j)
    fields = [symbol(j.characteristic), escape(zone), *(escape(clean(d)) for d in j.datums)]
    return '<span class="frame">' + "".join(f"<span>{f}</span>" for f in fields) + "</span>"


def figures(j: Judged) -> tuple[str, str]:
    """The value, and what stands small beside it."""
    s = shown(j)
    if s.value is None:
        return value_text(j), ""
    if s.U is None:
        return value_text(j), "" if s.unit == "°" else "mm"
    return value_text(j), with_unit(f"± {u_text(j)}", j)


def facts(j: Judged, result: Result) -> list[str]:
    """The lines under the value."""
    if j.kind == "attribute":
        return [f"Demand: {sentence(j.zone_text)}", recorded_text(j)]
    accept, s = acceptance_text(j), shown(j)
    bare = "Its uncertainty cannot be stated." if s.U is None and s.value is not None else ""
    zone = f"zone {zone_text(j)}" + (f", {accept}" if accept else "")
    return [line for line in (bare or interval_text(j), zone, beyond_text(j, result.belief_at)) if line]


def source_line(j: Judged) -> str:
    """Where on the drawing, measured by what."""
    by = f"measured by {', '.join(map(clean, j.measured_by))}" if j.measured_by else ""
    line = "; ".join(part for part in (register.place(j), register.marks(j), by) if part)
    return line[:1].upper() + line[1:] + "." if line else ""


def _about(j: Judged) -> str:
    line = f'<p class="cap">{escape(source_line(j))}</p>' if source_line(j) else ""
    return f'<div><div class="about"><h3>{escape(title(j))}</h3>{frame(j)}{verdict(j)}</div>{line}</div>'


def _lead(j: Judged, result: Result) -> str:
    value, beside = figures(j)
    lines = "<br>".join(escape(line) for line in facts(j, result))
    picture = strip(j, result.belief_at, height=76, axis=True, key=f"d-{slug(j.id)}", ghost=True)
    small = f" <small>{escape(beside)}</small>" if beside else ""
    return f'<div class="lead"><div><p class="fig">{value}{small}</p><p class="cap">{lines}</p></div>{picture}</div>'


def _pictures(j: Judged, result: Result) -> str:
    columns = [[p for p in column if p[1]] for column in pictures(j, result, shared=True)]
    cells = ["".join(_figure(*picture) for picture in column) for column in columns]
    return '<div class="pictures">' + "".join(f"<div>{cell}</div>" for cell in cells) + "</div>" if any(cells) else ""


def pictures(j: Judged, result: Result, *, shared: bool) -> tuple[list[tuple[str, str, str]], ...]:
    """Two columns of pictures, each with its head and caption; a drawing is empty where it cannot be made.

    With `shared` the drawings point to the grounds that the page holds once; without, each is whole and lower.
    """
    plan, levels = result.floor, result.belief_at
    place, above = "", ""
    if plan is not None and shared:
        place, above = where.where_it_is(plan, j, shared=BODY), floor.floor_plan(plan, j, shared=PLAN)
    elif plan is not None:
        place, above = where.where_it_is(plan, j, height=250.0), floor.floor_plan(plan, j, height=205.0)
    spot = ("Where it is", place, where.caption(j))
    heap = ("Twenty grains", grains(j, levels), grains_text(j, result))
    cloud = (cloud_title(j), axis.axis_cloud(j), axis.caption(j, result.draws))
    ground = ("The floor", above if j.where else "", floor.caption(plan) if plan else "")
    if place and cloud[1]:
        return [spot, heap], [cloud, ground]
    return ([spot], [cloud, heap, ground]) if place else ([heap], [cloud, ground])


def cloud_title(j: Judged) -> str:
    """What the cloud shows."""
    return "How far it may be out" if j.axis is not None and j.axis.width_only else "Where the axis may be"


def _figure(head: str, picture: str, caption: str) -> str:
    if not picture:
        return ""
    return f'<figure><h4>{head}</h4>{picture}<figcaption class="cap">{escape(caption)}</figcaption></figure>'


def _chain(j: Judged) -> str:
    lying = chain(j).replace('class="chain"', 'class="chain lying"', 1)
    head = "From reading to characteristic: share of the variance"
    return _figure(head, lying + standing_chain(j), chain_note(j)) if lying else ""


def chain_note(j: Judged) -> str:
    """What the rope stands for, and what the sources do not explain."""
    s = shown(j)
    total = with_unit(f"{value_text(j)} ± {u_text(j)}", j) if s.U is not None else "the uncertainty"
    return f"Width is variance; the whole rope stands for {total}. {remainder_text(j)}".strip()


def note_lines(j: Judged, result: Result) -> list[str]:
    """What has to be known with the number: its notes and how the drawing was read for it."""
    about = (j.id, j.name, j.characteristic, f"requirement {j.id}")
    read = [i.text for i in result.interpretations if i.about in about]
    held = [f"Datums: {clean(fixed_text(s))}." for s in result.datum_systems if j.id in s.requirements]
    return [*map(sentence, j.notes), *held, *(f"How it was read: {clean(text)}" for text in read)]


def _notes(j: Judged, result: Result) -> str:
    items = "".join(f"<li>{escape(note)}</li>" for note in note_lines(j, result))
    return f'<ul class="notes">{items}</ul>' if items else ""
