"""Where the hall stands, how its instruments are turned, in which unit and order it is written: no value may care.

A small job of our own with a tracker, an instrument that reads x, y, z, a temperature gradient and every
characteristic. Expected values: analytic (the same measurement, told otherwise), to 1e-7 mm or rad, order to 1e-9.
Not asked: that a tracker may be tilted. Its azimuths are worth less high up, so a tilted one weighs its ties otherwise.
"""

import sys
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

sys.path.insert(0, str(Path(__file__).parents[2]))  # bench/ stands beside src/, it is not installed
from bench.scipy_chain.compare import characteristic, ordered

from trysquare.jobs.chain import Chain
from trysquare.jobs.instruments import instruments_of
from trysquare.jobs.loading.load import load

FACTOR = {"mm": 1.0, "m": 1000.0, "in": 25.4}
BALL = 12.7
TIES = {"T1": (-400, -300, 50), "T2": (900, -250, 80), "T3": (850, 700, 420), "T4": (-350, 650, 500)}
#: name: (kind, point, direction, diameter, length, inside), part frame
FEATURES = {
    "top": ("plane", (250, 200, 120), (0, 0, 1), None, None, False),
    "base": ("plane", (250, 200, 0), (0, 0, -1), None, None, False),
    "left": ("plane", (0, 200, 60), (-1, 0, 0), None, None, False),
    "front": ("plane", (250, 0, 60), (0, -1, 0), None, None, False),
    "bore": ("cylinder", (130, 120, 95), (0, 0, 1), 90.0, 50.0, True),
    "boss": ("cylinder", (380, 280, 135), (0, 0, 1), 80.0, 30.0, False),
    "ball": ("sphere", (400, 80, 150), None, 50.0, None, False),
}
FROM_TRACKER = ("top", "front", "bore", "ball")
REQUIREMENTS = """
size|bore|size = { nominal = @90, lower = 0, upper = @0.05, operator = "least-squares" }
local|boss|size = { nominal = @80, lower = @-0.05, upper = 0 }
height|top,base|distance = { nominal = @120, lower = @-0.1, upper = @0.1 }
apart|bore,boss|distance = { nominal = @296.8, lower = @-1, upper = @1 }
along|left,ball|distance = { nominal = @400, lower = @-1, upper = @1, along = ALONG }
corner|left,front|angle = { nominal = "90 deg", lower = "-0.1 deg", upper = "0.1 deg" }
flat|top|flatness = { zone = @0.1 }
parallel|base|parallelism = { zone = @0.1, datums = ["A"] }
square|front|perpendicularity = { zone = @0.1, datums = ["A"] }
upright|bore|perpendicularity = { zone = "diameter @0.05", datums = ["A"] }
place|boss|position = { zone = "diameter @0.2", datums = ["A", "B", "C"] }
seat|ball|position = { zone = "diameter @0.2", datums = ["A", "D", "E"] }
under|base|position = { zone = @0.2, datums = ["A"] }
"""


@dataclass(frozen=True)
class Told:
    """How the one measurement is told: unit; motion of the drawing; turns and places of both stations' frames."""

    unit: str = "mm"
    turn: Rotation = field(default_factory=Rotation.identity)
    shift: tuple[float, float, float] = (0.0, 0.0, 0.0)
    yaw: float = 0.4
    other: Rotation = field(default_factory=lambda: Rotation.from_rotvec([0.3, -0.2, 2.0]))
    other_at: tuple[float, float, float] = (2000.0, -1500.0, 900.0)
    rows: tuple[int, int] | None = None
    stations: tuple[str, ...] = ("tracker", "camera")

    def mm(self, value):
        return repr(float(value) / FACTOR[self.unit])

    def point(self, x):
        return f"[{', '.join(self.mm(c) for c in self.turn.apply(x) + self.shift)}]"

    def way(self, x):
        return f"[{', '.join(repr(float(c)) for c in self.turn.apply(x))}]"


