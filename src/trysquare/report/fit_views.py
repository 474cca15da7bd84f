"""Which pictures a shape is shown by: each view is a drawing, its height and the words that explain it."""

import math
from dataclasses import dataclass

import numpy as np

from ..core.arrays import Array
from ..geometry.association import Association
from . import fit_map, fit_places
from .fit_chart import Chart, discs, unrolled
from .fit_map import Map
from .fit_marks import beyond, chain_line, contacts, dot_size, labels, point_dots, ring
from .fit_polar import Polar, polar
from .fit_scale import places
from .fit_strip import Strip, strip
from .fonts import sans
from .format import figure
from .svg import num, text

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
        body = strip(Strip(along, a.residuals_mm, contacts(a), "", "mm along the line", joined=True), WIDTH, 190)
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
    body += "".join(ring((float(xy[c.index, 0]), float(xy[c.index, 1])), c) for c in contacts(a))
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
    radial = a.residuals_mm if beyond(a) else np.asarray(getattr(a.fit, "radial_mm", a.residuals_mm))
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
    names = ("around, from 0°", "mm along the axis")
    if fit_places.span(s.angle) < _ARC:
        across = np.degrees(fit_places.unwrapped(s.angle))
        per_mm = math.radians(float(a.parameters["radius_mm"]))
        along = Strip(across, a.residuals_mm, contacts(a), "°", "around", per_mm=per_mm)
        patch = unrolled(Chart(across, s.height, a.residuals_mm, contacts(a), names, whole=False), WIDTH, 250)
        words = (f"0° lies towards {s.frame.toward}, seen from the tip of the axis.", _many(a))
        return [View(patch, 250, words), View(strip(along, WIDTH, 130), 130), _key(a)]
    chart = unrolled(Chart(np.degrees(s.angle), s.height, a.residuals_mm, contacts(a), names), WIDTH - 330 - _GAP, 340)
    words = (f"Left: {_seen(a, s)} Right: unrolled, the axis upwards.", _many(a))
    return [_pair(a, s.angle, float(a.parameters["radius_mm"]), chart, words), _key(a)]


def _torus(a: Association) -> list[View]:
    about, tube = fit_places.across_tube(a)
    names = ("around the axis, from 0°", "° round the tube")
    whole = fit_places.span(about) > math.pi
    across = np.degrees(about if whole else fit_places.unwrapped(about))
    if fit_places.span(tube) < _ARC:
        tube = fit_places.unwrapped(tube)
        per_mm = math.radians(float(a.parameters["minor_radius_mm"]))
        along = Strip(np.degrees(tube), a.residuals_mm, contacts(a), "°", "round the tube", per_mm=per_mm)
        chart = Chart(across, np.degrees(tube), a.residuals_mm, contacts(a), names, whole)
        return [View(unrolled(chart, WIDTH, 250), 250, (_many(a),)), View(strip(along, WIDTH, 130), 130), _key(a)]
    chart = Chart(across, np.degrees(tube), a.residuals_mm, contacts(a), names, whole, 90.0)
    words = ("Left: a section through the tube, 0° outermost, 90° along the axis. Right: unrolled.", _many(a))
    drawn = unrolled(chart, WIDTH - 330 - _GAP, 340)
    return [_pair(a, tube, float(a.parameters["minor_radius_mm"]), drawn, words), _key(a)]


def _pair(a: Association, angle: Array, radius: float, chart: str, words: tuple[str, ...]) -> View:
    """A polar picture at the left, a map at the right."""
    body, said = polar(Polar(angle, a.residuals_mm, radius, contacts(a), ("0°", "90°")), 330)
    return View(moved(body, 165, 165) + moved(chart, 330 + _GAP, 0), 340, (said, *words))


def _sphere(a: Association) -> list[View]:
    local, polar_angle = fit_places.from_pole(a)
    body, height, said = discs(local, a.residuals_mm, contacts(a), WIDTH)
    per_mm = math.radians(float(a.parameters["radius_mm"]))
    along = Strip(np.degrees(polar_angle), a.residuals_mm, contacts(a), "°", "from the pole of the map", per_mm=per_mm)
    return [View(body, height, (said, _many(a))), View(strip(along, WIDTH, 130), 130), _key(a)]
