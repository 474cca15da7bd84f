"""The map of a surface: each place coloured by its residual, extremes as spot heights; the histogram is the key."""

from dataclasses import dataclass

import numpy as np

from ..core.arrays import Array
from .fit_marks import Contact, labels, ring
from .fit_places import outer
from .fit_scale import places, signed_mm, step_above
from .format import plain
from .outline import hull
from .svg import Point, num, text, trace

_BANDS = ("dev-m3", "dev-m2", "dev-m1", "dev-0", "dev-p1", "dev-p2", "dev-p3")
CELLS = 4000  # points from which a square shows the one that lies furthest
_SQUARE = 7.0


@dataclass(frozen=True)
class Map:
    """What a map shows: places (n, 2) in pixels, residuals (n) mm, contacts, and the outline of the
    surface as path data ("" for the hull of the points), which also cuts the squares.
    """

    xy: Array
    residuals: Array
    contacts: list[Contact]
    outline: str = ""


def band_step(residuals: Array) -> float:
    """Width (mm) of one band: three of them and a bit reach over the residuals; 0 where all are alike."""
    largest = float(np.abs(residuals).max())
    return step_above(largest / 3.5) if largest > 0 else 0.0


def bands(residuals: Array, step: float) -> Array:
    """The band (n) of each residual, 0 to 6; 3 is the neutral one, within half a step."""
    if not step > 0:
        return np.full(len(residuals), 3)
    return np.clip(np.round(residuals / step), -3, 3).astype(int) + 3


def patterns() -> str:
    """The fills of the three steps of missing material: their colour with dots, so that sign is a texture as well."""
    out = ""
    for k, dot in (("m1", "dev-dot"), ("m2", "dev-dot"), ("m3", "dev-dot-3")):
        out += (
            f'<pattern id="{k}" width="4" height="4" patternUnits="userSpaceOnUse"><rect width="4" height="4" '
            f'fill="var(--dev-{k})"/><circle cx="2" cy="2" r=".75" fill="var(--{dot})"/></pattern>'
        )
    return f"<defs>{out}</defs>"


def fill(band: int) -> str:
    """How a band is filled."""
    name = _BANDS[band]
    return f"url(#{name[4:]})" if name.startswith("dev-m") else f"var(--{name})"


def surface(m: Map) -> str:
    """The map, in the pixels of its places."""
    step = band_step(m.residuals)
    body = ""
    if m.outline:
        body += f'<path d="{m.outline}" fill="var(--sheet)" stroke="var(--ink)" stroke-width="1.4"/>'
    elif len(corners := hull([_pair(row) for row in m.xy[outer(m.xy, CELLS)]])) > 2:
        body += f'<path d="{trace(corners, close=True)}" fill="var(--sunk)" fill-opacity=".45"/>'
    body += _squares(m, step) if len(m.xy) > CELLS else _discs(m, step)
    body += "".join(ring(_pair(m.xy[c.index]), c) for c in m.contacts)
    return body + _heights(m)


def _pair(row: Array) -> Point:
    return float(row[0]), float(row[1])


def _discs(m: Map, step: float) -> str:
    """A disc for every point, the furthest drawn last."""
    r = round(float(np.clip(0.45 * _spacing(m.xy), 2.2, 8.0)), 1)
    line = 0.7 if r > 2.5 else 0.35
    k, out = bands(m.residuals, step), ""
    for band in sorted(range(7), key=lambda b: abs(b - 3)):
        data = "".join(
            f"M{num(x - r)} {num(y)}a{num(r)} {num(r)} 0 1 0 {num(2 * r)} 0a{num(r)} {num(r)} 0 1 0 {num(-2 * r)} 0z"
            for x, y in m.xy[k == band]
        )
        if data:
            out += f'<path d="{data}" fill="{fill(band)}" stroke="var(--ink)" stroke-width="{line}"/>'
    return out


def _spacing(xy: Array) -> float:
    """The typical distance of a place from its nearest neighbour."""
    from scipy.spatial import KDTree

    if len(xy) < 2:
        return 16.0
    apart = np.asarray(KDTree(xy).query(xy, k=2)[0])
    return float(np.median(apart[:, 1]))


