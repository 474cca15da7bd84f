"""Position errors: stated intervals against known truth, in small. The full run is bench/coverage_magnitude.py.

Bands are the 99.9 % binomial tolerance of 400 measurements around 95 % (91 to 98.2), and around 5 % for wrong verdicts
at the limit (at most 9).
"""

import pytest
from bench import coverage_magnitude as bench

pytestmark = pytest.mark.statistics

ERRORS = {ellipse: bench.error_sets(ellipse, 8, draws=500) for ellipse in bench.ELLIPSES}


@pytest.mark.parametrize("ellipse", bench.ELLIPSES)
@pytest.mark.parametrize("length", [0.0, 0.3, 1.0, 3.0])
def test_position(ellipse, length):
    row = bench.row(ellipse, length, 400, ERRORS[ellipse], perfect=20)
    assert 91.0 <= row["coverage_percent"] <= 98.5
    if length > 0:
        assert row["wrongly_accepted_at_limit_percent"] <= 9.0
        assert row["wrongly_rejected_at_limit_percent"] <= 9.5
    # negative twin: percentiles miss a truth near zero
    control = row["percentiles_coverage_percent (negative control)"]
    assert control == 0.0 if length == 0.0 else control < 75.0 if length == 0.3 else True


def test_larger_of_two_ends():
    row = bench.axis_row((1.0, 1.0), 300, ERRORS[1.0])
    assert row["coverage_percent"] >= 92.0
    assert row["wrongly_accepted_at_limit_percent"] <= 9.0
    assert row["wrongly_rejected_at_limit_percent"] <= 10.0
    assert row["percentiles_coverage_percent (negative control)"] < 70.0
