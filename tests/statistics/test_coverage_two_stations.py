"""The distance over two stations and the diameter of a bore: stated intervals against known truth, in small.

The full run of 10 000 is bench/coverage_two_stations.py. Bands here are the binomial tolerance of 2 000 measurements
(0.5 % standard error) and of 4 sets of draws around 95 %.
"""

import pytest
from bench import coverage_two_stations as bench

pytestmark = pytest.mark.statistics


def test_distance_over_two_stations():
    declared, ignored = bench.row("distance", bench.two_stations(), 2000, 4)
    assert 93.0 <= declared["coverage_percent"] <= 97.0
    assert ignored["coverage_percent"] < 80.0
    assert declared["ends_moved_by_own_readings_percent_of_U"] < 0.5


def test_bore():
    case = bench.bore()
    if case is None:
        pytest.skip("the fit of a cylinder is not there")
    declared, ignored = bench.row("bore", case, 2000, 2)
    assert 93.0 <= declared["coverage_percent"] <= 97.0
    assert ignored["coverage_percent"] < 85.0
