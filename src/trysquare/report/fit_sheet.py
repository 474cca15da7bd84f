"""The picture of a fit: points, fitted shape, residuals magnified, contacts marked; as SVG, PNG or PDF."""

from dataclasses import replace
from math import degrees

import numpy as np

from ..geometry.association import Association
from .fit_map import patterns
from .fit_marks import NAMED, beyond, contacts
from .fit_scale import places
from .fit_views import WIDTH, moved, views
from .fonts import book, fitted, sans, wrap
from .format import clean, figure
from .svg import drawing, num, text
from .tokens import BOOK

_MARGIN = 32.0
SHEET = WIDTH + 2 * _MARGIN  # its whole width
_ROUNDING = 1e-9  # mm, residuals below which there is nothing but rounding
_FORM = {
    "line": "straightness", "plane": "flatness", "circle": "roundness", "sphere": "sphericity",
    "cylinder": "cylindricity",
}  # fmt: skip

_SIZES = (
    ("radius_mm", "diameter"), ("major_radius_mm", "large radius"), ("minor_radius_mm", "small radius"),
    ("half_angle_rad", "half angle"),
)  # fmt: skip


def sheet(a: Association, file: str) -> str:
    """The whole sheet as one drawing; `file` is where the points came from."""
    a = _within(_without_rounding(a))
    body, y = _head(a, file)
    words: list[str] = []
    for view in views(a):
        body += moved(view.body, _MARGIN, y)
        y += view.height + 20
        words += view.words
    for line in wrap(" ".join([*filter(None, words), _proof(a), _filtered(a)]).strip(), WIDTH, 13):
        body += text(_MARGIN, y + 4, line, size=13, fill="ink-2")
        y += 18
    height, width = y + _MARGIN - 10, SHEET
    ground = f'<rect width="{num(width)}" height="{num(height)}" fill="var(--sheet)"/>'
    label = f"{_title(a)}: form {figure(a.form_mm, places(a.form_mm))} mm"
    return drawing(ground + patterns() + body, width, height, label, kind="fit")


def _without_rounding(a: Association) -> Association:
    """The same with residuals of 0 where there is nothing else in them."""
    if np.abs(a.residuals_mm).max() > _ROUNDING:
        return a
    return replace(a, form_mm=0.0, residuals_mm=np.zeros(len(a.residuals_mm)), fit=None)


def _within(a: Association) -> Association:
    """The same with points that were set aside drawn at the edge of what the others show."""
    if not len(a.set_aside) or a.fit is None or (a.shape == "line" and a.points_mm.shape[1] == 3):
        return a
    good = np.delete(a.residuals_mm, a.set_aside)
    return replace(a, residuals_mm=np.clip(a.residuals_mm, good.min(), good.max()))


def _title(a: Association) -> str:
    return f"{a.shape.capitalize()}, {a.method.replace('-', ' ').replace('one sided', 'one-sided')}"


def _head(a: Association, file: str) -> tuple[str, float]:
    """Title, origin, and the figures one came for."""
    title, y = _title(a), _MARGIN + 22
    out = f'<text x="{num(_MARGIN)}" y="{num(y)}" font-size="26" font-family="{BOOK}" fill="var(--ink)">{title}</text>'
    n = len(a.points_mm)
    origin = f"{n} points, {clean(file)}"
    size = fitted(origin, 14, WIDTH - book().width(title, 26) - 24, bold=False)
    out += text(_MARGIN + WIDTH, y, origin, size=size, fill="ink-2", anchor="end")
    out += f'<path d="M{num(_MARGIN)} {num(y + 14)}h{num(WIDTH)}" stroke="var(--ink)" stroke-width="1.6"/>'
    x, y = _MARGIN, y + 56
    for i, (value, name) in enumerate(_figures(a)):
        size = 30.0 if i == 0 else 20.0
        out += text(x, y, value, size=size, fill="ink", bold=True) + text(x, y + 18, name, size=13, fill="ink-2")
        x += max(sans(bold=True).width(value, size), sans().width(name, 13)) + 36
    return out, y + 44


def _figures(a: Association) -> list[tuple[str, str]]:
    """The form first, then the sizes of the shape."""
    n = places(a.form_mm)
    word = _FORM.get(a.shape, "form") if a.method == "minimum-zone" else "form"
    if a.shape == "line" and a.points_mm.shape[1] == 3:
        word += ", diameter"
    out = [(figure(a.form_mm, n), f"{word}, mm")]
    out += [_size(a, name, word, min(n, 5)) for name, word in _SIZES if name in a.parameters]
    return out


def _size(a: Association, name: str, word: str, n: int) -> tuple[str, str]:
    """A size with its standard uncertainty where there is one."""
    factor, mark, unit = {"radius_mm": (2.0, "Ø ", ", mm"), "half_angle_rad": (degrees(1), "", "")}.get(
        name, (1.0, "", ", mm")
    )
    n = n if unit else 5
    value, u = float(a.parameters[name]) * factor, 0.0 if a.told is None else float(a.told.u[name]) * factor
    word = "diameter at its point" if a.shape == "cone" and factor == 2.0 else word
    said = f"; u {figure(u, places(u, 2))}{'' if unit else '°'}" if u > _ROUNDING else ""
    return f"{mark}{figure(value, n)}{'' if unit else '°'}", f"{word}{unit}{said}"


def _proof(a: Association) -> str:
    """What the marks are and what they prove; which points had no say."""
    if a.certificate is None:
        n = len(a.set_aside)
        where = ", drawn at the edge (lozenges) with how far off they lie" if beyond(a) else ""
        few = f"; {NAMED} of them are marked" if n > NAMED and where else ""
        return f"Set aside by the loss: {n} point{'s' * (n > 1)}{where}{few}." if n else ""
    inner = any(c.side < 0 for c in contacts(a))
    outer = any(c.side > 0 for c in contacts(a))
    marks = " and ".join([*(["discs"] if outer else []), *(["rings"] if inner else [])])
    held = f"The numbered {marks} are the points that hold it (counted from 1)." if marks else ""
    return f"{held} Optimum: {a.certificate.kind}."


def _filtered(a: Association) -> str:
    return "" if a.filtered is None else f"Filtered first: {a.filtered}"
