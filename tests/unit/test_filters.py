"""Filters: parts add up, ends and gaps are said, bad input is refused with a way out."""

import math

import numpy as np
import pytest

from trysquare.core.errors import InputError
from trysquare.core.threads import threads
from trysquare.geometry import (
    band_pass,
    gaussian_areal,
    gaussian_closed,
    gaussian_profile,
    gaussian_transmission,
    robust_gaussian_areal,
    robust_gaussian_closed,
    robust_gaussian_profile,
    spline_closed,
    spline_profile,
)

RNG = np.random.default_rng(12)
X = np.arange(500) * 0.01
UNEVEN = np.sort(RNG.uniform(0, 5, 500))
OPEN = (gaussian_profile, robust_gaussian_profile, spline_profile)
CLOSED = (gaussian_closed, robust_gaussian_closed, spline_closed)


@pytest.mark.parametrize("by", OPEN)
def test_parts_of_an_open_profile_add_up(by):
    heights = RNG.normal(size=(2, 3, 500))
    result = by(heights, cutoff_mm=0.8, spacing_mm=0.01)
    assert result.long_mm.shape == heights.shape
    assert np.abs(result.long_mm + result.short_mm - heights).max() < 1e-14
    assert result.affected.shape == (500,)
    assert "cut-off 0.8 mm" in result.method


@pytest.mark.parametrize("by", CLOSED)
def test_parts_of_a_closed_profile_add_up(by):
    heights = RNG.normal(size=(2, 3, 500))
    result = by(heights, cutoff_upr=15)
    assert np.abs(result.long_mm + result.short_mm - heights).max() < 1e-14
    assert "cut-off 15 UPR" in result.method
    assert not result.affected.any()


@pytest.mark.parametrize(
    ("by", "options"),
    [
        (gaussian_profile, {"cutoff_mm": 0.8, "spacing_mm": 0.01}),
        (gaussian_profile, {"cutoff_mm": 0.8, "positions_mm": UNEVEN}),
        (robust_gaussian_profile, {"cutoff_mm": 0.8, "positions_mm": UNEVEN}),
        (spline_profile, {"cutoff_mm": 0.8, "spacing_mm": 0.01}),
        (gaussian_closed, {"cutoff_upr": 5}),
        (gaussian_closed, {"cutoff_upr": 5, "angles_rad": UNEVEN}),
        (robust_gaussian_closed, {"cutoff_upr": 5, "angles_rad": UNEVEN}),
        (spline_closed, {"cutoff_upr": 5}),
    ],
)
def test_each_draw_is_filtered_alone(by, options):
    """Neighbours and threads do not change a digit."""
    draws = RNG.normal(size=(5, 500))
    together = by(draws, **options).long_mm
    with threads(1):
        alone = np.array([by(draw, **options).long_mm for draw in draws])
    assert np.array_equal(together, alone)


def test_draws_of_surfaces():
    draws = RNG.normal(size=(3, 40, 50))
    for by in (gaussian_areal, robust_gaussian_areal):
        together = by(draws, cutoff_mm=0.8, spacing_mm=0.05)
        alone = [by(draw, cutoff_mm=0.8, spacing_mm=0.05).long_mm for draw in draws]
        assert np.array_equal(together.long_mm, alone)
        assert together.affected.shape == (40, 50)
        assert not together.affected[20, 25]
        assert together.affected[0, 25]


def test_even_positions_are_even_samples():
    heights = RNG.normal(size=500)
    by_spacing = gaussian_profile(heights, cutoff_mm=0.8, spacing_mm=0.01)
    by_place = gaussian_profile(heights, cutoff_mm=0.8, positions_mm=X + 1e4)
    assert np.abs(by_spacing.long_mm - by_place.long_mm).max() < 1e-9


