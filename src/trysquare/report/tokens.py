"""Colours, type and sizes of the look. Everything a drawing is made with comes from here; nothing else names a colour.

A drawing writes `var(--ink)`; the page resolves it by its style sheet, in light, dark and print, and `paint` resolves
it for files that have no style sheet (the pictures in the PDF).
"""

import re

#: Typefaces by name: labels and figures, titles and advice.
SANS, BOOK = "Atkinson Hyperlegible", "Literata"

#: Where the posts stand on a strip, of its width of 600: the same two places in every row.
POST_LOW, POST_HIGH, STRIP_WIDTH = 120.0, 480.0, 600.0

LIGHT = {
    # paper and ink; contrast on paper and on a sheet in brackets
    "paper": "#F6F2E9",
    "sheet": "#FFFDF8",
    "sunk": "#ECE6D9",
    "rule": "#D8D0BF",
    "edge": "#8A8272",
    "ink": "#1E2A30",  # text, figures, accept (13.2, 14.5)
    "ink-2": "#47545A",  # secondary text (7.0, 7.7)
    "ink-3": "#5F696C",  # captions (5.0, 5.5)
    "on-ink": "#FFFDF8",
    # two accents, only where somebody has to act
    "ask": "#4A3FA3",  # undecided, focus, you are here, predicted (7.4, 8.2)
    "ask-wash": "#E6E3F4",
    "stop": "#A5360C",  # reject, beyond a limit (6.0, 6.6)
    "stop-wash": "#F8E1D5",
    # the strip
    "zone": "#E9E2D2",
    "doubt": "#8A8272",
    "hump": "#727F82",
    "hump-line": "#FFFDF8",
    "zone-line": "none",
    "past": "#A5360C",
    "post": "#1E2A30",
    "unseen-line": "#6A7070",
    # deviation: neutral, three steps of extra and three of missing material (with dots), never a verdict
    "dev-0": "#EFE9DB",
    "dev-p1": "#E8CB8A",
    "dev-p2": "#C0913A",
    "dev-p3": "#7C5716",
    "dev-m1": "#B3D1D4",
    "dev-m2": "#62A0AB",
    "dev-m3": "#1F6577",
    "dev-dot": "#1E2A31",
    "dev-dot-3": "#EAF4F5",
}
DARK = LIGHT | {
    "paper": "#12181B",
    "sheet": "#1A2226",
    "sunk": "#263035",
    "rule": "#354146",
    "edge": "#7C8788",
    "ink": "#ECE6D9",
    "ink-2": "#BFBDB3",
    "ink-3": "#9DA09A",
    "on-ink": "#12181B",
    "ask": "#B9B1F7",
    "ask-wash": "#2D2B4A",
    "stop": "#FF9E75",
    "stop-wash": "#43281D",
    "zone": "#2E393E",
    "doubt": "#849091",
    "hump": "#93A0A2",
    "hump-line": "#1A2226",
    "past": "#FF9E75",
    "post": "#ECE6D9",
    "unseen-line": "#9AA09C",
    "dev-0": "#4A5253",
    "dev-p1": "#7D6127",
    "dev-p2": "#BC9042",
    "dev-p3": "#F3D491",
    "dev-m1": "#3C6D79",
    "dev-m2": "#62A3B2",
    "dev-m3": "#B4E2EA",
    "dev-dot": "#0B0F11",
    "dev-dot-3": "#0B0F11",
}
#: In print a light hump with an ink outline and an outlined zone: a 1-bit printer keeps both.
PRINT = LIGHT | {
    "paper": "#FFFFFF",
    "sheet": "#FFFFFF",
    "on-ink": "#FFFFFF",
    "ink-3": "#47545A",
    "hump": "#C3CBCC",
    "hump-line": "#1E2A30",
    "zone-line": "#8A8272",
}

#: Type sizes (rem) and spaces (px) of the page.
TYPE = {"t-1": 0.75, "t-2": 0.875, "t-3": 1.0, "t-4": 1.25, "t-5": 1.625, "t-6": 2.5}
SPACE = {"s-1": 4, "s-2": 8, "s-3": 12, "s-4": 16, "s-5": 24, "s-6": 40, "s-7": 64}

_VAR = re.compile(r"var\(--([\w-]+)\)")


def paint(svg: str, theme: dict[str, str], *, ink: str = "ink") -> str:
    """A drawing that stands alone: colours resolved, typeface named, name space given; `ink` is its current colour."""
    plain = _VAR.sub(lambda match: theme[match[1]], svg).replace("currentColor", theme[ink])
    return plain.replace("<svg ", f'<svg xmlns="http://www.w3.org/2000/svg" font-family="{SANS}" ', 1)


def style_sheet() -> str:
    """The custom properties of the page: light, dark by preference, print."""
    sizes = {name: f"{value}rem" for name, value in TYPE.items()} | {
        name: f"{value}px" for name, value in SPACE.items()
    }
    sizes |= {
        "sans": f'"{SANS}","Noto Sans","DejaVu Sans",sans-serif',
        "book": f'"{BOOK}","Noto Serif","DejaVu Serif",serif',
        "radius": "2px",
        "touch": "48px",
        "quick": "120ms",
    }
    dark = "".join(f"--{name}:{value};" for name, value in DARK.items() if value != LIGHT[name])
    printed = "".join(f"--{name}:{value};" for name, value in PRINT.items() if value != LIGHT[name])
    return (
        f":root{{color-scheme:light dark;{_declared(LIGHT | sizes)}}}\n"
        f"@media screen and (prefers-color-scheme:dark){{:root{{{dark}}}}}\n"
        f"@media print{{:root{{color-scheme:light;{printed}}}}}\n"
    )


def _declared(names: dict[str, str]) -> str:
    return "".join(f"--{name}:{value};" for name, value in names.items())
