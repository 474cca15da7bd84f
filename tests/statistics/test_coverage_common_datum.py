"""Position against two journals at once: stated intervals against known truth, in small.

The full run is bench/coverage_common_datum.py. The band is the 99.9 % binomial tolerance of 60 measurements around
95 %.
"""

import pytest
from bench import coverage_common_datum as bench

pytestmark = pytest.mark.statistics


def test_position_against_both_journals():
    row = bench.row(3.0, 0.0, 60, 150)
    assert 83.0 <= row["coverage_percent"] <= 100.0
    assert row["percentiles_coverage_percent (negative control)"] < 70.0


def test_bent_journals_are_another_datum_one_after_the_other():
    """Negative twin: the journals 80 um out of line; in order of precedence the front one alone is the axis."""
    row = bench.row(3.0, 40.0, 60, 150)
    assert 83.0 <= row["coverage_percent"] <= 100.0
    assert row["one_after_the_other_percent (negative control)"] < row["coverage_percent"] - 5.0
