"""Which pictures a shape is shown by: each view is a drawing, its height and the words that explain it."""

import math
from dataclasses import dataclass

import numpy as np

from ..core.arrays import Array
from ..geometry.association import Association
from . import fit_map, fit_places
from .fit_map import Map
from .fit_marks import chain_line, contacts, dot_size, labels, point_dots, ring
from .fit_polar import Polar, polar
from .fit_scale import places, step_below
from .fit_strip import Strip, strip
from .fonts import sans
from .format import figure, plain
from .svg import num, text, trace

WIDTH = 696.0  # of the sheet between its margins
_GAP = 28.0
_ARC = math.radians(60)  # below so much of a turn an arc is shown as a strip


@dataclass(frozen=True)
class View:
    """A drawing with its upper left corner at the origin, its height, and sentences that explain it."""

    body: str
    height: float
    words: tuple[str, ...] = ()


def views(a: Association) -> list[View]:
    """The views of a fit, from the top of the sheet down."""
    table = {
        "line": _line, "plane": _plane, "circle": _circle, "sphere": _sphere, "cylinder": _revolved, "cone": _revolved,
        "torus": _torus,
    }  # fmt: skip
    return table[a.shape](a)


def moved(body: str, x: float, y: float) -> str:
    """The drawing, moved."""
    return f'<g transform="translate({num(x)} {num(y)})">{body}</g>'


def _line(a: Association) -> list[View]:
    along, across = fit_places.along_line(a)
    if across.shape[1] == 1:
        body = strip(Strip(along, across[:, 0], contacts(a), "", "mm along the line", joined=True), WIDTH, 190)
        return [View(body, 190)]
    f = fit_places.frame(np.asarray(a.parameters["direction"]))
    out = [_end_view(a, across)]
    for k, way in enumerate((f"across, towards {f.toward}", "across, square to that")):
        drawn = strip(Strip(along, across[:, k], contacts(a), "", f"mm along the line; {way}"), WIDTH, 130)
        out.append(View(drawn, 130))
    return out


def _end_view(a: Association, across: Array) -> View:
    """The points seen along the line, in the circle of the cylinder that holds them."""
    side, reach = 240.0, 84.0
    radius = max(float(np.hypot(across[:, 0], across[:, 1]).max()), 1e-300)
    xy = across * np.array([1.0, -1.0]) * reach / radius
    pairs = [(float(x), float(y)) for x, y in xy[fit_places.outer(xy)]]
    body = f'<circle r="{num(reach)}" fill="var(--zone)" stroke="var(--post)" stroke-width="2"/>'
    body += chain_line([((-110, 0), (110, 0)), ((0, 110), (0, -110))]) + point_dots(pairs, dot_size(len(pairs)))
    body += "".join(ring((float(xy[c.index, 0]), float(xy[c.index, 1])), c.side) for c in contacts(a))
    named = []
    for c in contacts(a):
        x, y = float(xy[c.index, 0]), float(xy[c.index, 1])
        r = max(math.hypot(x, y), 1e-9)
        named.append(((x, y), (x / r, y / r), c.name))
    size = f"Ø {figure(2 * radius, places(2 * radius))}"
    x, half = 0.72 * reach + 10, sans().width(size, 12) / 2
    body += text(x, x, size, size=12, fill="ink-2", halo=3) + labels(named, [(x + half, x - 4, half)])
    words = ("Above: seen along the line, in the cylinder about it that holds all points.",)
    return View(moved(body, WIDTH / 2, side / 2), side, words)


def _plane(a: Association) -> list[View]:
    x, y, _ = fit_places.in_plane(a)
    wide, tall = max(float(np.ptp(x)), 1e-300), max(float(np.ptp(y)), 1e-300)
    scale = min((WIDTH - 60) / wide, 300 / tall)
    left = (WIDTH - scale * wide) / 2
    xy = np.column_stack([left + (x - x.min()) * scale, 14 + (y.max() - y) * scale])
    body = fit_map.surface(Map(xy, a.residuals_mm, contacts(a)))
    words = ("The map is true to scale.", _many(a))
    out = [View(body, tall * scale + 34, words)]
    side = strip(Strip(x, a.residuals_mm, contacts(a), "", "mm along the plane, seen edge on"), WIDTH, 130)
    return [*out, View(side, 130), _key(a)]


def _many(a: Association) -> str:
    return "A square shows the point in it that lies furthest." if len(a.points_mm) > fit_map.CELLS else ""


def _key(a: Association) -> View:
    r = a.residuals_mm
    return View(fit_map.key(r, WIDTH, 110, (float(r.min()), float(r.max()))), 112)


def _circle(a: Association) -> list[View]:
    s = fit_places.around(a)
    radial = np.asarray(getattr(a.fit, "radial_mm", a.residuals_mm))
    out = [_round(a, s, radial)]
    axial = getattr(a.fit, "axial_mm", None)
    if axial is not None:
        per_mm = math.radians(float(a.parameters["radius_mm"]))
        body = strip(
            Strip(np.degrees(fit_places.unwrapped(s.angle)), np.asarray(axial), [], "°",
                  "around the circle, height above its plane", joined=True, per_mm=per_mm), WIDTH, 130,
        )  # fmt: skip
        out.append(View(body, 130))
    return out


def _round(a: Association, s: fit_places.Around, radial: Array) -> View:
    radius = float(a.parameters["radius_mm"])
    if fit_places.span(s.angle) < _ARC:
        angle = np.degrees(fit_places.unwrapped(s.angle))
        body = strip(
            Strip(angle, radial, contacts(a), "°", "around the circle", joined=True, per_mm=math.radians(radius)),
            WIDTH, 190,
        )  # fmt: skip
        return View(body, 190)
    body, said = polar(Polar(s.angle, radial, radius, contacts(a), ends(a, s)), 440)
    return View(moved(body, WIDTH / 2, 220), 440, (said, _seen(a, s).capitalize()))


