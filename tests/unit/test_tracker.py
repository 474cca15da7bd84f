"""The tracker: protocol, scopes, faces, messages."""

import math

import numpy as np
import pytest

from trysquare.chance.sources import Draws
from trysquare.core.errors import InputError
from trysquare.instruments import tracker
from trysquare.instruments.base import Sighting
from trysquare.instruments.parameters import Parameter

VARYING = ("range_noise", "angle_noise", "angle_noise_distance", "pointing_noise")
UNITS = {**tracker.NEEDED, **tracker.OPTIONAL}
#: parameters whose errors are opposite in the two faces (the cosine of the elevation circle is not: see the test)
OPPOSITE = ("transit_offset", "beam_offset", "collimation", "tilt_axis_squareness", "vertical_index")


def parameters(**u):
    figures = dict.fromkeys(UNITS, 0.0) | u
    return {
        name: Parameter(
            figure, UNITS[name], "point at a station", "reading" if name in VARYING else "instrument"
        )
        for name, figure in figures.items()
    }  # fmt: skip


def sighting(obs, face=1, station="1", instrument="T", aims=None):
    obs = np.atleast_2d(np.asarray(obs, dtype=float))
    n = len(obs)
    return Sighting(
        station, instrument, tuple(f"{station}:{i}" for i in range(n)),
        tuple(f"a{i}" for i in range(n)) if aims is None else aims, ("ball",) * n, obs,
        np.full(n, face, dtype=np.int64),
    )  # fmt: skip


AIMS = np.array([[0.3, 0.1, 3000.0], [-2.0, -0.4, 8000.0], [2.9, 0.9, 15000.0]])
DRAWS = Draws(3, 0, 400)


def test_points_and_observe_are_inverse():
    model = tracker.from_parameters("T", parameters())
    np.testing.assert_allclose(model.observe(model.points(AIMS)), AIMS, rtol=1e-14)
    batch = np.broadcast_to(AIMS, (4, 3, 3))
    assert model.points(batch).shape == (4, 3, 3)
    np.testing.assert_allclose(model.points(np.array([[math.pi / 2, 0.0, 1000.0]])), [[0, 1000, 0]], atol=1e-10)
    np.testing.assert_allclose(model.points(np.array([[0.0, math.pi / 6, 1000.0]]))[0, 2], 500.0)


def test_sources_carry_the_station_or_the_instrument():
    model = tracker.from_parameters("T-1", parameters(range_noise=0.001))
    names = [s.name for s in model.sources("2")]
    assert names[:4] == [
        "station 2: range noise", "station 2: angles", "station 2: beam through moving air",
        "station 2: pointing at the target",
    ]  # fmt: skip
    assert all(name.startswith("T-1: ") for name in names[4:])
    assert [s.name for s in model.sources("1")][4:] == names[4:]
    assert all(s.action for s in model.sources("1"))
    assert {s.action for s in model.sources("1") if "squareness" in s.name} == {"measure in both faces"}


def test_what_an_instrument_has_it_has_at_every_station():
    model = tracker.from_parameters("T", parameters(range_constant=0.01, collimation=1e-5, range_noise=0.002))
    one, two = (model.errors(sighting(AIMS, station=s), DRAWS) for s in ("1", "2"))
    only = Draws(3, 0, 400, only={"T: range offset", "T: geometry, squareness of the beam"})
    one_fixed, two_fixed = (model.errors(sighting(AIMS, station=s), only) for s in ("1", "2"))
    assert np.array_equal(one_fixed, two_fixed)
    assert not np.array_equal(one, two)
    assert np.ptp(one_fixed[:, :, 2], axis=1).max() < 1e-15


def test_contributions_add_up_to_the_whole():
    model = tracker.from_parameters("T", parameters(**dict.fromkeys(UNITS, 1e-5)))
    seen = sighting(AIMS, face=2)
    whole = model.errors(seen, DRAWS)
    parts = sum(model.errors(seen, Draws(3, 0, 400, only={s.name})) for s in model.sources("1"))
    np.testing.assert_allclose(whole, parts, atol=1e-16)


def test_batches_of_draws_change_no_digit():
    model = tracker.from_parameters("T", parameters(**dict.fromkeys(UNITS, 1e-5)))
    seen = sighting(AIMS)
    whole = model.errors(seen, DRAWS)
    assert np.array_equal(whole[100:], model.errors(seen, Draws(3, 100, 400)))


def test_transverse_error_is_range_times_angle():
    """Analytic: an azimuth error e moves the point by range cos(elevation) e, an elevation error by range e."""
    u = 2e-6
    model = tracker.from_parameters("T", parameters(angle_noise=u))
    draws = Draws(5, 0, 20_000)
    moved = model.points(AIMS + model.errors(sighting(AIMS), draws)) - model.points(AIMS)
    az, el, r = AIMS.T
    across = np.stack([-np.sin(az), np.cos(az), 0 * az], -1)
    along = model.points(AIMS) / r[:, None]
    up = np.cross(along, across)
    np.testing.assert_allclose((moved * across).sum(-1).std(0), r * np.cos(el) * u, rtol=0.02)
    np.testing.assert_allclose((moved * up).sum(-1).std(0), r * u, rtol=0.02)
    assert np.abs((moved * along).sum(-1)).max() < 1e-5  # nothing along the beam, to second order


