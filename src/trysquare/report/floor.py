"""The floor from above, to scale: stations, sight lines, the part as outlines of its measured features, tie points."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..jobs.result import Floor, Judged, Spot
from .fonts import fitted, sans
from .format import clean, plain
from .outline import hull
from .svg import Point, drawing, num, text, trace

_NICE = (1.0, 2.0, 5.0)
_MARGIN = 26.0
Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class View:
    """From part coordinates (x right, y up) to the drawing."""

    width: float
    height: float
    scale: float
    left_mm: float
    top_mm: float

    def at(self, point: Sequence[float]) -> Point:
        """Place of a part point on the sheet."""
        return _MARGIN + (point[0] - self.left_mm) * self.scale, _MARGIN + (self.top_mm - point[1]) * self.scale


def view(floor: Floor, *, width: float = 420.0, height: float = 300.0) -> View:
    """The largest scale that shows everything, with room for names and the scale bar; `height` is the most it takes."""
    points = [s.at_mm for s in floor.stations] + [s.at_mm for s in (*floor.features, *floor.ties)]
    points += [p for spot in floor.features for p in spot.outline_mm]
    xs, ys = [p[0] for p in points] or [0.0], [p[1] for p in points] or [0.0]
    wide, tall = max(max(xs) - min(xs), 1.0), max(max(ys) - min(ys), 1.0)
    room = width - 2 * _MARGIN, height - 2 * _MARGIN - 22
    scale = min(room[0] / wide, room[1] / tall)
    left = (min(xs) + max(xs)) / 2 - room[0] / scale / 2
    return View(
        width, max(110.0, tall * scale) + 2 * _MARGIN + 22, scale, left, max(ys) + max(0.0, 110.0 / scale - tall) / 2
    )


def ground(floor: Floor, v: View) -> str:
    """What all requirements share: outlines, tie points, scale bar."""
    outlines = "".join(trace(_outline(spot, v), close=True) for spot in floor.features if len(spot.outline_mm) > 1)
    body = (
        f'<path d="{outlines}" fill="var(--zone)" stroke="var(--edge)" stroke-width="1" stroke-linejoin="round"/>'
        if outlines
        else ""
    )
    crosses = "".join(
        f"M{num(x - 3.5)} {num(y)}h7M{num(x)} {num(y - 3.5)}v7" for x, y in (v.at(t.at_mm) for t in floor.ties)
    )
    if crosses:
        body += f'<path d="{crosses}" fill="none" stroke="var(--ink-3)" stroke-width="1.3"/>'
    return body + _scale_bar(v)


def sights(floor: Floor, v: View, j: Judged) -> str:
    """What belongs to one requirement: its features, who saw them, from how far."""
    spots = {spot.name: spot for spot in floor.features}
    seen = [(spots[s.feature], set(s.stations)) for s in j.where if s.feature in spots]
    outlines = "".join(trace(_outline(spot, v), close=True) for spot, _ in seen)
    style = 'fill="var(--hump)" stroke="var(--ink)" stroke-width="1.4" stroke-linejoin="round"'
    body = f'<path d="{outlines}" {style}/>' if outlines else ""
    triangles, taken = _stations(floor, v, {name for _, names in seen for name in names})
    labels = ""
    for station in floor.stations:
        targets = [spot for spot, names in seen if station.name in names]
        rays = [(v.at(station.at_mm), v.at(spot.at_mm)) for spot in targets]
        data = "".join(trace(ray) for ray in rays)
        body += f'<path d="{data}" fill="none" stroke="var(--ink)" stroke-width="1.4"/>' if data else ""
        if rays:
            labels += _length(metres(math.dist(station.at_mm, targets[0].at_mm)), *rays[0], taken)
    return body + labels + triangles


def _length(words: str, a: Point, b: Point, taken: list[Box]) -> str:
    """The length of a sight, on its line where it is clear of names; left out where it never is."""
    half = sans().width(words, 12) / 2
    for t in (0.42, 0.55, 0.3, 0.68, 0.2):
        x, y = a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]) + 4
        box = (x - half, y - 10, x + half, y + 4)
        if not any(_hit(box, other) for other in taken):
            taken.append(box)
            return text(x, y, words, size=12, anchor="middle", halo=4)
    return ""


def floor_plan(floor: Floor, j: Judged, *, shared: str = "", width: float = 420.0, height: float = 300.0) -> str:
    """The plan for one requirement; `shared` is the name of a ground that is already on the page."""
    v = view(floor, width=width, height=height)
    base = f'<use href="#{shared}"/>' if shared else ground(floor, v)
    count = len(floor.stations)
    names = ", ".join(sorted({name for s in j.where for name in s.stations}))
    label = f"Plan of the floor with {count} station{'s' * (count != 1)}" + (f"; seen from {names}." if names else ".")
    return drawing(base + sights(floor, v, j), width, v.height, label, kind="plan")


def metres(length_mm: float) -> str:
    """A distance on the floor: metres from one metre on."""
    return f"{length_mm / 1000:.1f} m" if length_mm >= 1000 else f"{length_mm:.0f} mm"


def _outline(spot: Spot, v: View) -> list[Point]:
    points = hull([v.at(p) for p in spot.outline_mm])
    if len(points) > 2:
        return points
    x, y = v.at(spot.at_mm)
    return points if len(points) == 2 else [(x - 2, y - 2), (x + 2, y - 2), (x + 2, y + 2), (x - 2, y + 2)]


def _stations(floor: Floor, v: View, used: set[str]) -> tuple[str, list[Box]]:
    """Triangles with names, and the boxes that they take; a name gives way below where another is above it."""
    places = [v.at(station.at_mm) for station in floor.stations]
    taken: list[Box] = [(x - 9, y - 10, x + 9, y + 6) for x, y in places]
    parts = ""
    for station, (x, y) in zip(floor.stations, places, strict=True):
        on, name = station.name in used, clean(station.name)
        fill = "ink" if on else "edge"
        parts += f'<path d="M{num(x)} {num(y - 9)}l8 14h-16z" fill="var(--{fill})" stroke="var(--sheet)"/>'
        size = fitted(name, 13.0, v.width / 2)
        half = sans(bold=True).width(name, size) / 2
        middle = min(v.width - half - 2, max(half + 2, x))
        above = (middle - half, y - 24, middle + half, y - 11)
        free = above[1] > 0 and not any(_hit(above, box) for box in taken)
        line = y - 14 if free else y + 19
        taken.append((middle - half, line - 0.75 * size, middle + half, line + 3))
        ink = "ink" if on else "ink-3"
        parts += text(middle, line, name, size=size, fill=ink, anchor="middle", bold=True, halo=3)
    return parts, taken


def _hit(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _scale_bar(v: View) -> str:
    """A bar of a round length, about a fifth of the sheet."""
    length = _round_down(v.width * 0.22 / v.scale)
    w, y = length * v.scale, v.height - 10
    x = v.width - w - 12
    ticks = f"M{num(x)} {num(y - 5)}v8M{num(x + w)} {num(y - 5)}v8M{num(x)} {num(y - 1)}h{num(w)}"
    words = f"{plain(length / 1000)} m" if length >= 1000 else f"{plain(length)} mm"
    return f'<path d="{ticks}" fill="none" stroke="var(--ink-2)" stroke-width="1.3"/>' + text(
        x - 7, y + 3, words, size=12, anchor="end"
    )


def _round_down(x: float) -> float:
    power = 10.0 ** math.floor(math.log10(x))
    return max(n * power for n in _NICE if n * power <= x * 1.0001)


def caption(floor: Floor) -> str:
    """What the marks of the plan are."""
    count = len(floor.stations)
    names = "; ".join(f"{clean(s.name)}: {clean(s.instrument)}" for s in floor.stations[:4])
    crosses = f" Crosses: {len(floor.ties)} tie points." if floor.ties else ""
    return f"From above, to scale. Triangles: station{'s' * (count != 1)} {names}.{crosses}"
