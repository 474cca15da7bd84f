"""Where it is: the part as the measured points know it, at an angle from above, with the points of one requirement.

A feature too small to show its points is shown once more in a lens, in the corner where the sheet is emptiest.
"""

from collections.abc import Sequence

from ..jobs.result import Floor, Judged
from .fonts import fitted, sans
from .format import clean
from .outline import hull
from .svg import Point, dots, drawing, num, text, trace

# Right and up on the sheet, towards the eye: an axonometric view from the front, 52 degrees above the floor.
_RIGHT, _UP, _EYE = (0.848, 0.530, 0.0), (-0.326, 0.522, 0.788), (0.418, -0.668, 0.616)
_MARGIN, _LENS, _SMALL, _MOST = 18.0, 62.0, 62.0, 120


class View:
    """From part coordinates to the drawing, at the largest scale that shows all points."""

    def __init__(self, points: Sequence[Sequence[float]], width: float, height: float, margin: float = _MARGIN) -> None:
        flat = [_flat(p) for p in points] or [(0.0, 0.0)]
        xs, ys = [p[0] for p in flat], [p[1] for p in flat]
        room = width - 2 * margin, height - 2 * margin
        self.k = min(room[0] / max(max(xs) - min(xs), 1e-9), room[1] / max(max(ys) - min(ys), 1e-9), 1e6)
        self.middle = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
        self.width, self.height = width, height

    def at(self, p: Sequence[float]) -> Point:
        """Place of a part point on the sheet."""
        x, y = _flat(p)
        return self.width / 2 + self.k * (x - self.middle[0]), self.height / 2 - self.k * (y - self.middle[1])


def view(floor: Floor, *, width: float = 420.0, height: float = 300.0) -> View:
    """A view of all measured points of the part."""
    return View([p for spot in floor.features for p in spot.outline_mm or [spot.at_mm]], width, height)


def body(floor: Floor, v: View) -> str:
    """What all requirements share: every feature as the hull of its points, far ones first."""
    far_first = sorted(floor.features, key=lambda spot: sum(a * b for a, b in zip(_EYE, spot.at_mm, strict=True)))
    data = [
        trace(hull([v.at(p) for p in spot.outline_mm]), close=True) for spot in far_first if len(spot.outline_mm) > 2
    ]
    style = 'fill="var(--zone)" fill-opacity=".75" stroke="var(--edge)" stroke-width="1" stroke-linejoin="round"'
    return "".join(f'<path d="{d}" {style}/>' for d in data)


def where_it_is(floor: Floor, j: Judged, *, shared: str = "", width: float = 420.0, height: float = 300.0) -> str:
    """The drawing for one requirement; empty where no point is known."""
    seen = [s for s in j.where if s.points_mm]
    if not seen:
        return ""
    v = view(floor, width=width, height=height)
    parts = f'<use href="#{shared}"/>' if shared else body(floor, v)
    places = [[v.at(p) for p in _thinned(s.points_mm)] for s in seen]
    crowd = [v.at(p) for spot in floor.features for p in spot.outline_mm]
    corners = _corners(crowd, v)
    names: list[tuple[float, float, float]] = []
    labels = ""
    for s, at in zip(seen, places, strict=True):
        if _extent(at) >= _SMALL or not corners:
            parts += _marked(at, 8.5)
            labels += _name(clean(s.feature), at, v, names)
        else:
            corner = corners.pop(0)
            parts += _marked(at, 0.0) + _lens(s.points_mm, at, corner)
            labels += _label(clean(s.feature), corner, v)
    return drawing(parts + labels, width, height, f"Where it is: {caption(j)}", kind="where")


def caption(j: Judged) -> str:
    """How many points on which features, from which stations."""
    parts = []
    for seen in j.where:
        count, names = len(seen.points_mm), [clean(s) for s in seen.stations]
        by = f", station{'s' * (len(names) > 1)} {' and '.join(names)}" if names else ""
        parts.append(f"{clean(seen.feature)}: {count} point{'s' * (count != 1)}{by}")
    return "; ".join(parts) + "." if parts else ""


