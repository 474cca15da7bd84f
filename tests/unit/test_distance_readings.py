"""What a distance is between, and its sign. Expected values: analytic."""

import numpy as np
import pytest
from job_folder import job_with

from trysquare.jobs.loading.load import problems
from trysquare.tolerances.features import Associated
from trysquare.tolerances.location import distance, distance_reading
from trysquare.tolerances.nominal import Nominal

X, Y, Z = np.eye(3)
TOML = "job.toml"


def as_measured(nominal, shift=(0.0, 0.0, 0.0)):
    at = nominal.point_mm + np.array(shift)
    return Associated(nominal, at, nominal.direction, None, np.zeros(0))


def plane(height, normal):
    return Nominal("plane", np.array([0.0, 0.0, height]), normal)


@pytest.mark.parametrize("turned", [1.0, -1.0])
def test_a_step_that_came_out_the_other_way_is_below_zero(turned):
    """A step of 0.02 mm, made 0.03 mm too low: -0.01, not 0.01."""
    low, high = plane(0.0, turned * Z), plane(0.02, turned * Z)
    for pair in ((low, high), (high, low)):
        ends = [as_measured(n, (0, 0, -0.03 * (n is high))) for n in pair]
        assert distance(*ends, along=None) == pytest.approx(-0.01, abs=1e-12)
        assert distance(*ends, along=turned * Z) == pytest.approx(-0.01, abs=1e-12)
    assert distance(as_measured(low), as_measured(high), along=None) == pytest.approx(0.02, abs=1e-12)


def test_from_a_centre_to_an_axis_is_across_the_axis():
    axis = Nominal("cylinder", np.array([0.0, 0.0, 50.0]), Z, 20.0, 40.0, True)
    ball = Nominal("sphere", np.array([30.0, 40.0, 90.0]), None, 10.0)
    for pair in ((axis, ball), (ball, axis)):
        assert distance(as_measured(pair[0]), as_measured(pair[1]), along=None) == pytest.approx(50.0, abs=1e-12)
        assert "across the axis" in distance_reading(*pair, along=None)


def test_a_distance_of_axes_near_zero_is_refused(tmp_path):
    """Its sign is lost: a length of a vector near zero is no smooth number. Negative twin: along a direction."""
    old = 'on = ["bore-1", "bore-2"]\ndistance = { nominal = 180, lower = "-0.002 in", upper = "0.002 in" }'
    moved = (TOML, "point = [300, 80, 40]", "point = [120.5, 80, 20]")
    new = 'on = ["bore-1", "bore-2"]\ndistance = { nominal = 0.5, lower = -0.05, upper = 0.05 }'
    found = [e for e in problems(job_with(tmp_path / "a", moved, (TOML, old, new))) if "distance" in e.what]
    assert [(e.rule, e.found) for e in found] == [("be at least 1 mm between axes or centres", "0.5 mm")]
    assert "along = [...]" in found[0].way_out
    along = new.replace("upper = 0.05", "upper = 0.05, along = [1, 0, 0]")
    assert not [e for e in problems(job_with(tmp_path / "b", moved, (TOML, old, along))) if "distance" in e.what]