def test_ends_are_said_and_masked():
    result = gaussian_profile(RNG.normal(size=500), cutoff_mm=0.8, spacing_mm=0.01)
    assert result.at_ends == (40, 40)
    assert "40 samples at the start, 40 at the end" in result.notes[0]
    masked = result.masked()
    assert np.isnan(masked.long_mm).sum() == 80
    assert np.isfinite(masked.short_mm[40:460]).all()
    assert np.isfinite(result.long_mm).all()


def test_a_cutoff_as_long_as_the_profile():
    result = gaussian_profile(RNG.normal(size=500), cutoff_mm=4.99, spacing_mm=0.01, order=2)
    assert result.affected.all()
    assert "Every sample lies so near an end" in result.notes[-1]
    assert result.at_ends == (500, 500)


def test_few_samples_are_noted():
    assert (
        "4 samples a cut-off, where they lie furthest apart; 5 or more"
        in gaussian_profile(np.zeros(50), cutoff_mm=0.4, spacing_mm=0.1).notes[0]
    )
    assert gaussian_closed(np.zeros(105), cutoff_upr=15).notes == ()
    assert (
        "6 samples a cut-off, where they lie furthest apart; 7 or more"
        in gaussian_closed(np.zeros(90), cutoff_upr=15).notes[0]
    )


@pytest.mark.parametrize(("samples", "within"), [(10, 0.03), (25, 0.005), (50, 5e-4)])
def test_uneven_samples_near_the_cutoff(samples, within):
    """Steps that vary by a third: the sum is the integral within what the notes and the methods page say."""
    x = (np.arange(100 * samples) + RNG.uniform(-0.3, 0.3, 100 * samples)) / samples
    wave = np.cos(2 * np.pi * x)
    result = gaussian_profile(wave, cutoff_mm=1.0, positions_mm=x)
    off = np.abs(result.long_mm - 0.5 * wave)[3 * samples : -3 * samples].max()
    assert within / 20 < off < within
    assert any("may be off by a percent" in note for note in result.notes) == (samples < 20)


@pytest.mark.parametrize("by", CLOSED)
def test_turning_and_scaling_a_ring(by):
    """Property: a ring begun elsewhere, in another unit and on another radius gives the same form."""
    heights = RNG.normal(0, 0.01, 720)
    heights[100:104] += 0.3
    plain = by(heights, cutoff_upr=15).long_mm
    other = by(25.0 + 1000 * np.roll(heights, 77), cutoff_upr=15).long_mm
    assert np.abs((other - 25.0) / 1000 - np.roll(plain, 77)).max() < 1e-8


def test_a_missing_arc():
    """The edges of a gap are ends; within the gap nothing is invented; elsewhere nothing changes."""
    angle = np.arange(720) * 2 * math.pi / 720
    heights = 0.01 * np.cos(2 * angle) + RNG.normal(0, 0.001, 720)
    keep = (angle < 1.0) | (angle > 1.9)
    whole = gaussian_closed(heights, cutoff_upr=15)
    arc = gaussian_closed(heights[keep], cutoff_upr=15, angles_rad=angle[keep], order=1)
    assert "1 gap longer than half a cut-off, 52 deg in all" in arc.notes[0]
    near = np.minimum(np.abs(angle[keep] - angle[keep][angle[keep] < 1.0][-1]), np.abs(angle[keep] - 1.9))
    assert arc.affected[near < 0.2].all()
    assert not arc.affected[near > 0.22].any()
    assert np.abs(arc.long_mm - whole.long_mm[keep])[near > 0.65].max() < 1e-12
    jittered = angle + RNG.uniform(-1e-4, 1e-4, 720)  # uneven: pair by pair instead of by Fourier transforms
    other = gaussian_closed(heights[keep], cutoff_upr=15, angles_rad=jittered[keep], order=1)
    assert np.abs(arc.long_mm - other.long_mm).max() < 1e-4


def test_several_gaps_and_an_open_gap():
    keep = np.ones(500, bool)
    keep[100:180] = keep[300:390] = False
    result = gaussian_profile(3 + 2 * X[keep], cutoff_mm=0.4, positions_mm=X[keep])
    assert "2 gaps longer than half a cut-off" in result.notes[0]
    assert np.abs(result.short_mm).max() < 1e-11
    assert result.affected[80:120].all()


