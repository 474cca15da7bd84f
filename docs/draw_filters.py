"""Draw the picture of docs/methods/filters.md from what the filters do: `python -m docs.draw_filters`."""

import math
from pathlib import Path

import numpy as np

from trysquare.core.arrays import Array
from trysquare.geometry import (
    GAUSSIAN_LIKE,
    gaussian_closed,
    gaussian_profile,
    gaussian_transmission,
    robust_gaussian_profile,
    spline_transmission,
)
from trysquare.report.svg import drawing, hatch, text, trace
from trysquare.report.tokens import LIGHT, paint

PICTURE = Path(__file__).parent / "pictures" / "filters.svg"
WIDTH, HEIGHT = 760, 640
CUTOFF, SPACING = 0.8, 0.01


def made() -> str:
    """The picture as text."""
    body = f'<rect width="{WIDTH}" height="{HEIGHT}" fill="var(--sheet)"/>' + _curves() + _ring() + _profile()
    label = "Share of the amplitude that passes; a ring at 15 undulations per revolution; a profile with a scratch"
    return paint(drawing(body, WIDTH, HEIGHT, label), LIGHT) + "\n"


def _line(x: Array, y: Array, *, color: str = "ink", width: float = 1.5, dash: str = "", close: bool = False) -> str:
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    data = trace(zip(x.tolist(), y.tolist()), close=close)
    return f'<path d="{data}" fill="none" stroke="var(--{color})" stroke-width="{width}"{dashes}/>'


def _curves() -> str:
    """Transmission against wavelength over cut-off: curves by formula, dots by filtering waves."""
    left, right, top, bottom = 40.0, 420.0, 70.0, 290.0
    ratio = np.geomspace(0.2, 6.0, 200)

    def at(r: Array, share: Array) -> tuple[Array, Array]:
        return left + (right - left) * np.log(r / 0.2) / math.log(30.0), bottom - (bottom - top) * share

    parts = [text(20, 34, "Share of the amplitude in the long-wave part", size=15, fill="ink", bold=True)]
    parts += [
        _line(*at(ratio, gaussian_transmission(ratio)), width=2.2),
        _line(*at(ratio, gaussian_transmission(ratio, order=2)), color="ink-2", dash="7 3"),
        _line(*at(ratio, spline_transmission(ratio, samples=80)), color="ink-2", dash="2 3"),
        _line(*at(ratio, spline_transmission(ratio, samples=80, tension=GAUSSIAN_LIKE)), color="edge", width=1.2),
    ]
    tested = np.array([0.4, 0.55, 0.75, 1.0, 1.4, 2.0, 3.0, 5.0])
    parts += [_dot(*at(r, _measured(float(r)))) for r in tested]
    (one,), (half,) = at(np.array([1.0]), np.array([0.5]))
    parts.append(_line(np.array([one, one]), np.array([top - 6, bottom]), width=2.2))
    parts.append(text(one + 6, top + 2, "cut-off", size=13))
    parts.append(text(one - 9, half + 2, "50 %", size=13, anchor="end", halo=4))
    for r in (0.2, 0.5, 1.0, 2.0, 5.0):
        parts.append(text(float(at(np.array(r), np.array(0.0))[0]), bottom + 18, f"{r:g}", size=12, anchor="middle"))
    parts.append(text((left + right) / 2, bottom + 36, "wavelength / cut-off", size=12, anchor="middle"))
    parts.append(_line(np.array([left, right]), np.array([bottom, bottom]), color="edge", width=1))
    x, y = at(np.array([1.32, 1.32, 1.32, 1.32]), np.array([0.38, 0.29, 0.20, 0.11]))
    names = ("Gaussian, dots: as filtered", "order 2, long dashes", "spline, dotted", "spline with tension, thin")
    parts += [text(float(a), float(b), name, size=13, halo=3) for a, b, name in zip(x, y, names)]
    return "".join(parts)


