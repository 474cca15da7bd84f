"""What holds for every code of ISO 286: limits in order, grades that grow, holes as mirrored shafts."""

from itertools import pairwise

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from trysquare.core.errors import InputError
from trysquare.tolerances.limits_and_fits import DELTA_UP_TO_MM, LETTERS, limits, standard_tolerance_mm
from trysquare.tolerances.size_tables import GRADES

SIZES = st.floats(0.01, 3150.0, allow_nan=False)
HOLES = st.sampled_from(LETTERS)
quick = settings(derandomize=True, max_examples=50, deadline=None)


def found(nominal, code):
    try:
        return limits(nominal, code)
    except InputError:
        assume(False)
        raise


@quick
@given(SIZES, HOLES, st.sampled_from(GRADES), st.booleans())
def test_limits_are_in_order_and_as_wide_as_the_grade(nominal, letter, grade, hole):
    size = found(nominal, f"{letter if hole else letter.lower()}{grade}")
    assert size.lower_mm < size.upper_mm
    assert size.hole == hole
    assert size.upper_mm - size.lower_mm == pytest.approx(standard_tolerance_mm(nominal, grade), abs=1e-9)


@quick
@given(SIZES)
def test_tolerances_grow_with_the_grade_and_the_size(nominal):
    grades = [g for g in GRADES if nominal <= 500 or g not in ("01", "0")]
    widths = [standard_tolerance_mm(nominal, g) for g in grades]
    assert all(a < b for a, b in pairwise(widths))
    assert standard_tolerance_mm(3150.0, "7") >= standard_tolerance_mm(nominal, "7") >= standard_tolerance_mm(0.01, "7")


@quick
@given(SIZES, HOLES, st.integers(9, 18))
def test_holes_mirror_shafts_where_no_delta_acts(nominal, letter, grade):
    """The general rule; N to 500 mm (its upper deviation is 0) and J are the standard's exceptions."""
    assume(letter not in ("J", "N"))
    hole, shaft = found(nominal, f"{letter}{grade}"), found(nominal, f"{letter.lower()}{grade}")
    assert (hole.lower_mm, hole.upper_mm) == pytest.approx((-shaft.upper_mm, -shaft.lower_mm), abs=1e-12)


@quick
@given(
    st.floats(3.01, DELTA_UP_TO_MM),
    st.sampled_from(("P", "R", "S", "U", "X", "Z", "ZA", "ZB", "ZC")),
    st.integers(3, 7),
)
def test_with_delta_a_fit_is_as_tight_as_in_the_other_system(nominal, letter, grade):
    """Why delta is there: H of a grade with p of the next finer one fits as P of that grade with h of the finer one."""
    hole, shaft = found(nominal, f"H{grade}"), found(nominal, f"{letter.lower()}{grade - 1}")
    other, basic = found(nominal, f"{letter}{grade}"), found(nominal, f"h{grade - 1}")
    assert hole.lower_mm - shaft.upper_mm == pytest.approx(other.lower_mm - basic.upper_mm, abs=1e-12)
    assert hole.upper_mm - shaft.lower_mm == pytest.approx(other.upper_mm - basic.lower_mm, abs=1e-12)


def test_the_mirror_fails_where_delta_acts():
    """Negative twin."""
    hole, shaft = limits(50, "P7"), limits(50, "p7")
    assert hole.upper_mm != -shaft.lower_mm


@quick
@given(SIZES, HOLES, st.sampled_from(GRADES))
def test_further_letters_lie_further_out(nominal, letter, grade):
    """A to H come down to the nominal size, K to ZC go below it."""
    at = LETTERS.index(letter)
    assume(letter not in ("ZC", "H", "JS", "J") and LETTERS[at + 1] not in ("JS", "J"))
    here, beyond = found(nominal, f"{letter}{grade}"), found(nominal, f"{LETTERS[at + 1]}{grade}")
    assume(not (LETTERS[at + 1] == "N" and GRADES.index(grade) > 9) and not (letter == "N" and GRADES.index(grade) > 9))
    assert beyond.upper_mm <= here.upper_mm