def test_a_sample_that_stands_alone_has_no_value():
    x = np.concatenate([X, [9.0]])
    result = gaussian_profile(np.sin(x), cutoff_mm=0.4, positions_mm=x, order=1)
    assert np.isnan(result.long_mm[-1])
    assert result.affected[-1]
    assert "neighbours that count: 1 samples" in result.notes[-1]


def test_a_groove_wider_than_the_reach_is_not_bridged():
    """Where every sample within reach is set aside, the robust filter gives no value, and says so."""
    heights = RNG.normal(0, 0.001, 2000)
    heights[900:1100] -= 5.0 + RNG.normal(0, 1.0, 200)
    result = robust_gaussian_profile(heights, cutoff_mm=0.2, spacing_mm=0.01, order=0)
    assert np.isnan(result.long_mm[980:1020]).all()
    assert result.affected[980:1020].all()
    assert "neighbours that count" in result.notes[-1]
    assert np.abs(result.long_mm[:850]).max() < 0.01


def test_what_does_not_settle_is_said(monkeypatch):
    draws = np.random.default_rng(0).normal(size=(5, 400))
    settled = robust_gaussian_closed(draws, cutoff_upr=15)
    assert (settled.stopped == "scale settled").all()
    monkeypatch.setattr("trysquare.geometry.filters.robust._MOST", int(settled.iterations.min()))
    early = robust_gaussian_closed(draws, cutoff_upr=15)
    late = settled.iterations > settled.iterations.min()
    assert late.any()
    assert np.array_equal(early.stopped == "iteration limit", late)
    assert f": {late.sum()} of 5." in early.notes[-1]


def test_band_between_two_cutoffs():
    x = np.arange(4000) * 0.005
    waves = sum(np.cos(2 * np.pi * x / wavelength) for wavelength in (0.02, 0.3, 8.0))
    band = band_pass(waves, gaussian_profile, cutoffs_mm=(2.5, 0.08), spacing_mm=0.005)
    middle = slice(600, -600)
    assert np.abs(band.long_mm + band.band_mm + band.short_mm - waves).max() < 1e-13

    def share(wavelength):
        fine, coarse = gaussian_transmission(wavelength / 0.08), gaussian_transmission(wavelength / 2.5)
        return fine * (1 - coarse)

    expected = sum(share(w) * np.cos(2 * np.pi * x / w) for w in (0.02, 0.3, 8.0))
    assert np.abs(band.band_mm - expected)[middle].max() < 1e-10
    assert band.affected.sum() == 2 * 250
    assert len(band.notes) == 2


def test_band_round_a_circle():
    angle = np.arange(3600) * 2 * np.pi / 3600
    heights = np.cos(2 * angle) + np.cos(80 * angle)
    for cutoffs in ((15, 500), (500, 15)):
        band = band_pass(heights, gaussian_closed, cutoffs_upr=cutoffs)
        assert np.abs(band.band_mm - 0.98 * np.cos(80 * angle)).max() < 0.03


