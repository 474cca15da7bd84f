"""The choice as one page that opens offline."""

from html import escape
from pathlib import Path

from .choice import Choice, matrix
from .costs import cost_plot
from .detail import said
from .format import clean
from .html import framed

_KEY = (
    ("holds", "enough of the zone is left for the maker", '<path d="M0 5H64" stroke="var(--ink)" stroke-width="5"/>'),
    ("holds if", "only with the action named",
     '<path d="M0 5H64" stroke="var(--ask)" stroke-width="5" stroke-dasharray="5 2.5"/>'),
    ("send out", "doubt fills the zone",
     '<path d="M0 9L8 1M10 9L18 1M20 9L28 1M30 9L38 1M40 9L48 1M50 9L58 1" stroke="var(--doubt)" stroke-width="2"/>'),
)  # fmt: skip


def choice_page(choice: Choice) -> bytes:
    """The page as UTF-8: the matrix, the sentence with its key, cost against requirements held."""
    plot = cost_plot(choice)
    figure = f"<figure><h4>Cost a part against requirements held</h4>{plot}</figure>" if plot else ""
    key = "".join(
        f'<span><svg viewBox="0 0 70 10" aria-hidden="true">{mark}</svg><b>{word}</b><br>'
        f'<span class="cap">{what}</span></span>'
        for word, what, mark in _KEY
    )
    notes = "".join(f"<li>{escape(clean(note))}</li>" for note in choice.notes)
    style = Path(__file__).with_name("choice.css").read_text(encoding="utf-8")
    body = (
        f"<style>\n{style}</style>"
        f'<header class="top"><h1>{escape(clean(choice.title))}</h1>'
        f'<span class="quiet">{escape(clean(choice.place))}</span></header><main>{matrix(choice)}'
        f'<div class="under"><div>{said(list(choice.say))}<div class="key">{key}</div></div>'
        f"{figure}</div></main>" + (f'<ul class="notes">{notes}</ul>' if notes else "")
    )
    return framed(clean(choice.title), body, script=False).encode()
