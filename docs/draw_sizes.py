"""Draw the picture of docs/methods/sizes.md from what the functions give: `python -m docs.draw_sizes`."""

from pathlib import Path

import numpy as np

from trysquare.core.arrays import Array
from trysquare.geometry import (
    circumscribed_circle,
    cylinder_two_point_sizes,
    find_sections,
    fit_cylinder,
    global_size,
    inscribed_circle,
    mating_size,
    section_two_point_sizes,
    spherical_sizes,
)
from trysquare.report.svg import drawing, text, trace
from trysquare.report.tokens import LIGHT, paint

PICTURE = Path(__file__).parent / "pictures" / "sizes.svg"
WIDTH, HEIGHT = 760, 590
UP = [0.0, 0.0, 1.0]
HEIGHTS = (-20.0, -10.0, 0.0, 10.0, 20.0)
_ANGLES = np.arange(36) * (np.pi / 18)


def made() -> str:
    """The picture as text."""
    body = f'<rect width="{WIDTH}" height="{HEIGHT}" fill="var(--sheet)"/>' + _lobes() + _table() + _bow()
    label = (
        "A bore with three lobes, its inscribed and circumscribed circle and its sizes; a bent shaft in its envelope"
    )
    return paint(drawing(body, WIDTH, HEIGHT, label), LIGHT) + "\n"


def surface(radius: Array, bow_mm: float = 0.0) -> Array:
    """Rings of the given radii (36,) at five heights, their centres bowed along x."""
    rings = []
    for z in HEIGHTS:
        x = radius * np.cos(_ANGLES) + bow_mm * (1 - (z / 20) ** 2)
        rings.append(np.column_stack([x, radius * np.sin(_ANGLES), np.full(36, z)]))
    return np.concatenate(rings)


LOBED = surface(25 + 0.01 * np.cos(3 * _ANGLES + 0.5))
BENT = surface(np.full(36, 10.0), bow_mm=0.1)


def _path(xy: Array, *, color: str = "ink", width: float = 1.5, dash: str = "", close: bool = False) -> str:
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    data = trace(((float(x), float(y)) for x, y in xy), close=close)
    return f'<path d="{data}" fill="none" stroke="var(--{color})" stroke-width="{width}"{dashes}/>'


def _lobes() -> str:
    """The section, its form 3 000 times as large, and the circles that touch it."""
    ring = LOBED[:36, :2]
    middle, scale, grow = np.array([180.0, 210.0]), 120.0 / 25.0, 3000.0

    def at(xy: Array) -> Array:
        r = np.linalg.norm(xy, axis=1, keepdims=True)
        return middle + xy / r * (25 + grow * (r - 25) / 4.8) * scale * np.array([1.0, -1.0])

    t = np.linspace(0, 2 * np.pi, 361)
    turn = np.column_stack([np.cos(t), np.sin(t)])
    around, inside = circumscribed_circle(ring), inscribed_circle(ring)
    form = turn * (25 + 0.01 * np.cos(3 * t + 0.5))[:, None]
    parts = [text(20, 34, "A bore with three lobes, form magnified", size=15, fill="ink", bold=True)]
    parts += [
        _path(at(around.center_mm + around.radius_mm * turn), color="ink-2", dash="7 3"),
        _path(at(inside.center_mm + inside.radius_mm * turn), color="ink-2", dash="2 3"),
        _path(at(form), width=2.2, close=True),
        _path(at(np.array([form[60], form[240]])), color="edge", width=1.2),
    ]
    parts += [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.6" fill="var(--ink)"/>' for x, y in at(ring)]
    parts.append(text(20, 388, "dashed: smallest around; dotted: largest inside; thin: a two-point size", size=12))
    return "".join(parts)


def _table() -> str:
    """The sizes as found."""
    fit = fit_cylinder(LOBED, toward=UP)
    two_point = cylinder_two_point_sizes(LOBED, fit, tolerance_rad=0.01).size_mm
    rows = [("two-point, every one", "LP", float(two_point.max()))]
    names = {"GG": "least squares", "GC": "minimax", "GN": "minimum circumscribed", "GX": "maximum inscribed"}
    rows += [(name, m, float(global_size(LOBED, m, toward=UP).size_mm)) for m, name in names.items()]
    rows.append(("spherical, half way", "LS", float(spherical_sizes(LOBED, fit, [0.0]).size_mm[0])))
    left, parts = 400.0, [text(400, 92, "Its sizes, mm", size=13, fill="ink", bold=True)]
    for k, (name, modifier, size) in enumerate(rows):
        y = 124.0 + 34 * k
        parts += [text(left, y, name, size=13), text(left + 190, y, modifier, size=13)]
        parts.append(text(left + 300, y, f"{size:.3f}", size=14, fill="ink", anchor="end"))
        parts.append(_path(np.array([[left, y + 9], [left + 300, y + 9]]), color="rule", width=1))
    return "".join(parts)


def _bow() -> str:
    """A bent shaft, its bow magnified, between the lines of its envelope."""
    fit = fit_cylinder(BENT, toward=UP)
    sections = find_sections(BENT, fit, within_mm=1.0)
    local = section_two_point_sizes(BENT, fit, sections, tolerance_rad=0.01).size_mm
    mating = float(mating_size(BENT, external=True, toward=UP).size_mm)
    z = np.linspace(-20, 20, 81)
    left, middle, along, across, grow = 60.0, 516.0, 10.0, 4.2, 150.0
    bow = 0.1 * (1 - (z / 20) ** 2)
    x = left + (z + 20) * along
    parts = [text(20, 426, "A bent shaft, its bow magnified", size=15, fill="ink", bold=True)]
    for side in (1, -1):
        edge = middle - side * 10 * across - bow * grow
        parts.append(_path(np.column_stack([x, edge]), width=2.2))
        limit = middle - side * 10 * across - (grow * (mating - 20) if side > 0 else 0.0)
        parts.append(_path(np.array([[x[0] - 20, limit], [x[-1] + 20, limit]]), color="ink-2", dash="7 3"))
    parts += [
        text(x[-1] + 34, middle - 14, "each section", size=13), text(740, middle - 14, f"{local.max():.3f}", size=14,
        fill="ink", anchor="end"), text(x[-1] + 34, middle + 14, "mating size, dashed", size=13),
        text(740, middle + 14, f"{mating:.3f}", size=14, fill="ink", anchor="end"),
    ]  # fmt: skip
    return "".join(parts)


if __name__ == "__main__":
    PICTURE.write_text(made(), encoding="utf-8")
    print("docs/pictures/sizes.svg")
