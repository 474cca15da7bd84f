"""Angles near 0 and 180 degrees are folded: what may be said of them rests on the vector before that.

Expected values: analytic. UNCERTAINTY: percentiles of an angle whose truth is 0 hold it in 0 of 100 cases.
"""

import math

import numpy as np
import pytest
from job_folder import job_with

from trysquare.chance.statement import ranked
from trysquare.jobs.job import Requirement
from trysquare.jobs.loading.load import load, problems
from trysquare.jobs.simulated.true_values import single
from trysquare.jobs.stating import state
from trysquare.tolerances.features import Associated
from trysquare.tolerances.measurand import Asked, Surface, measurand
from trysquare.tolerances.nominal import Nominal

X, Y, Z = np.eye(3)
TOML, DEG = "job.toml", math.pi / 180
CORNER = 'angle = { nominal = "90 deg", lower = "-0.05 deg", upper = "0.05 deg" }'
U = 1e-4


def surfaces(turn, tilts):
    """A plane up, and one `turn` about x from it whose normal leans by `tilts` (..., 2) besides."""
    drawn = np.cos(turn) * Z - np.sin(turn) * Y
    u, v = X, np.cross(drawn, X)
    leaning = drawn + tilts[..., :1] * u + tilts[..., 1:] * v
    leaning = leaning / np.linalg.norm(leaning, axis=-1, keepdims=True)
    lead = tilts.shape[:-1]
    first = Associated(Nominal("plane", np.zeros(3), Z), np.zeros(3), np.broadcast_to(Z, (*lead, 3)), None, np.zeros(1))
    second = Associated(Nominal("plane", Z, drawn), Z, leaning, None, np.zeros(1))
    return {name: Surface(np.zeros((*lead, 1, 3)), f) for name, f in (("a", first), ("b", second))}


def asked(nominal):
    return Requirement(
        "1", "1", "angle", ("a", "b"), (), nominal, None, None, False, "", None, None, None, False, None, 0
    )


def found(nominal, turn, tilt, errors):
    """The statement from one reading `tilt` (2,) and draws of its errors."""
    value, drawn = (measurand(Asked("angle", ("a", "b")), surfaces(turn, t), None) for t in (tilt, tilt + errors))
    return state(asked(nominal), value, drawn, 1), value


@pytest.mark.parametrize("flat", [0.0, math.pi])
def test_an_interval_holds_an_angle_that_is_exactly_flat(flat):
    rng = np.random.default_rng(4)
    held, percentiles = 0, 0
    for _ in range(120):
        tilt, errors = U * rng.normal(size=2), U * rng.normal(size=(400, 2))
        said, value = found(flat, flat, tilt, errors)
        assert said.kind == "magnitude"
        assert said.value == pytest.approx(single(value), abs=1e-15)
        held += said.interval[0] <= flat <= said.interval[1]
        low, high = ranked(np.abs(flat - np.linalg.norm(tilt + errors, axis=1)), [0.025, 0.975])
        percentiles += low <= flat <= high
    assert held >= 108
    assert percentiles == 0  # negative twin


@pytest.mark.parametrize("turn", [0.3 * DEG, 5 * DEG, 60 * DEG, 179 * DEG])
def test_the_value_is_the_angle(turn):
    rng = np.random.default_rng(6)
    said, _ = found(turn, turn, np.zeros(2), U * rng.normal(size=(2000, 2)))
    assert said.value == pytest.approx(turn, abs=1e-14)
    assert said.u == pytest.approx(U, rel=0.06)
    low, high = said.interval
    assert low < turn < high
    assert high - low == pytest.approx(2 * 1.96 * U, rel=0.06)
    assert said.kind == ("smooth" if turn == 60 * DEG else "magnitude")


ON = 'on = ["left", "front"]\n' + CORNER
RIGHT = "plane = { point = [400, 150, 30], normal = [%s, 0, 0] }"


def corner(folder, angle, *edits):
    """The requirement between left and right."""
    job = load(job_with(folder, (TOML, ON, f'on = ["left", "right"]\nangle = {angle}'), *edits), measured=False)
    return next(r for r in job.requirements if r.id == "6")


def test_limits_beyond_flat_are_none(tmp_path):
    turned = (TOML, RIGHT % 1, RIGHT % -1)
    flat = corner(tmp_path / "a", '{ nominal = "0 deg", lower = "-0.05 deg", upper = "0.05 deg" }', turned)
    assert (flat.lower, flat.upper) == (None, pytest.approx(0.05 * DEG))
    back = corner(tmp_path / "b", '{ nominal = "180 deg", lower = "-0.05 deg", upper = "0.05 deg" }')
    assert (back.lower, back.upper) == (pytest.approx(179.95 * DEG), None)


def test_a_limit_that_excludes_nothing_is_said(tmp_path):
    new = 'on = ["left", "right"]\nangle = { nominal = "180 deg", upper = "0.05 deg" }'
    (error,) = problems(job_with(tmp_path, (TOML, ON, new)))
    assert (error.rule, error.found) == ("exclude some angle: one lies between 0 and 180 deg", "upper 0.05 deg")
    assert "near 180 deg a lower one" in error.way_out
