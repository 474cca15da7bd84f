"""The instrument that reports points: noise, floor, lengths in proportion, smooth field."""

import numpy as np
import pytest

from trysquare.chance.sources import Draws
from trysquare.core.errors import InputError
from trysquare.instruments import cartesian, smooth_field
from trysquare.instruments.base import Sighting
from trysquare.instruments.parameters import Parameter

UNITS = {**cartesian.NEEDED, **cartesian.OPTIONAL}
SCOPES = {"noise": "reading", "noise_floor": "aim", "smooth_field": "station"}


def model(name="S", length=500.0, **u):
    figures = dict.fromkeys(UNITS, 0.0) | u
    return cartesian.from_parameters(
        name,
        {
            key: Parameter(figure, UNITS[key], "point at a station", SCOPES.get(key, "instrument"), value=length)
            for key, figure in figures.items()
        },
    )


def sighting(points, aims=None, station="1"):
    n = len(points)
    ids = tuple(f"{station}:{i}" for i in range(n))
    aims = ids if aims is None else aims
    return Sighting(station, "S", ids, aims, ("",) * n, np.asarray(points, float), np.ones(n, dtype=np.int64))


RNG = np.random.default_rng(1)
POINTS = RNG.uniform(-1500, 1500, (30, 3))


def test_repeats_average_the_noise_down_to_the_floor():
    repeats = sighting(np.zeros((400, 3)), aims=("one",) * 400)
    mean = model(noise=0.02, noise_floor=0.005).errors(repeats, Draws(1, 0, 4000)).mean(1)
    np.testing.assert_allclose(mean.std(0), np.hypot(0.005, 0.02 / 20), rtol=0.05)


@pytest.mark.parametrize("direction", [[1, 0, 0], [0, 1, 1], [1, -1, 1], [3, 1, -2]])
def test_every_length_errs_in_proportion(direction):
    """Analytic: u of a length L is u L in every direction, wherever the length lies."""
    u, L = 8e-6, 1700.0
    n = np.array(direction) / np.linalg.norm(direction)
    ends = np.array([[400.0, -900, 300], [400.0, -900, 300] + L * n])
    errors = model(length_proportional=u).errors(sighting(ends), Draws(2, 0, 20_000))
    along = (errors[:, 1] - errors[:, 0]) @ n
    np.testing.assert_allclose(along.std(), u * L, rtol=0.02)


def test_perpendicular_lengths_err_apart_but_a_scale_errs_alike():
    ends = np.array([[0.0, 0, 0], [1000, 0, 0], [0, 1000, 0]])
    strained = model(length_proportional=1e-5).errors(sighting(ends), Draws(2, 0, 5000))
    scaled = model(scale=1e-5).errors(sighting(ends), Draws(2, 0, 5000))
    assert abs(np.corrcoef(strained[:, 1, 0], strained[:, 2, 1])[0, 1]) < 0.05
    np.testing.assert_allclose(scaled[:, 1, 0], scaled[:, 2, 1], rtol=1e-12)
    assert np.abs(scaled[:, 0]).max() == 0


def test_the_smooth_field_has_its_size_and_its_correlation():
    """Expected: the Gaussian correlation that the field states (analytic), within the 0.08 it states too."""
    line = np.stack([np.linspace(0, 2000, 9), np.zeros(9), np.zeros(9)], -1)
    errors = model(smooth_field=0.03).errors(sighting(line), Draws(4, 0, 20_000))
    np.testing.assert_allclose(errors.std(0), 0.03, rtol=0.02)
    found = np.corrcoef(errors[:, :, 2].T)[0]
    np.testing.assert_allclose(found, smooth_field.correlation(line[:, 0], 500.0), atol=0.1)
    assert abs(np.corrcoef(errors[:, 0, 0], errors[:, 0, 1])[0, 1]) < 0.03


def test_its_waves_keep_what_they_state():
    rng = np.random.default_rng(2)
    d = rng.normal(size=(5000, 3))
    d *= rng.uniform(0, 4, (5000, 1)) / np.linalg.norm(d, axis=1, keepdims=True)
    off = np.cos(d @ smooth_field._waves().T).mean(1) - smooth_field.correlation(np.linalg.norm(d, axis=1), 1.0)
    assert np.abs(off).max() < 0.08
    assert np.sqrt((off**2).mean()) < 0.016


def test_the_field_at_a_place_knows_nothing_of_other_places():
    smooth = model(smooth_field=0.03)
    whole = smooth.errors(sighting(POINTS), Draws(5, 0, 30))
    part = smooth.errors(sighting(POINTS[[3, 17]]), Draws(5, 0, 30))
    np.testing.assert_allclose(whole[:, [3, 17]], part, atol=1e-15)
    elsewhere = smooth.errors(sighting(POINTS, station="2"), Draws(5, 0, 30))
    assert not np.allclose(whole, elsewhere)


def test_residuals_of_neighbours_go_together_and_noise_does_not():
    """Negative twin: with plain noise of the same size neighbours say nothing of each other."""
    pair = np.array([[0.0, 0, 0], [50, 0, 0]])
    smooth = model(smooth_field=0.03).errors(sighting(pair), Draws(1, 0, 2000))
    plain = model(noise=0.03).errors(sighting(pair), Draws(1, 0, 2000))
    assert np.corrcoef(smooth[:, 0, 0], smooth[:, 1, 0])[0, 1] > 0.98
    assert abs(np.corrcoef(plain[:, 0, 0], plain[:, 1, 0])[0, 1]) < 0.1


def test_contributions_add_up_and_names():
    full = model(noise=0.02, noise_floor=0.01, length_proportional=1e-5, smooth_field=0.03, scale=1e-5)
    parts = sum(full.errors(sighting(POINTS), Draws(3, 0, 50, only={s.name})) for s in full.sources("1"))
    np.testing.assert_allclose(full.errors(sighting(POINTS), Draws(3, 0, 50)), parts, atol=1e-14)
    assert [s.name for s in full.sources("1")] == [
        "station 1: noise", "station 1: what averaging does not remove", "station 1: smooth errors over the volume",
        "S: lengths, in proportion", "S: scale",
    ]  # fmt: skip
    np.testing.assert_allclose(full.spread(sighting(POINTS)), np.hypot(0.02, 0.01))
    assert np.array_equal(full.points(POINTS), full.observe(POINTS))


def test_a_smooth_field_needs_its_length():
    with pytest.raises(InputError, match=r'instrument "S": the value of "smooth_field" must be a correlation length'):
        model(smooth_field=0.01, length=0.0)
    assert model(smooth_field=0.0, length=0.0).name == "S"


def test_batches_of_draws_change_no_digit():
    full = model(noise=0.02, noise_floor=0.01, length_proportional=1e-5, smooth_field=0.03)
    whole = full.errors(sighting(POINTS), Draws(3, 0, 301))
    for start, stop in ((0, 1), (1, 250), (250, 301)):
        assert np.array_equal(whole[start:stop], full.errors(sighting(POINTS), Draws(3, start, stop)))


def test_threads_change_no_digit():
    from trysquare.core.threads import threads

    smooth = model(smooth_field=0.03)
    with threads(1):
        one = smooth.errors(sighting(POINTS), Draws(3, 0, 300))
    with threads(2):
        two = smooth.errors(sighting(POINTS), Draws(3, 0, 300))
    assert np.array_equal(one, two)
