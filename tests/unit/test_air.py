"""Air: sensitivities, errors of a range, limits of the formula, pressure of a place."""

from dataclasses import dataclass, replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from trysquare.chance.sources import Draws
from trysquare.core.errors import InputError
from trysquare.surroundings.air import (
    air_sources,
    distance_correction,
    index_with_uncertainty,
    pressure_bounds,
    pressure_fits_altitude,
    range_scale_errors,
    refractive_index,
    refractivity,
    saturation_pressure,
    standard_pressure,
)


@dataclass(frozen=True)
class Air:
    temperature_degC: float = 24.0
    u_temperature: float = 0.5
    pressure_Pa: float = 98.4e3
    u_pressure: float = 50.0
    humidity_percent: float = 45.0
    u_humidity: float = 10.0
    co2_ppm: float = 450.0
    u_co2: float = 50.0
    assumed: bool = False


def test_saturation_pressure_against_iapws():
    """Published: IAPWS-IF97 release, table 35 (300 K: 3536.58941 Pa); triple point 611.657 Pa."""
    assert_allclose(saturation_pressure(26.85), 3536.58941, rtol=1e-8)
    assert_allclose(saturation_pressure(0.01), 611.657, rtol=1e-5)
    assert_allclose(saturation_pressure(-1e-9), 611.657, rtol=1e-3)  # ice meets water


def test_leading_axes_are_draws():
    t = np.linspace(15, 30, 7)[:, None]
    p = np.array([95e3, 100e3])
    n = refractive_index(t, p, humidity_percent=50, wavelength_nm=633)
    assert n.shape == (7, 2)
    assert n[3, 1] == refractive_index(t[3, 0], p[1], humidity_percent=50, wavelength_nm=633)


def test_sensitivities_are_the_known_ones():
    """Common practice: 1 K is about -0.95e-6, 1 kPa 2.7e-6, 10 % RH -0.09e-6 at 20 degC."""
    air = index_with_uncertainty(20, 101325, humidity_percent=50, wavelength_nm=633)
    assert_allclose(air.per_K, -0.955e-6, rtol=0.03)
    assert_allclose(air.per_Pa, 2.68e-9, rtol=0.01)
    assert_allclose(air.per_percent_rh, -0.85e-8, rtol=0.03)
    assert_allclose(air.per_ppm_co2, 1.45e-10, rtol=0.02)
    assert_allclose(air.u, air.u_formula)
    assert 1.5e-8 < air.u_formula < 3e-8


def test_uncertainty_by_first_order_equals_draws():
    """Independent computation: spread of the index over 4000 draws of the inputs."""
    rng = np.random.default_rng(3)
    t, p, h = (m + u * rng.standard_normal(4000) for m, u in ((24, 0.5), (98.4e3, 50), (45, 5)))
    spread = refractivity(t, p, humidity_percent=h, wavelength_nm=633).std()
    air = index_with_uncertainty(
        24, 98.4e3, humidity_percent=45, wavelength_nm=633, u_temperature=0.5, u_pressure=50, u_humidity=5
    )
    assert_allclose(np.sqrt(air.u**2 - air.u_formula**2), spread, rtol=0.04)


def test_vapour_pressure_and_relative_humidity_say_the_same():
    pv = 0.45 * saturation_pressure(24)
    a = index_with_uncertainty(24, 98.4e3, humidity_percent=45, wavelength_nm=633, u_humidity=10)
    b = index_with_uncertainty(24, 98.4e3, vapour_pressure_Pa=pv, wavelength_nm=633,
                               u_humidity=0.1 * saturation_pressure(24))  # fmt: skip
    assert_allclose([a.refractivity, a.u, a.per_percent_rh], [b.refractivity, b.u, b.per_percent_rh], rtol=1e-9)
    assert abs(a.per_K - b.per_K) > 1e-9  # what is held constant differs


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"temperature_degC": 140}, "temperature"),
        ({"pressure_Pa": 1013.25}, "pressure"),
        ({"humidity_percent": 120}, "humidity"),
        ({"co2_ppm": -1}, "co2"),
        ({"wavelength_nm": 0.633}, "wavelength"),
        ({"method": "Edlén"}, "method"),
        ({"vapour_pressure_Pa": 900}, "humidity"),
        ({"temperature_degC": float("nan")}, "temperature"),
    ],
)
def test_air_outside_the_formula_is_refused(change, word):
    given = {"temperature_degC": 20, "pressure_Pa": 101325, "humidity_percent": 50, "wavelength_nm": 633} | change
    t, p = given.pop("temperature_degC"), given.pop("pressure_Pa")
    with pytest.raises(InputError) as caught:
        refractive_index(t, p, **given)
    assert word in caught.value.what
    assert caught.value.way_out


