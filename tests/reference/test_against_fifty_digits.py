"""Least-squares shapes against fifty digits: Newton in `decimal` on the points as the computer holds them.

Expected values: independent computation (fifty_digits.py), which also checks the generator. What rounding of the
coordinates does to data made backwards is not in it: what is left is what the fit itself loses.
"""

import numpy as np
import pytest
from fifty_digits import optimum
from null_space_shapes import EPS, deviations
from test_against_null_space_shapes import FITS, fitted, is_elsewhere, largest, made_sets

EACH = 2  # sets of a kind and patch: Decimal is slow


@pytest.mark.parametrize("degrees", [360, 30, 5])
@pytest.mark.parametrize("kind", FITS)
def test_fit_is_the_optimum(kind: str, degrees: int) -> None:
    sets = list(made_sets(kind, degrees, every=3))
    for made in sets[1 :: max(1, len(sets) // EACH)]:
        exact, squares, step = optimum(made)
        fit = fitted(made)
        if is_elsewhere(made, fit):
            continue
        allowed = np.maximum(1e-9, 2 * EPS * largest(made) * made.gain)
        assert np.abs(step).max() < 1e-50
        assert (np.abs(deviations(made, fit) - exact) < allowed).all()
        assert abs(fit.sum_of_squares_mm2 / squares - 1) < 1e-9 + 8 * EPS * largest(made) / np.sqrt(squares)


@pytest.mark.parametrize("kind", FITS)
def test_generator_is_right(kind: str) -> None:
    """The nominal of data made backwards is the optimum, but for the rounding of the coordinates."""
    sets = list(made_sets(kind, 90, every=7, weighted=True))
    for made in sets[:: max(1, len(sets) // EACH)]:
        exact, squares, _ = optimum(made)
        assert (np.abs(exact) <= 16 * EPS * largest(made) * made.gain).all()
        assert abs(squares / made.squares - 1) < 1e-9 + 8 * EPS * largest(made) / np.sqrt(made.squares)


def test_negative_twin_least_digits_show() -> None:
    """A coordinate changed in its last digit changes the exact optimum, and no more than that."""
    made = next(iter(made_sets("sphere", 30)))
    before = optimum(made)[0]
    made.points[0, 0] = np.nextafter(made.points[0, 0], np.inf)
    change = np.abs(optimum(made)[0] - before).max()
    assert 0 < change < 1e-12
