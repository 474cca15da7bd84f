"""Flatness and orientation: stated intervals against known truth, in small. The full run is bench/coverage_flatness.py.

Bands are the 99.9 % binomial tolerance around the 92 to 98 % that the method is held to.
"""

import pytest
from bench import coverage_flatness as bench

pytestmark = pytest.mark.statistics


@pytest.mark.parametrize("ratio", [3.0, 20.0])
def test_flatness_of_a_twisted_plate(ratio):
    plain = bench.Setting()
    row = bench.flatness_row("plain", ratio, 100, 2, true=plain, declared=plain)
    assert row["coverage_percent"] >= 85.0
    assert row["truth_above_percent"] <= 10.0
    if ratio == 3.0:  # negative twin
        assert row["percentiles_coverage_percent (negative control)"] < 20.0


def test_smooth_error_must_be_told():
    """Negative twin: the same readings, stated by a model that does not know the instrument's slow wave."""
    waved = bench.Setting(wave=2.0)
    row = bench.flatness_row("waved", 3.0, 40, 2, true=waved, declared=waved, blind=True)
    assert row["coverage_percent"] >= 85.0
    assert row["untold_percent (negative control)"] < 60.0


@pytest.mark.parametrize("held", [1, 2])
def test_orientation_near_perfect(held):
    row = bench.orientation_row(3.0, 1.0, held, 40)
    assert row["coverage_percent"] >= 85.0
    assert row["percentiles_coverage_percent (negative control)"] < 40.0