def _flat(p: Sequence[float]) -> Point:
    return (
        _RIGHT[0] * p[0] + _RIGHT[1] * p[1] + _RIGHT[2] * p[2],
        _UP[0] * p[0] + _UP[1] * p[1] + _UP[2] * p[2],
    )


def _thinned(points: Sequence[tuple[float, float, float]]) -> Sequence[tuple[float, float, float]]:
    """At most so many points as a reader can tell apart, evenly taken."""
    return points[:: max(1, -(-len(points) // _MOST))]


def _extent(at: Sequence[Point]) -> float:
    xs, ys = [p[0] for p in at], [p[1] for p in at]
    return max(max(xs) - min(xs), max(ys) - min(ys))


def _marked(at: Sequence[Point], dot: float) -> str:
    """The feature's outline in grey and ink, its points as rings; without rings when `dot` is 0."""
    corners = hull(at)
    parts = ""
    if len(corners) > 2:
        outline = trace(corners, close=True)
        parts += f'<path d="{outline}" fill="var(--hump)" fill-opacity=".6" stroke="var(--ink)" stroke-width="1.6"/>'
    if dot or not parts:
        points, wide = dots(at), dot or 8.5
        parts += f'<path d="{points}" stroke="var(--ink)" stroke-width="{num(wide)}" stroke-linecap="round"/>'
        parts += f'<path d="{points}" stroke="var(--sheet)" stroke-width="{num(wide - 4)}" stroke-linecap="round"/>'
    return parts


def _corners(crowd: Sequence[Point], v: View) -> list[Point]:
    """Middles of lenses in the corners of the sheet, the emptiest first."""
    low, reach = _LENS + 4, _LENS + 6
    places = [(x, y) for y in (v.height - low - 16, low) for x in (v.width - low, low)]
    return sorted(places, key=lambda c: sum(abs(x - c[0]) < reach and abs(y - c[1]) < reach for x, y in crowd))


def _lens(points: Sequence[tuple[float, float, float]], at: Sequence[Point], corner: Point) -> str:
    """The feature's points, enlarged in a circle, and a line to where they are."""
    cx, cy = corner
    own = View(points, 2 * _LENS, 2 * _LENS, margin=20.0)
    inside = [(x + cx - _LENS, y + cy - _LENS) for x, y in map(own.at, _thinned(points))]
    x, y = sum(p[0] for p in at) / len(at), sum(p[1] for p in at) / len(at)
    length = max(((x - cx) ** 2 + (y - cy) ** 2) ** 0.5, 1e-9)
    start = cx + (x - cx) * _LENS / length, cy + (y - cy) * _LENS / length
    line = f'<path d="{trace([start, (x, y)])}" stroke="var(--ink)" stroke-width="1"/>' if length > _LENS else ""
    ring = f'<circle cx="{num(cx)}" cy="{num(cy)}" r="{num(_LENS)}" fill="var(--sheet)" stroke="var(--ink)"/>'
    return line + ring + _marked(inside, 8.5)


def _label(words: str, corner: Point, v: View) -> str:
    """The name under its lens, kept on the sheet."""
    return _written(words, corner[0], min(v.height - 3, corner[1] + _LENS + 14), v)[0]


def _name(words: str, at: Sequence[Point], v: View, taken: list[tuple[float, float, float]]) -> str:
    """The name above its outline, kept on the sheet and clear of the names before it."""
    y = max(13.0, min(p[1] for p in at) - 10)
    middle = sum(p[0] for p in at) / len(at)
    _, x, half = _written(words, middle, y, v)
    while any(abs(y - ty) < 15 and abs(x - tx) < half + th for tx, ty, th in taken):
        y += 15
    taken.append((x, y, half))
    return _written(words, middle, y, v)[0]


def _written(words: str, middle: float, y: float, v: View) -> tuple[str, float, float]:
    """A name about `middle`, no wider than the sheet: its drawing, its middle, half its width."""
    size = fitted(words, 13.0, v.width - 6)
    half = sans(bold=True).width(words, size) / 2
    x = min(v.width - half - 3, max(half + 3, middle))
    return text(x, y, words, size=size, fill="ink", anchor="middle", bold=True, halo=4), x, half