BAD = [
    (gaussian_profile, [0, np.nan, 0, 0], {"cutoff_mm": 2, "spacing_mm": 1}, "be finite"),
    (gaussian_profile, [[1, 2]], {"cutoff_mm": 2, "spacing_mm": 1}, "3 samples or more"),
    (gaussian_profile, 5.0, {"cutoff_mm": 2, "spacing_mm": 1}, "3 samples or more"),
    (gaussian_profile, ["a", "b", "c"], {"cutoff_mm": 2, "spacing_mm": 1}, "be numbers"),
    (gaussian_profile, X, {"cutoff_mm": 0, "spacing_mm": 0.01}, "the cut-off must be a finite number above 0"),
    (gaussian_profile, X, {"cutoff_mm": math.nan, "spacing_mm": 0.01}, "the cut-off must be a finite number above 0"),
    (gaussian_profile, X, {"cutoff_mm": "0.8 mm", "spacing_mm": 0.01}, "the cut-off must be a finite number above 0"),
    (gaussian_profile, X, {"cutoff_mm": 0.8, "spacing_mm": -1}, "the spacing must be a finite number above 0"),
    (gaussian_profile, X, {"cutoff_mm": 0.8}, "be given once"),
    (gaussian_profile, X, {"cutoff_mm": 0.8, "spacing_mm": 0.01, "positions_mm": X}, "be given once"),
    (gaussian_profile, X, {"cutoff_mm": 0.8, "positions_mm": X[:-1]}, "one number for each of the 500 samples"),
    (gaussian_profile, X, {"cutoff_mm": 0.8, "positions_mm": X[::-1]}, "ascend without repeats"),
    (gaussian_profile, X, {"cutoff_mm": 0.8, "positions_mm": np.sort(np.append(X[1:], 1.0))}, "1 then 1"),
    (gaussian_profile, X, {"cutoff_mm": 0.8, "positions_mm": np.append(X[:-1], np.inf)}, "be finite"),
    (gaussian_profile, X, {"cutoff_mm": 6.0, "spacing_mm": 0.01}, "no longer than the profile"),
    (gaussian_profile, X, {"cutoff_mm": 0.015, "spacing_mm": 0.01}, "span two samples or more"),
    (gaussian_profile, X, {"cutoff_mm": 0.8, "spacing_mm": 0.01, "order": 3}, "be 0, 1 or 2"),
    (gaussian_closed, X, {}, "be given once"),
    (gaussian_closed, X, {"cutoff_upr": 15, "cutoff_mm": 1.0}, "be given once"),
    (gaussian_closed, X, {"cutoff_mm": 1.0}, "be given once"),
    (gaussian_closed, X, {"cutoff_upr": 0.5}, "1 undulation per revolution or more"),
    (gaussian_closed, X, {"cutoff_upr": 300}, "span two samples or more"),
    (gaussian_closed, X, {"cutoff_upr": 15, "angles_rad": np.linspace(0, 2 * math.pi, 500)}, "within one turn"),
    (gaussian_closed, X, {"cutoff_upr": 15, "angles_rad": np.degrees(X)}, "within one turn"),
    (robust_gaussian_profile, [0, np.inf, 0, 0], {"cutoff_mm": 2, "spacing_mm": 1}, "be finite"),
    (spline_profile, X, {"cutoff_mm": 0.8, "positions_mm": UNEVEN}, "be even"),
    (spline_profile, X, {"cutoff_mm": 0.8, "spacing_mm": 0.01, "tension": 1.5}, "between 0 and 1"),
    (spline_closed, X[:400], {"cutoff_upr": 15, "angles_rad": X[:400]}, "close without a gap"),
    (gaussian_areal, X, {"cutoff_mm": 0.8, "spacing_mm": 0.01}, "(..., ny, nx)"),
    (gaussian_areal, np.zeros((30, 30)), {"cutoff_mm": 0.8, "spacing_mm": (0.1, 0.1, 0.1)}, "one number or two"),
    (gaussian_areal, np.zeros((30, 30)), {"cutoff_mm": 0.8, "spacing_mm": 0.1, "order": 2}, "be 0 or 1"),
    (gaussian_areal, np.zeros((30, 5)), {"cutoff_mm": 0.8, "spacing_mm": 0.1}, "no longer than the profile"),
]


@pytest.mark.parametrize(("by", "heights", "options", "said"), BAD)
def test_bad_input_is_refused(by, heights, options, said):
    with pytest.raises(InputError) as caught:
        by(heights, **options)
    assert said in str(caught.value)
    assert caught.value.way_out


@pytest.mark.parametrize("options", [{}, {"cutoffs_mm": (0.8, 0.8)}, {"cutoffs_mm": (1, 2), "cutoffs_upr": (1, 2)}])
def test_bad_bands(options):
    with pytest.raises(InputError):
        band_pass(X, gaussian_profile, spacing_mm=0.01, **options)