def ends(a: Association, s: fit_places.Around) -> tuple[str, str]:
    """The words at 0 and 90 degrees of a polar picture."""
    return ("x", "y") if a.points_mm.shape[1] == 2 else ("0°", "90°")


def _seen(a: Association, s: fit_places.Around) -> str:
    flat = a.points_mm.shape[1] == 2
    return "" if flat else f"seen from the tip of the axis, 0° towards {s.frame.toward}."


def _revolved(a: Association) -> list[View]:
    s = fit_places.around(a)
    radius = float(a.parameters["radius_mm"])
    body, said = polar(Polar(s.angle, a.residuals_mm, radius, contacts(a), ends(a, s)), 330)
    chart = _unrolled(a, np.degrees(s.angle), s.height, ("around, from 0°", "mm along the axis"))
    words = (said, f"Left: {_seen(a, s)} Right: unrolled, the axis upwards.", _many(a))
    return [View(moved(body, 165, 165) + moved(chart, 330 + _GAP, 0), 340, words), _key(a)]


def _torus(a: Association) -> list[View]:
    about, tube = fit_places.across_tube(a)
    radius = float(a.parameters["minor_radius_mm"])
    body, said = polar(Polar(tube, a.residuals_mm, radius, contacts(a), ("0°", "90°")), 330)
    chart = _unrolled(a, np.degrees(about), np.degrees(tube), ("around the axis, from 0°", "° round the tube"), 90)
    words = (said, "Left: a section through the tube, 0° outermost, 90° along the axis. Right: unrolled.", _many(a))
    return [View(moved(body, 165, 165) + moved(chart, 330 + _GAP, 0), 340, words), _key(a)]


def _unrolled(a: Association, across: Array, up: Array, names: tuple[str, str], step: float = 0.0) -> str:
    """The map of a surface, unrolled over one turn; at the left edge the figures of its heights."""
    left, right, top, foot = 46.0, WIDTH - 330 - _GAP, 12.0, 296.0
    low, high = float(up.min()), float(up.max())
    span = max(high - low, 1e-300)
    low, high = low - 0.06 * span, high + 0.06 * span
    x, y = left + (across + 180) / 360 * (right - left), foot - (up - low) / (high - low) * (foot - top)
    xy = np.column_stack([x, y])
    box = trace([(left, top), (right, top), (right, foot), (left, foot)], close=True)
    body = fit_map.surface(Map(xy, a.residuals_mm, contacts(a), outline=box))
    for degree in (-180, -90, 0, 90, 180):
        at = left + (degree + 180) / 360 * (right - left)
        words = f"{degree}°".replace("-", "−")
        anchor = "end" if degree == 180 else "start" if degree == -180 else "middle"
        body += text(at, foot + 16, words, size=12, fill="ink-3", anchor=anchor)
    body += text(left, foot + 32, names[0], size=12, fill="ink-3")
    step = step or step_below(max(float(np.ptp(up)), 1e-300) / 2)
    return body + _heights(step, low, high, foot, top, left, names[1])


def _heights(step: float, low: float, high: float, foot: float, top: float, left: float, name: str) -> str:
    out = ""
    for tick in np.arange(math.ceil(low / step), math.floor(high / step) + 1) * step:
        y = foot - (tick - low) / (high - low) * (foot - top)
        out += text(left - 6, y + 4, plain(round(float(tick), 9)), size=12, fill="ink-3", anchor="end")
    return out + text(left, top - 4, name, size=12, fill="ink-3")


def _sphere(a: Association) -> list[View]:
    local, polar_angle = fit_places.from_pole(a)
    two = bool((local[:, 2] < -0.05).any())
    reach = 150.0
    body = ""
    flip = np.where(local[:, 2] < 0, -1.0, 1.0) if two else np.ones(len(local))
    height = np.abs(local[:, 2]) if two else local[:, 2]
    k = reach * np.sqrt(1 / np.maximum(1 + height, 1e-9))  # equal areas: the rim of a half sphere lies at `reach`
    middle = np.where(flip > 0, WIDTH / 4 if two else WIDTH / 2, 3 * WIDTH / 4)
    xy = np.column_stack([middle + k * local[:, 0] * flip, reach + 8 - k * local[:, 1]])
    rims = [(WIDTH / 4, "seen from the pole"), (3 * WIDTH / 4, "seen from the other pole")]
    rims = rims if two else [(WIDTH / 2, "")]
    path = "".join(_rim(x, reach + 8, reach) for x, _ in rims)
    body = fit_map.surface(Map(xy, a.residuals_mm, contacts(a), outline=path))
    body += "".join(text(x, 2 * reach + 28, w, size=12, fill="ink-3", anchor="middle") for x, w in rims if w)
    radius = float(a.parameters["radius_mm"])
    side = strip(
        Strip(np.degrees(polar_angle), a.residuals_mm, contacts(a), "°", "from the pole of the map",
              per_mm=math.radians(radius)), WIDTH, 130,
    )  # fmt: skip
    words = ("The map keeps areas true.", _many(a))
    return [View(body, 2 * reach + 36, words), View(side, 130), _key(a)]


def _rim(x: float, y: float, r: float) -> str:
    return f"M{num(x - r)} {num(y)}a{num(r)} {num(r)} 0 1 0 {num(2 * r)} 0a{num(r)} {num(r)} 0 1 0 {num(-2 * r)} 0z"
