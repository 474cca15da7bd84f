"""The same job in mm, m and inches is the same job, to 1e-12 of each value (analytic: units are definitions)."""

import dataclasses
import tempfile
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trysquare.jobs.loading.load import load

FACTOR = {"mm": 1.0, "m": 1000.0, "in": 25.4}
ANGLE = {"deg": np.pi / 180, "rad": 1.0, "gon": np.pi / 200}

lengths = st.floats(10, 2000)
small = st.floats(1e-3, 0.5)


@st.composite
def drawings(draw):
    """Numbers of a job: mm, rad."""
    return {
        "x": draw(lengths), "y": draw(lengths), "diameter": draw(lengths), "depth": draw(lengths),
        "up": draw(small), "zone": draw(small), "ball": draw(st.floats(5, 50)), "u": draw(small),
        "angle": draw(st.floats(0.2, 1.5)), "seen": draw(st.lists(st.tuples(lengths, lengths, lengths), min_size=1)),
    }  # fmt: skip


def text(numbers, unit, own, angle):
    """The job file with bare lengths in `unit`, or with each its own unit."""

    def mm(value):
        return f'"{value / FACTOR[unit]!r} {unit}"' if own else repr(value / FACTOR[unit])

    n, a = numbers, f"{numbers['angle'] / ANGLE[angle]!r} {angle}"
    tilt = [float(np.sin(n["angle"])), 0.0, float(np.cos(n["angle"]))]
    return f"""format = "trysquare-job/1"
title = "t"
units = "{"mm" if own else unit}"
standard = "ASME Y14.5-2018"
[part]
name = "p"
[[part.zone]]
name = "z"
material = "steel"
temperature = {{ value = 22, u = 0.5 }}
anchor = [{mm(n["x"])}, {mm(n["y"])}, {mm(-n["depth"])}]
[place]
name = "h"
[target.b]
diameter = {mm(n["ball"])}
u_radius = {mm(n["u"])}
[nest.n]
takes = {mm(n["ball"])}
height = {mm(n["ball"])}
u_height = {mm(n["u"])}
[feature.f]
plane = {{ point = [{mm(n["x"])}, 0, 0], normal = [0, 0, 1], size = [{mm(n["x"])}, {mm(n["y"])}] }}
form = {{ expected = {mm(n["u"])}, wavelength = {mm(n["x"])} }}
[feature.g]
plane = {{ point = [0, 0, 0], normal = {tilt} }}
[feature.h]
cylinder = {{ point = [0, {mm(n["y"])}, 0], axis = [0, 0, 1], diameter = {mm(n["diameter"])}, length = {mm(n["depth"])},
  inside = true }}
[datum]
A = "f"
[[requirement]]
id = "1"
on = "h"
size = {{ nominal = {mm(n["diameter"])}, lower = {mm(-n["up"])}, upper = {mm(n["up"])} }}
[requirement.prior]
mean = {mm(n["u"])}
sd = {mm(n["u"])}
from = "history"
[[requirement]]
id = "2"
on = "h"
perpendicularity = {{ zone = "diameter {(mm(n["zone"])).strip('"')}", datums = ["A"] }}
[[requirement]]
id = "3"
on = ["f", "g"]
angle = {{ nominal = "{a}", upper = "{0.01 / ANGLE[angle]!r} {angle}" }}
[instrument.i]
class = "photogrammetry"
[instrument.c]
class = "calliper"
[[station]]
name = "1"
instrument = "i"
readings = "s.csv"
at = [{mm(n["x"])}, {mm(n["y"])}, {mm(n["depth"])}]
[[hand]]
instrument = "c"
readings = "h.csv"
""".replace(",\n  inside", ", inside")


def touched(numbers, xyz):
    """The centre of the ball on plane g nearest to a point."""
    n = np.array([np.sin(numbers["angle"]), 0.0, np.cos(numbers["angle"])])
    return np.array(xyz) + (numbers["ball"] / 2 - n @ xyz) * n


def loaded(numbers, unit, own, angle):
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "job.toml").write_text(text(numbers, unit, own, angle))
        spread = [(float(i), float(i * i), float(i**3)) for i in range(4)]  # off one line, whatever was drawn
        rows = [
            f"g,{i},b,{','.join(repr(float(c) / FACTOR[unit]) for c in touched(numbers, xyz))}"
            for i, xyz in enumerate(numbers["seen"] + spread)
        ]
        header = f"on,point,target,x [{unit}],y [{unit}],z [{unit}]"
        (folder / "s.csv").write_text("\n".join([header, *rows]) + "\n")
        value = numbers["diameter"] / FACTOR[unit]
        (folder / "h.csv").write_text(f"requirement,place,value [{unit}]\n1,top,{value!r}\n")
        return load(folder)


def same(a, b, path="job"):
    """Every number of two records agrees to 1e-12 of itself; names and flags are equal."""
    if dataclasses.is_dataclass(a):
        for field in dataclasses.fields(a):
            if field.name not in ("folder", "inputs", "line"):
                same(getattr(a, field.name), getattr(b, field.name), f"{path}.{field.name}")
    elif isinstance(a, dict):
        assert a.keys() == b.keys(), path
        for key in a:
            same(a[key], b[key], f"{path}[{key}]")
    elif isinstance(a, tuple):
        assert len(a) == len(b), path
        for i, (one, other) in enumerate(zip(a, b, strict=True)):
            same(one, other, f"{path}[{i}]")
    elif isinstance(a, (float, np.ndarray)):
        np.testing.assert_allclose(b, a, rtol=1e-12, atol=1e-11 if path.endswith("obs") else 0, err_msg=path)
    else:
        assert a == b, path


@settings(max_examples=15, deadline=None, derandomize=True)
@given(
    drawings(), st.sampled_from([("m", False, "rad"), ("in", False, "gon"), ("m", True, "gon"), ("in", True, "rad")])
)
def test_units_change_nothing(numbers, written):
    plain = loaded(numbers, "mm", False, "deg")
    unit, own, angle = written
    other = loaded(numbers, unit, own, angle)
    same(plain, other)
    assert plain.stations[0].readings.obs[0] == pytest.approx(touched(numbers, numbers["seen"][0]), rel=1e-12, abs=1e-9)


def test_the_comparison_can_fail():
    """Negative twin: a job one part in 1e9 larger is another job."""
    numbers = {
        "x": 100.0, "y": 100.0, "diameter": 50.0, "depth": 20.0, "up": 0.1, "zone": 0.1, "ball": 12.0, "u": 0.01,
        "angle": 1.0, "seen": [(10.0, 20.0, 30.0)],
    }  # fmt: skip
    other = loaded(numbers | {"depth": 20.0 * (1 + 1e-9)}, "in", False, "deg")
    with pytest.raises(AssertionError, match=r"job\.zones"):
        same(loaded(numbers, "mm", False, "deg"), other)