@pytest.mark.parametrize(
    ("name", "u", "expected"),
    [
        ("angle_noise_distance", 1e-6, lambda r: r * 1e-6 * np.sqrt(r / 10_000)),  # random walk of the beam's direction
        ("pointing_noise", 0.01, lambda r: 0.01 + 0 * r),
    ],
)
def test_air_and_pointing_act_across_the_beam_alike(name, u, expected):
    model = tracker.from_parameters("T", parameters(**{name: u}))
    _, el, r = AIMS.T
    spread = model.spread(sighting(AIMS))
    np.testing.assert_allclose(spread[:, 0] * r * np.cos(el), expected(r), rtol=1e-12)
    np.testing.assert_allclose(spread[:, 1] * r, expected(r), rtol=1e-12)
    assert not spread[:, 2].any()


def test_spread_is_the_deviation_of_what_differs_between_readings():
    varying = dict(zip(VARYING, (0.003, 2e-6, 1e-6, 0.005)))
    spread = tracker.from_parameters("T", parameters(**varying, collimation=1e-4)).spread(sighting(AIMS))
    draws = tracker.from_parameters("T", parameters(**varying)).errors(sighting(AIMS), Draws(1, 0, 20_000))
    np.testing.assert_allclose(spread, draws.std(0), rtol=0.02)


@pytest.mark.parametrize("name", OPPOSITE)
def test_the_mean_of_both_faces_is_free_of_it(name):
    """Analytic: opposite in the two faces, for any aim (Muralikrishnan et al. 2009, from memory)."""
    model = tracker.from_parameters("T", parameters(**{name: 1e-3}))
    one, two = (model.errors(sighting(AIMS, face=f), DRAWS) for f in (1, 2))
    assert np.abs(one).max() > 1e-8
    np.testing.assert_allclose(one + two, 0.0, atol=1e-12 * np.abs(one).max())


@pytest.mark.parametrize("name", ["range_constant", "range_proportional", "encoder_scale"])
def test_the_mean_of_both_faces_keeps_it(name):
    """Negative twin. Even orders of the azimuth scale stay in the mean of both faces (Muralikrishnan et al., J. Res.
    NIST 115 (2010) 291, abstract)."""
    model = tracker.from_parameters("T", parameters(**{name: 1e-5}))
    one, two = (model.errors(sighting(AIMS, face=f), DRAWS) for f in (1, 2))
    kept = 2 if name.startswith("range") else 0
    np.testing.assert_allclose(one[:, :, kept], two[:, :, kept], rtol=1e-9, atol=1e-18)
    assert np.abs(one[:, :, kept]).max() > 1e-8


def test_eccentricity_in_both_faces():
    """Once a turn cancels in azimuth (odd orders, 2010, abstract) and in elevation but for its cosine (derived)."""
    u = 1e-5
    model = tracker.from_parameters("T", parameters(eccentricity=u))
    one, two = (model.errors(sighting(AIMS, face=f), Draws(2, 0, 4000)) for f in (1, 2))
    mean = 0.5 * (one + two)
    np.testing.assert_allclose(mean[:, :, 0], 0.0, atol=1e-18)
    np.testing.assert_allclose(mean[:, :, 1].std(0), u * np.cos(AIMS[:, 1]), rtol=0.04)


def _certificate_with(**changes):
    figures = parameters()
    for name, value in changes.items():
        if value is None:
            del figures[name]
        else:
            figures[name] = value
    return lambda: tracker.from_parameters("T-9", figures)


@pytest.mark.parametrize(
    ("broken", "message"),
    [
        (_certificate_with(range_noise=None), 'tracker "T-9": the class must give all of '),
        (
            _certificate_with(range_nose=Parameter(1.0, "mm", "reading", "reading")),
            'tracker "T-9": the parameter "range_nose" must be one of ',
        ),
        (
            _certificate_with(angle_noise=Parameter(1.0, "mm", "reading", "reading")),
            'tracker "T-9": the unit of "angle_noise" must be "rad"; got "mm".',
        ),
    ],
)
def test_parameters_are_checked(broken, message):
    with pytest.raises(InputError) as caught:
        broken()
    assert str(caught.value).startswith(message)


@pytest.mark.parametrize(
    ("obs", "face", "message"),
    [
        ([0.1, 0.2, 0.0], 1, 'reading "1:1": the range must be above zero; got 0 mm.'),
        ([0.1, 1.565, 900.0], 1, 'reading "1:1": the elevation must lie within 89.4 deg of level; got 89.67 deg.'),
        ([0.1, 0.2, 900.0], 3, 'reading "1:0": the face must be 1 or 2; got 3.'),
    ],
)
def test_impossible_aims(obs, face, message):
    model = tracker.from_parameters("T", parameters(range_noise=0.001))
    with pytest.raises(InputError) as caught:
        model.errors(sighting([AIMS[0], obs], face=face), DRAWS)
    assert str(caught.value).startswith(message)


def test_scope_that_no_reading_has():
    figures = parameters() | {"range_constant": Parameter(0.01, "mm", "reading", "operator")}
    model = tracker.from_parameters("T", figures)
    with pytest.raises(InputError, match="the scope of a source must be one of reading, pose"):
        model.errors(sighting(AIMS), DRAWS)


def test_a_range_offset_of_each_station():
    figures = parameters() | {"range_constant": Parameter(0.01, "mm", "reading", "station")}
    model = tracker.from_parameters("T", figures)
    one, two = (model.errors(sighting(AIMS, station=s), DRAWS)[:, 0, 2] for s in ("1", "2"))
    assert abs(np.corrcoef(one, two)[0, 1]) < 0.2
