"""Filters of surfaces: edges, holes, draws, and what they refuse."""

import math

import numpy as np
import pytest
from scipy import ndimage

from trysquare.core.errors import InputError
from trysquare.geometry import gaussian_areal, robust_gaussian_areal

RNG = np.random.default_rng(31)
Y, X = np.mgrid[0:60, 0:70] * 0.05
OPTIONS = {"cutoff_mm": 0.8, "spacing_mm": 0.05}
HOLES = np.hypot(X - 1.2, Y - 1.5) > 0.3
HOLES[40:44, 50] = False


@pytest.mark.parametrize("by", [gaussian_areal, robust_gaussian_areal])
def test_each_draw_is_filtered_alone(by):
    draws = RNG.normal(size=(2, 2, 40, 50))
    for options in ({}, {"measured": HOLES[:40, :50]}):
        together = by(draws, **OPTIONS, **options)
        alone = by(draws[1, 0], **OPTIONS, **options)
        assert np.array_equal(together.long_mm[1, 0], alone.long_mm, equal_nan=True)
        assert together.affected.shape == (40, 50)


@pytest.mark.parametrize("measured", [None, HOLES])
@pytest.mark.parametrize("by", [gaussian_areal, robust_gaussian_areal])
def test_a_plane_passes_to_the_edges(by, measured):
    """Analytic: order 1 leaves a plane as it is, at edges and holes too; order 0 does not (negative twin)."""
    plane = 400.0 + 0.3 * X - 0.7 * Y
    seen = slice(None) if measured is None else measured
    result = by(plane, measured=measured, **OPTIONS)
    assert np.abs(result.short_mm[seen]).max() < 1e-10
    assert np.abs(gaussian_areal(plane, measured=measured, order=0, **OPTIONS).short_mm[seen]).max() > 0.05


def test_holes_against_ndimage():
    """Independent computation: blurred heights over blurred mask; what lies in the holes does not matter."""
    heights = RNG.normal(size=X.shape)
    sigma = math.sqrt(math.log(2) / math.pi) * 0.8 / math.sqrt(2 * math.pi) / 0.05

    def blurred(z):
        return ndimage.gaussian_filter(z, sigma, mode="constant", truncate=9.0)

    expected = blurred(heights * HOLES) / blurred(HOLES.astype(float))
    found = gaussian_areal(np.where(HOLES, heights, np.nan), measured=HOLES, order=0, **OPTIONS)
    assert np.abs(found.long_mm - expected)[HOLES].max() < 1e-12
    assert np.isnan(found.long_mm[~HOLES]).all()
    assert found.affected[~HOLES].all()
    assert found.affected[30, 31]  # beside the hole
    assert not found.affected[20, 50]
    assert "Not measured: " in found.notes[0]
    whole = gaussian_areal(heights, measured=np.ones(X.shape, bool), order=0, **OPTIONS)
    assert np.array_equal(whole.long_mm, gaussian_areal(heights, order=0, **OPTIONS).long_mm)


def test_scratch_beside_a_hole():
    """Analytic: the robust filter sees neither; weights are 0 in both."""
    clean = 0.2 * X + RNG.normal(0, 0.01, X.shape)
    hurt = clean - 1.0 * (np.abs(X - Y - 0.5) < 0.07)
    found = robust_gaussian_areal(np.where(HOLES, hurt, -999.0), measured=HOLES, **OPTIONS)
    expected = gaussian_areal(clean, measured=HOLES, **OPTIONS).long_mm
    assert np.abs(found.long_mm - expected)[HOLES].max() < 0.03
    assert (found.weights[~HOLES] == 0).all()
    assert (found.weights[np.abs(X - Y - 0.5) < 0.06] == 0).all()
    assert found.notes[-1].startswith("Set aside: ")


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"measured": np.ones((3, 3), bool)}, "be (ny, nx) true or false"),
        ({"measured": np.ones((60, 70))}, "be (ny, nx) true or false"),
        ({"measured": np.zeros((60, 70), bool)}, "some of it true"),
        ({"order": 2}, "be 0 or 1"),
    ],
)
def test_refusals(options, said):
    for by in (gaussian_areal, robust_gaussian_areal):
        with pytest.raises(InputError) as caught:
            by(X, **OPTIONS, **options)
        assert said in str(caught.value)


def test_a_measured_value_that_is_not_finite():
    heights = np.where(HOLES, X, np.nan)
    heights[5, 5] = np.inf
    with pytest.raises(InputError, match="be finite"):
        gaussian_areal(heights, measured=HOLES, **OPTIONS)
    with pytest.raises(InputError, match="be finite"):
        gaussian_areal(heights, **OPTIONS)
