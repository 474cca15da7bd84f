"""Signs. A verdict is a mark and the limit that it was judged against: a disc held between two posts (accept), half a
disc caught on one (undecided), a lozenge beyond it (reject); mirrored when the low limit decides."""

from html import escape

_VERDICT = {
    "accept": '<path d="M2 2h2.6v20H2zM19.4 2H22v20h-2.6z" fill="currentColor"/>'
    '<circle cx="12" cy="12" r="5.9" fill="currentColor"/>',
    "undecided": '<path d="M10.7 1h2.6v22h-2.6zM8.9 4.6a8 8 0 0 0 0 14.8z" fill="currentColor"/>'
    '<path d="M15.1 4.9a7.7 7.7 0 0 1 0 14.2" fill="none" stroke="currentColor" stroke-width="1.9"/>',
    "reject": '<path d="M2 2h2.6v20H2zM14.6 3.6l8.2 8.4-8.2 8.4L6.6 12z" fill="currentColor"/>',
}

#: The colour that goes with a verdict.
INK = {"accept": "ink", "undecided": "ask", "reject": "stop"}

# Characteristic symbols of ISO 1101 on a grid of 24; Those of dimensions and attributes are ours,
# for what has no frame symbol.
_SYMBOL = {
    "straightness": "M3 12h18",
    "flatness": "M8 6h14l-6 12H2z",
    "roundness": "M12 5a7 7 0 1 0 0 14a7 7 0 1 0 0-14",
    "cylindricity": "M12 7a5 5 0 1 0 0 10a5 5 0 1 0 0-10M3 19L10 3M14 21L21 5",
    "parallelism": "M5 20L12 4M12 20L19 4",
    "perpendicularity": "M3 20h18M12 20V4",
    "angularity": "M21 20H3L19 5",
    "position": "M12 3v18M3 12h18M12 6.5a5.5 5.5 0 1 0 0 11a5.5 5.5 0 1 0 0-11",
    "surface profile": "M3 17a9 9 0 0 1 18 0zM3 17h18",
    "size": "M4 4v16M20 4v16M4.5 12h15M4.5 12l4-3M4.5 12l4 3M19.5 12l-4-3M19.5 12l-4 3",
    "radius": "M4 20A16 16 0 0 1 20 4M20 20L9 9M9 9v5M9 9h5",
    "distance": "M6.6 12h10.8M4.2 9.8a2.3 2.3 0 1 0 0 4.5a2.3 2.3 0 1 0 0-4.5M19.8 9.8a2.3 2.3 0 1 0 0 4.5"
    "a2.3 2.3 0 1 0 0-4.5",
    "angle": "M21 19H3L17 4M13.5 19a10.5 10.5 0 0 0-3.4-7.6",
    "gauge": "M3 9h5v6H3zM16 8h5v8h-5zM8 12h8",
    "thread": "M7 3v18M17 3v18M7 8l10-4M7 13l10-4M7 18l10-4M9 21l8-3",
    "visual": "M2 12q10-12 20 0q-10 12-20 0M12 9a3 3 0 1 0 0 6a3 3 0 1 0 0-6",
    "other": "M12 9a3 3 0 1 0 0 6a3 3 0 1 0 0-6",
}


def verdict_mark(verdict: str, side: int = 1) -> str:
    """The mark of a verdict, in the current colour; the word always stands beside it."""
    flip = ' transform="matrix(-1 0 0 1 24 0)"' if side < 0 else ""
    return f'<svg class="mark" viewBox="0 0 24 24" aria-hidden="true"><g{flip}>{_VERDICT[verdict]}</g></svg>'


def symbol(characteristic: str) -> str:
    """The symbol of a characteristic, with its name as spoken label."""
    key = characteristic.replace("_", " ")
    shape = _SYMBOL.get(key, _SYMBOL["other"])
    return (
        f'<svg class="sym" viewBox="0 0 24 24" role="img" aria-label="{escape(key)}">'
        f'<path d="{shape}" fill="none" stroke="currentColor" stroke-width="1.7"/></svg>'
    )