def test_vapour_above_saturation_is_refused():
    with pytest.raises(InputError, match="saturation"):
        refractive_index(20, 101325, vapour_pressure_Pa=4000, wavelength_nm=633)


def test_edlen_has_no_other_co2():
    with pytest.raises(InputError, match="450"):
        refractive_index(20, 101325, co2_ppm=600, wavelength_nm=633, method="Edlen")


def test_less_proven_air_is_noted():
    assert index_with_uncertainty(20, 101325, wavelength_nm=633).notes == ()
    notes = index_with_uncertainty(45, 55e3, wavelength_nm=1650).notes
    assert [note.split()[0] for note in notes] == ["temperature", "pressure", "wavelength"]


def test_distance_is_corrected_by_the_index():
    """Analytic: a range of d (vacuum) is d / n long."""
    N = refractivity(24, 98.4e3, humidity_percent=45, wavelength_nm=633)
    assert_allclose(10_000 + distance_correction(10_000, N), 10_000 / (1 + N), rtol=1e-14)


def test_range_errors_follow_from_the_sensitivities():
    air = Air()
    scale = range_scale_errors(air, Draws(1, 0, 4000))
    index = index_with_uncertainty(
        24, 98.4e3, humidity_percent=45, wavelength_nm=633, u_temperature=0.5, u_pressure=50, u_humidity=10, u_co2=50
    )
    assert scale.shape == (4000,)
    assert_allclose(scale.std(), index.u, rtol=0.05)


def test_one_source_alone_has_its_sign_and_size():
    """1 K warmer than declared: the true index is smaller, the range is reported 0.93e-6 short."""
    air = replace(Air(), u_temperature=0.5)
    draws = Draws(1, 0, 500, only={"air temperature"})
    dt = draws.of(air_sources(air)[0], ["day"])[:, 0]
    scale = range_scale_errors(air, draws)
    assert_allclose(scale, -0.92e-6 * dt, rtol=0.06, atol=1e-8)


def test_stations_share_the_air_of_the_day_unless_they_have_their_own():
    air, draws = Air(), Draws(5, 0, 300)
    assert np.array_equal(range_scale_errors(air, draws, station="1"), range_scale_errors(air, draws, station="2"))
    one, two = (range_scale_errors(air, draws, station=s, own=True) for s in ("1", "2"))
    assert abs(np.corrcoef(one, two)[0, 1]) < 0.2
    assert {s.scope for s in air_sources(air, "1", own=True)} == {"station", "day"}
    assert len({s.name for s in air_sources(air, "1", own=True) + air_sources(air, "2", own=True)}) == 8


def test_assumed_air_is_said_to_be():
    assert "assumed" in air_sources(replace(Air(), assumed=True))[0].origin


def test_standard_atmosphere():
    """Published (ISO 2533:1975, from memory): 0 m 101 325 Pa, 1000 m 89 876 Pa, 11 000 m 22 632 Pa."""
    assert_allclose(standard_pressure([0, 1000, 11000]), [101325, 89876, 22632], rtol=3e-5)


@pytest.mark.parametrize(("pressure", "altitude", "fits"), [
    (98.4e3, 250, True), (101.3e3, 800, False), (101.3e3, 0, True), (90e3, 1000, True), (984.0, 250, False),
])  # fmt: skip
def test_pressure_that_does_not_fit_the_altitude(pressure, altitude, fits):
    low, high = pressure_bounds(altitude)
    assert pressure_fits_altitude(pressure, altitude) is fits
    assert (low <= pressure <= high) is fits


def test_altitude_beyond_reason_is_refused():
    with pytest.raises(InputError, match="altitude"):
        standard_pressure(25_000)
