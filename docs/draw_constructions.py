"""Draw the picture of docs/methods/constructions.md from what the functions give.

`python -m docs.draw_constructions`
"""

from pathlib import Path

import numpy as np

from trysquare.core.arrays import Array
from trysquare.geometry import (
    Cone,
    Plane,
    cone_cut,
    distance_between,
    gauge_circle,
    line_of_planes,
    mid_plane,
)
from trysquare.report.svg import drawing, text, trace
from trysquare.report.tokens import LIGHT, paint

PICTURE = Path(__file__).parent / "pictures" / "constructions.svg"
WIDTH, HEIGHT = 760, 460


def made() -> str:
    """The picture as text."""
    body = f'<rect width="{WIDTH}" height="{HEIGHT}" fill="var(--sheet)"/>' + _planes() + _cone()
    label = "Two planes that lean, their bisectors and distances; a cone with its gauge line and an oblique cut"
    return paint(drawing(body, WIDTH, HEIGHT, label), LIGHT) + "\n"


def _path(xy: Array, *, color: str = "ink", width: float = 1.5, dash: str = "", close: bool = False) -> str:
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    data = trace(((float(x), float(y)) for x, y in xy), close=close)
    return f'<path d="{data}" fill="none" stroke="var(--{color})" stroke-width="{width}"{dashes}/>'


def _dot(xy: Array) -> str:
    return f'<circle cx="{xy[0]:.1f}" cy="{xy[1]:.1f}" r="3.4" fill="var(--ink)"/>'


FLOOR = Plane.from_vector([62, 0, 0, -0.06, 0, 1])
LID = Plane.from_vector([50, 0, 40, -0.3, 0, -1])


def _planes() -> str:
    """Seen along the line in which they meet."""

    def at(P: Array) -> Array:
        return np.array([30.0, 250.0]) + np.atleast_2d(P)[:, [0, 2]] * np.array([2.6, -2.6])

    def trail(plane: Plane, left: float, right: float) -> Array:
        x = np.array([left, right])
        n = plane.normal
        z = plane.point_mm[2] - n[0] / n[2] * (x - plane.point_mm[0])
        return at(np.column_stack([x, 0 * x, z]))

    def drop(point: Array, plane: Plane) -> Array:
        off = (point - plane.point_mm) @ plane.normal
        return at(np.stack([point, point - off * plane.normal]))

    meet = line_of_planes(FLOOR, LID)
    parts = [text(20, 34, "Two planes that lean", size=15, fill="ink", bold=True)]
    parts += [_path(trail(plane, 10, 126), width=2.2) for plane in (FLOOR, LID)]
    parts.append(_path(trail(mid_plane(FLOOR, LID), -2, 128), color="ink-2", dash="7 3"))
    for given, other in ((FLOOR, LID), (LID, FLOOR)):
        parts += [_path(drop(given.point_mm, other), color="edge", width=1.2), _dot(at(given.point_mm)[0])]
    first, second, mean = (
        float(distance_between(FLOOR, LID, take=take).value) for take in ("from first", "from second", "mean")
    )
    rows = (("from first", abs(first)), ("from second", abs(second)), ("mean", mean))
    for k, (name, value) in enumerate(rows):
        parts += [text(40, 330 + 24 * k, name, size=13), text(200, 330 + 24 * k, f"{value:.2f} mm", size=14, fill="ink",
                  anchor="end")]  # fmt: skip
    parts.append(text(40, 330 + 24 * 3, f"their line {abs(float(meet.point_mm[0]) - 56):.0f} mm to the side", size=13))
    parts.append(text(20, 440, "dashed: the mid-plane between; dots: reference points", size=12))
    return "".join(parts)


CONE = Cone.from_vector([0, 0, 0, 1, 0, 0, 18, 0.3])
GAUGE_MM = 50.0
CUT = Plane.from_vector([45, 0, 0, 1, 0, 0.5])


def _cone() -> str:
    """Side view of a cone, its gauge line, and the ellipse of an oblique cut turned into the paper."""

    def at(P: Array) -> Array:
        return np.array([480.0, 165.0]) + np.atleast_2d(P)[:, [0, 2]] * np.array([2.4, -2.4])

    x = np.array([-30.0, 75.0])
    radius = 18 + x * np.tan(0.3)
    parts = [text(410, 34, "A cone: gauge line and oblique cut", size=15, fill="ink", bold=True)]
    parts += [_path(at(np.column_stack([x, 0 * x, side * radius])), width=2.2) for side in (1, -1)]
    parts.append(_path(at(np.array([[-42.0, 0, 0], [84, 0, 0]])), color="edge", width=1, dash="12 3 2 3"))
    gauge, cut = gauge_circle(CONE, diameter_mm=GAUGE_MM), cone_cut(CONE, CUT)
    rim = np.array([[gauge.center_mm[0], 0, s * gauge.radius_mm] for s in (1, -1)])
    parts.append(_path(at(rim), width=1.5, dash="7 3"))
    foot, top = at(rim)[1], at(rim)[0]
    beside = float(foot[0]) - 8, float(0.7 * foot[1] + 0.3 * top[1])
    parts.append(text(*beside, f"{GAUGE_MM:.0f} across", size=13, anchor="end"))
    ends = cut.center_mm + np.array([[1.0], [-1.0]]) * cut.semi_major_mm * cut.major_direction
    parts += [_path(at(ends), width=1.5), _dot(at(cut.center_mm)[0])]
    t = np.linspace(0, 2 * np.pi, 181)
    oval = np.column_stack([cut.semi_minor_mm * np.cos(t), cut.semi_major_mm * np.sin(t)])
    parts.append(_path(np.array([690.0, 345.0]) + oval * np.array([1.2, -1.2]), width=1.5, close=True))
    rows = (
        ("gauge line from the start", float(gauge.center_mm[0])), ("cut, long axis", 2 * float(cut.semi_major_mm)),
        ("cut, short axis", 2 * float(cut.semi_minor_mm)), ("its centre off the axis", abs(float(cut.center_mm[2]))),
    )  # fmt: skip
    for k, (name, value) in enumerate(rows):
        parts += [text(410, 330 + 24 * k, name, size=13), text(625, 330 + 24 * k, f"{value:.2f} mm", size=14,
                  fill="ink", anchor="end")]  # fmt: skip
    parts.append(text(410, 440, "right: the cut as seen square to it", size=12))
    return "".join(parts)


if __name__ == "__main__":
    PICTURE.write_text(made(), encoding="utf-8")
    print("docs/pictures/constructions.svg")