def _measured(ratio: float) -> Array:
    """Amplitude that the filter leaves of a wave, from its middle."""
    x = np.arange(4000) * SPACING
    wave = np.cos(2 * np.pi * x / (ratio * CUTOFF))
    long = gaussian_profile(wave, cutoff_mm=CUTOFF, spacing_mm=SPACING).long_mm[500:-500]
    return np.asarray((long @ wave[500:-500]) / (wave[500:-500] @ wave[500:-500]))


def _dot(x: Array, y: Array) -> str:
    return f'<circle cx="{float(x):.1f}" cy="{float(y):.1f}" r="3.4" fill="var(--ink)"/>'


def _ring() -> str:
    """A lobed ring, residuals magnified, and its form at 15 UPR."""
    angle = np.arange(1440) * 2 * math.pi / 1440
    rng = np.random.default_rng(7)
    raw = 9.0 * np.cos(3 * angle + 0.5) + 3.0 * np.cos(7 * angle) + 2.2 * np.cos(95 * angle) + rng.normal(0, 1.0, 1440)
    long = gaussian_closed(raw, cutoff_upr=15).long_mm
    cx, cy, radius = 590.0, 180.0, 98.0
    parts = [text(470, 34, "A ring at 15 UPR, form magnified", size=15, fill="ink", bold=True)]
    for heights, color, width in ((raw, "edge", 0.7), (long, "ink", 2.0)):
        x, y = cx + (radius + heights) * np.cos(angle), cy - (radius + heights) * np.sin(angle)
        parts.append(_line(x, y, color=color, width=width, close=True))
    parts.append(text(cx, cy - 4, f"roundness {np.ptp(raw):.0f} before,", size=13, anchor="middle"))
    parts.append(text(cx, cy + 14, f"{np.ptp(long):.0f} at 15 UPR", size=13, anchor="middle"))
    return "".join(parts)


def _profile() -> str:
    """A profile with a slope and a scratch: linear and robust, and what the ends touch."""
    x = np.arange(560) * SPACING
    rng = np.random.default_rng(3)
    heights = 8.0 * x + 5.0 * np.cos(2 * np.pi * x / 3.1) + rng.normal(0, 1.1, 560)
    heights[300:318] -= 36.0
    linear = gaussian_profile(heights, cutoff_mm=CUTOFF, spacing_mm=SPACING)
    level = gaussian_profile(heights, cutoff_mm=CUTOFF, spacing_mm=SPACING, order=0)
    robust = robust_gaussian_profile(heights, cutoff_mm=CUTOFF, spacing_mm=SPACING)
    left, right, middle = 40.0, 720.0, 500.0
    u = left + (right - left) * x / x[-1]

    def down(z: Array) -> Array:
        return middle - 2.6 * (z - 21.0)

    parts = [text(20, 372, "A profile with a slope and a scratch", size=15, fill="ink", bold=True)]
    for a, b in ((u[0], u[40]), (u[-41], u[-1])):
        parts.append(f'<path d="{hatch(float(a), float(b), 396, 600)}" stroke="var(--rule)" fill="none"/>')
    parts.append(_line(u, down(heights), color="edge", width=0.8))
    parts.append(_line(u, down(level.long_mm), color="ink-2", width=1.4, dash="2 3"))
    parts.append(_line(u, down(linear.long_mm), width=1.6, dash="7 3"))
    parts.append(_line(u, down(robust.long_mm), width=2.4))
    parts.append(_line(u[[0, 80]], np.array([608.0, 608.0]), width=2.2))
    parts.append(text(float(u[86]), 612, "cut-off; hatched: half of it at each end", size=13))
    parts.append(text(float(u[325]), 590, "scratch: the linear filter (dashes) spreads it,", size=13))
    parts.append(text(float(u[325]), 606, "the robust one (full) does not", size=13))
    parts.append(text(float(u[46]), 420, "dotted: order 0, whose ends are pulled level", size=13))
    return "".join(parts)


if __name__ == "__main__":
    PICTURE.write_text(made(), encoding="utf-8")
    print("docs/pictures/filters.svg")