def centres():
    """Feature, label and centre of the ball, (n, 3), with errors of 5 um that stand for all there are."""
    random = np.random.default_rng(3)
    out = [(name, 1, np.array(x, float)) for name, x in TIES.items()]
    for name, (kind, point, direction, diameter, length, inside) in FEATURES.items():
        n = 12 if kind == "cylinder" else 9
        for i in range(n):
            if kind == "plane":
                u, v = (a for a in np.eye(3) if not a @ np.abs(direction))
                normal, at = np.array(direction, float), (i % 3 - 1) * 90.0 * u + (i // 3 - 1) * 40.0 * v
            else:
                turn, height = np.pi * (i % 6) / 3 + 0.1 * (i // 6), 0.0
                if kind == "cylinder":
                    height = (i // 6 - 0.5) * 0.8 * length
                    normal = np.array([np.cos(turn), np.sin(turn), 0.0])
                else:
                    normal = np.array([np.cos(3 * turn), np.sin(3 * turn), i / 5])
                    normal /= np.linalg.norm(normal)
                at = diameter / 2 * normal + [0, 0, height]
                normal = -normal if inside else normal
            out.append((name, i + 1, np.array(point) + at + BALL / 2 * normal))
    return [(name, label, x + random.normal(0, 0.005, 3)) for name, label, x in out]


def job_text(told):
    shapes, mm = [], told.mm
    for name, (kind, point, direction, diameter, length, inside) in FEATURES.items():
        keys = [f"point = {told.point(point)}"]
        if direction is not None:
            keys.append(f"{'normal' if kind == 'plane' else 'axis'} = {told.way(direction)}")
        if diameter is not None:
            keys += [f"diameter = {mm(diameter)}", f"inside = {str(inside).lower()}"]
        if length is not None:
            keys.append(f"length = {mm(length)}")
        shapes.append(f"[feature.{name}]\n{kind} = {{ {', '.join(keys)} }}")
    asked = []
    for line in REQUIREMENTS.strip().splitlines():
        id_, on, rule = line.split("|")
        words = [w if "@" not in w else w.partition("@")[0] + scaled(w.partition("@")[2], mm) for w in rule.split(" ")]
        names = ", ".join(f'"{n}"' for n in on.split(","))
        rule = " ".join(words).replace("ALONG", told.way((1, 0, 0)))
        asked.append(f'[[requirement]]\nid = "{id_}"\non = [{names}]\n{rule}')
    stations = [f'[[station]]\nname = "{n}"\ninstrument = "{n}-1"\nreadings = "{n}.csv"' for n in told.stations]
    ties = ", ".join(f'"{name}"' for name in TIES)
    return f"""format = "trysquare-job/1"
title = "Block"
units = "{told.unit}"
standard = "ISO 8015:2011"
tie = [{ties}]
[part]
name = "Block"
[[part.zone]]
name = "body"
material = "aluminium 6061"
temperature = {{ value = 27, u = 0.5, gradient = {{ along = {told.way((1, 0, 2))}, per_m = 2 }} }}
anchor = {told.point((10, 20, 30))}
[place]
name = "Hall"
[target.ball]
diameter = {mm(BALL)}
u_radius = "2 um"
[instrument.tracker-1]
class = "laser tracker"
[instrument.camera-1]
class = "photogrammetry"
{chr(10).join(shapes)}
[datum]
A = "top"
B = "bore"
C = "front"
D = "left"
E = "front"
{chr(10).join(asked)}
{chr(10).join(stations)}
"""


def scaled(word, mm):
    """A number with what follows it, in the unit of the job."""
    number = word.rstrip('",}')
    return mm(number) + word[len(number) :]


def readings(told):
    """Text of both reading files."""
    unit, files = told.unit, {}
    tracker = [f"on,point,face,target,azimuth [rad],elevation [rad],range [{unit}]"]
    camera = [f"on,point,target,x [{unit}],y [{unit}],z [{unit}]"]
    for name, label, x in centres():
        if name in FROM_TRACKER or name in TIES:
            d = x - (-1500.0, -1800.0, 1100.0)
            flat, azimuth = np.hypot(d[0], d[1]), np.arctan2(d[1], d[0]) + told.yaw
            numbers = [repr(float(azimuth)), repr(float(np.arctan2(d[2], flat))), told.mm(np.hypot(flat, d[2]))]
            tracker.append(f"{name},{label},1,ball,{','.join(numbers)}")
        if name not in FROM_TRACKER:
            seen = told.other.apply(x + np.random.default_rng(label).normal(0, 0.01, 3)) + told.other_at
            camera.append(f"{name},{label},ball,{','.join(told.mm(c) for c in seen)}")
    for name, rows in (("tracker", tracker), ("camera", camera)):
        if told.rows is not None:
            rows[1:] = np.random.default_rng(told.rows).permutation(rows[1:]).tolist()
        files[f"{name}.csv"] = "\n".join(rows) + "\n"
    return files


def values(told):
    """The characteristic of every requirement."""
    with tempfile.TemporaryDirectory() as name:
        for file, text in {"job.toml": job_text(told), **readings(told)}.items():
            (Path(name) / file).write_text(text)
        job = load(Path(name))
    return ordered({id_: characteristic(m) for id_, m in Chain(job, instruments_of(job)).run().items()})


@pytest.fixture(scope="module")
def plain():
    found = values(Told())
    assert len(found) == len(REQUIREMENTS.strip().splitlines())
    return found


def same(found, plain, tolerance):
    assert found.keys() == plain.keys()
    for id_, x in plain.items():
        np.testing.assert_allclose(found[id_], x, rtol=0, atol=tolerance, err_msg=id_)


vectors = st.tuples(*[st.floats(-3, 3)] * 3)
far = st.tuples(*[st.floats(-2e4, 2e4)] * 3)
few = settings(max_examples=12, deadline=None, derandomize=True)


@few
@given(yaw=st.floats(-3, 3), turn=vectors, at=far)
def test_stations_may_stand_and_turn_as_they_like(plain, yaw, turn, at):
    same(values(Told(yaw=yaw, other=Rotation.from_rotvec(turn), other_at=at)), plain, 1e-7)


@few
@given(turn=vectors, shift=far)
def test_the_drawing_may_have_any_frame(plain, turn, shift):
    same(values(Told(turn=Rotation.from_rotvec(turn), shift=shift)), plain, 1e-7)


@pytest.mark.parametrize("shift", [(1e5, 0, 0), (0, -1e5, 0), (1e5, 1e5, 1e5)])
def test_an_offset_of_the_part_frame_by_1e5_mm(plain, shift):
    same(values(Told(shift=shift)), plain, 1e-7)


@pytest.mark.parametrize("unit", ["m", "in"])
@pytest.mark.parametrize("shift", [(0, 0, 0), (1e5, 1e5, 1e5)])
def test_units(plain, unit, shift):
    same(values(Told(unit=unit, shift=shift)), plain, 1e-7)


@few
@given(seed=st.tuples(st.integers(0, 1000), st.integers(0, 1000)))
def test_order_of_rows(plain, seed):
    same(values(Told(rows=seed)), plain, 1e-9)


def test_order_of_stations(plain):
    same(values(Told(stations=("camera", "tracker"))), plain, 1e-9)


def test_the_comparison_can_fail(plain, monkeypatch):
    """Negative twin: the same drawing, and a bore that was made 1 um further off, is another measurement."""
    drawing = job_text(Told())
    kind, point, *rest = FEATURES["bore"]
    monkeypatch.setitem(FEATURES, "bore", (kind, (point[0] + 1e-3, *point[1:]), *rest))
    monkeypatch.setattr(sys.modules[__name__], "job_text", lambda told: drawing)
    with pytest.raises(AssertionError, match="apart"):
        same(values(Told()), plain, 1e-7)