def _squares(m: Map, step: float) -> str:
    """Of many points: in each small square the residual that lies furthest from 0."""
    cell = np.floor(m.xy / _SQUARE).astype(np.int64)
    order = np.lexsort((np.abs(m.residuals), cell[:, 1], cell[:, 0]))
    last = np.flatnonzero(np.r_[np.any(np.diff(cell[order], axis=0) != 0, axis=1), True])
    kept = order[last]
    k, out = bands(m.residuals[kept], step), ""
    for band in range(7):
        s = num(_SQUARE)
        data = "".join(f"M{num(x * _SQUARE)} {num(y * _SQUARE)}h{s}v{s}h-{s}z" for x, y in cell[kept][k == band])
        if data:
            out += f'<path d="{data}" fill="{fill(band)}"/>'
    if not m.outline:
        return out
    edge = f'<path d="{m.outline}" fill="none" stroke="var(--ink)" stroke-width="1.4"/>'
    return f'<clipPath id="cut"><path d="{m.outline}"/></clipPath><g clip-path="url(#cut)">{out}</g>{edge}'


def _heights(m: Map) -> str:
    """Spot heights: the furthest on each side; contacts carry their numbers."""
    n = places(float(np.ptp(m.residuals)))
    if m.contacts:
        return labels([(_pair(m.xy[c.index]), _beside(m, c.index), c.name) for c in m.contacts])
    furthest = dict.fromkeys((int(m.residuals.argmax()), int(m.residuals.argmin())))
    out = ""
    for x, y in map(_pair, m.xy[list(furthest)]):
        out += f'<circle cx="{num(x)}" cy="{num(y)}" r="9" fill="none" stroke="var(--ink)" stroke-width="1.6"/>'
    return out + labels([(_pair(m.xy[i]), _beside(m, i), signed_mm(float(m.residuals[i]), n)) for i in furthest])


def _beside(m: Map, i: int) -> Point:
    """Which way from its mark a figure lies: above, at the upper edge below; away from the left and right edge."""
    (x, y), left, right = _pair(m.xy[i]), float(m.xy[:, 0].min()), float(m.xy[:, 0].max())
    side = 0.6 if x < left + 30 else -0.6 if x > right - 30 else 0.0
    return side, 1.0 if y < float(m.xy[:, 1].min()) + 16 else -1.0


def key(residuals: Array, width: float, height: float, held: tuple[float, float]) -> str:
    """The histogram of the residuals, standing on the bands that are the key of the map; posts where the zone ends."""
    step = band_step(residuals)
    if not step > 0:
        return text(0, height / 2, "All residuals are 0.", size=12, fill="ink-3")
    reach, ground = 3.5 * step, height - 34.0

    def at(x: float) -> float:
        return (x + reach) / (2 * reach) * width

    body = ""
    for band in range(7):
        x = at((band - 3.5) * step)
        body += f'<rect x="{num(x)}" y="{num(ground)}" width="{num(width / 7)}" height="14" fill="{fill(band)}"/>'
    body += _bars(_within(residuals, held, step), reach, width, ground)
    body += f'<path d="M0 {num(ground)}H{num(width)}" stroke="var(--ink)"/>'
    for end in held:
        post = num(at(min(max(end, -reach), reach)))
        body += f'<path d="M{post} 0V{num(ground + 14)}" stroke="var(--post)" stroke-width="2.6"/>'
    for k in range(-3, 4):
        words = plain(round(k * step, 12)) + (" mm" if k == 0 else "")
        words = f"+{words}" if k > 0 else words
        body += text(at(k * step), ground + 30, words, size=12, fill="ink-3", anchor="middle")
    return body


def _within(residuals: Array, held: tuple[float, float], step: float) -> Array:
    """The residuals, those that touch the upper post counted on its inner side."""
    touching = np.abs(residuals - held[1]) < 1e-6 * step
    return np.where(touching, held[1] - 1e-6 * step, residuals)


def _bars(residuals: Array, reach: float, width: float, ground: float) -> str:
    counts, edges = np.histogram(residuals, bins=28, range=(-reach, reach))
    out = ""
    for count, left in zip(counts, edges[:-1], strict=True):
        if count:
            tall = (ground - 6) * count / counts.max()
            x = (left + reach) / (2 * reach) * width
            out += f"M{num(x)} {num(ground)}v{num(-tall)}h{num(width / 28)}v{num(tall)}z"
    return f'<path d="{out}" fill="var(--dev-0)" stroke="var(--ink)" stroke-width=".8"/>'
