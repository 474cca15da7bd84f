"""Where the axis, centre or plane may be against its zone, seen along the axis: draws as dots, lozenges beyond."""

import math

from ..jobs.result import AxisCloud, Judged
from .format import clean, plain, shown
from .svg import Point, dots, drawing, lozenges, num, text

_SIDE, _FIT = 260.0, 100.0
_MOST = 200  # draws that are shown


def axis_cloud(j: Judged) -> str:
    """A square drawing of the cloud; empty where the requirement has none."""
    cloud = j.axis
    if cloud is None or cloud.radius <= 0:
        return ""
    k = _FIT / max(cloud.radius, 0.84 * _reach(cloud))
    at = [(x * k, -y * k) for x, y in cloud.draws[:_MOST]]
    past = [p for p, (x, y) in zip(at, cloud.draws, strict=False) if _beyond(cloud, x, y)]
    within = [p for p, (x, y) in zip(at, cloud.draws, strict=False) if not _beyond(cloud, x, y)]
    body = (_band if cloud.width_only else _circle)(cloud.radius * k) + _lines() + _zone_label(j, cloud.radius * k)
    body += _marks(within, past, (cloud.value[0] * k, -cloud.value[1] * k)) + _names(cloud)
    label = f"Where it may be, against the zone: {len(past)} of {len(at)} draws lie beyond."
    half = _SIDE / 2
    return drawing(body, _SIDE, _SIDE, label, kind="cloud", box=f"{num(-half)} {num(-half)} {num(_SIDE)} {num(_SIDE)}")


def caption(j: Judged, draws: int) -> str:
    """What the dots are."""
    if j.axis is None:
        return ""
    seen = "Across the zone" if j.axis.width_only else "Seen along the axis"
    return f"{seen}: {min(_MOST, len(j.axis.draws))} of {draws} draws; lozenges lie beyond the zone."


def _beyond(cloud: AxisCloud, x: float, y: float) -> bool:
    return (abs(x) if cloud.width_only else math.hypot(x, y)) > cloud.radius


def _reach(cloud: AxisCloud) -> float:
    """How far the picture has to reach from the middle of the zone."""
    points = [cloud.value, *cloud.draws[:_MOST]]
    return max(max(abs(x), abs(y)) if not cloud.width_only else abs(x) for x, y in points)


def _circle(radius: float) -> str:
    return f'<circle r="{num(radius)}" fill="var(--zone)" stroke="var(--ink)" stroke-width="2"/>'


def _band(half: float) -> str:
    box = f'<rect x="{num(-half)}" y="-124" width="{num(2 * half)}" height="248" fill="var(--zone)"/>'
    return box + f'<path d="M{num(-half)}-124V124M{num(half)}-124V124" stroke="var(--ink)" stroke-width="2"/>'


def _lines() -> str:
    return '<path d="M-126 0H126M0-126V126" stroke="var(--edge)" stroke-width=".7" stroke-dasharray="12 3 2 3"/>'


def _names(cloud: AxisCloud) -> str:
    """The names of the two directions."""
    across = text(126, 12, clean(cloud.labels[0]), size=11, fill="ink-3", anchor="end", halo=3)
    return across + text(4, -118, clean(cloud.labels[1]), size=11, fill="ink-3", halo=3)


def _zone_label(j: Judged, radius: float) -> str:
    size = plain(shown(j).upper or 0.0)
    if j.axis is not None and j.axis.width_only:
        return text(-radius + 5, 122, size, size=11, fill="ink")
    at = 0.7071 * radius
    if radius < 70:
        return text(-at - 3, at + 9, f"Ø {size}", size=11, fill="ink", anchor="end")
    return text(max(-126, -at - 14), min(124, at + 26), f"Ø {size}", size=11, fill="ink", anchor="middle")


def _marks(within: list[Point], past: list[Point], value: Point) -> str:
    parts = ""
    if within:
        parts += f'<path d="{dots(within)}" stroke="var(--ink-2)" stroke-width="3.2" stroke-linecap="round"/>'
    if past:
        parts += f'<path d="{lozenges(past, 3.1)}" fill="var(--past)"/>'
    x, y = value
    return parts + (
        f'<circle cx="{num(x)}" cy="{num(y)}" r="4.2" fill="var(--ink)" stroke="var(--sheet)" stroke-width="1.6"/>'
    )
