"""Heat: expansion, the exact field of a gradient, the way back to 20 degC, its sources."""

from dataclasses import dataclass, field, replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from trysquare.chance.sources import Draws
from trysquare.core.errors import InputError
from trysquare.surroundings.heat import (
    UNMEASURED_U,
    displacement,
    heat_errors,
    heat_sources,
    length_to_reference,
    strain,
    to_reference,
)
from trysquare.surroundings.materials import MATERIALS, material

POINTS = np.array([[0.0, 0, 0], [1000, 0, 0], [200, -700, 400], [-1500, 900, 2000]])
G = np.array([0.0, 0.0004, 0.0006])  # K/mm


@dataclass(frozen=True)
class Zone:
    name: str = "body"
    material: str = "steel"
    alpha: float = 11.5e-6
    u_alpha: float = 0.6e-6
    alpha_origin: str = "table"
    temperature_degC: float | None = 24.0
    u_temperature: float = 0.3
    gradient: np.ndarray = field(default_factory=lambda: np.zeros(3))
    anchor_mm: np.ndarray = field(default_factory=lambda: np.zeros(3))


def test_a_metre_of_steel_grows_11_5_um_a_kelvin():
    """Analytic, at the reference temperature of ISO 1:2022: nothing at 20 degC, 11.5 um at 21 degC."""
    ends = [[0, 0, 0], [1000, 0, 0]]
    assert_allclose(displacement(ends, alpha=11.5e-6, temperature_degC=21)[1], [0.0115, 0, 0], atol=1e-15)
    assert np.array_equal(displacement(ends, alpha=11.5e-6, temperature_degC=20), np.zeros((2, 3)))
    assert_allclose(length_to_reference(1000.0115, alpha=11.5e-6, temperature_degC=21), 1000, atol=1e-12)
    assert_allclose(strain(11.5e-6, 21), 11.5e-6)
    assert displacement(ends, alpha=11.5e-6, temperature_degC=22)[1, 0] > 0.02  # negative twin: 2 K is not 1 K


def test_field_of_a_gradient_has_the_free_strain_everywhere():
    """Independent computation: strain tensor by central differences is alpha (T - 20) times the unit matrix."""
    h, rng = 0.5, np.random.default_rng(2)
    for x in rng.uniform(-2000, 2000, (5, 3)):
        steps = np.concatenate([x + h * np.eye(3), x - h * np.eye(3)])
        u = displacement(steps, alpha=23e-6, temperature_degC=25, gradient=G)
        J = ((u[:3] - u[3:]) / (2 * h)).T  # J[i, j] = du_i / dx_j
        assert_allclose((J + J.T) / 2, 23e-6 * (5 + G @ x) * np.eye(3), atol=2e-14)


def test_the_obvious_but_wrong_field_has_a_shear():
    """Negative twin: u = alpha (T(x) - 20) x, often used, is not stress-free: its shear is as large as the bow."""
    x, h = np.array([800.0, 500.0, 300.0]), 0.5

    def wrong(p):
        return 23e-6 * (5 + p @ G)[:, None] * p

    J = ((wrong(x + h * np.eye(3)) - wrong(x - h * np.eye(3))) / (2 * h)).T
    shear = (J + J.T) / 2 - np.diag(np.diag(J))
    assert np.abs(shear).max() > 1e-6


def test_a_bar_in_a_gradient_bows_by_a_g_l_squared_over_8():
    """Analytic: curvature alpha g, sagitta alpha g L^2 / 8 (4 m of steel with 1 K/m across: 23 um)."""
    bar = np.array([[-2000.0, 0, 0], [0, 0, 0], [2000, 0, 0]])
    u = displacement(bar, alpha=11.5e-6, temperature_degC=20, gradient=[0, 0, 1e-3])
    assert_allclose(u[1, 2] - (u[0, 2] + u[2, 2]) / 2, 11.5e-6 * 1e-3 * 4000**2 / 8, rtol=1e-9)


def test_there_and_back_to_a_nanometre():
    anchor = np.array([100.0, -50.0, 20.0])
    options = {"alpha": 23e-6, "temperature_degC": 31.0, "gradient": G, "anchor_mm": anchor}
    warm = POINTS + displacement(POINTS, **options)
    assert_allclose(to_reference(warm, **options), POINTS, atol=1e-9)
    assert np.abs(warm - displacement(warm, **options) - POINTS).max() > 1e-5  # one step is not enough


def test_anchor_stays_where_it_is():
    anchor = np.array([[500.0, 400.0, -30.0]])
    moved = displacement(anchor, alpha=12e-6, temperature_degC=35, gradient=G, anchor_mm=anchor[0])
    assert np.array_equal(moved, np.zeros((1, 3)))


@pytest.mark.parametrize("gradient", [np.zeros(3), G, np.array([G, 2 * G, -G])])
def test_leading_axes_are_draws(gradient):
    alpha, T = np.array([11e-6, 12e-6, 13e-6]), np.array([22.0, 24.0, 26.0])
    all_at_once = to_reference(POINTS, alpha=alpha, temperature_degC=T, gradient=gradient)
    assert all_at_once.shape == (3, 4, 3)
    for i in range(3):
        g = gradient if gradient.ndim == 1 else gradient[i]
        assert_allclose(
            all_at_once[i], to_reference(POINTS, alpha=alpha[i], temperature_degC=T[i], gradient=g), atol=1e-9
        )


def test_wrong_unit_of_expansion_is_noticed():
    with pytest.raises(InputError, match="unit"):
        to_reference(POINTS, alpha=11.5, temperature_degC=24)


def test_value_and_draws_agree():
    zone = replace(Zone(), gradient=G)
    value = to_reference(POINTS, **heat_errors(zone))
    draws = to_reference(POINTS, **heat_errors(zone, Draws(1, 0, 2000)))
    assert draws.shape == (2000, 4, 3)
    assert_allclose(draws.mean(0), value, atol=1e-3)
    length = draws[:, 1, 0] - draws[:, 0, 0]
    expected = 1000 * np.hypot(11.5e-6 * 0.3, 0.6e-6 * 4)  # first order: alpha u(T), theta u(alpha)
    assert_allclose(length.std(), expected, rtol=0.05)


def test_temperature_nobody_took_is_uncorrected_and_doubtful():
    zone = replace(Zone(), temperature_degC=None, u_temperature=UNMEASURED_U)
    assert_allclose(to_reference(POINTS, **heat_errors(zone)), POINTS, atol=1e-12)
    temperature = heat_sources(zone)[0]
    assert temperature.distribution == "rectangular"
    assert "not measured" in temperature.origin
    T = heat_errors(zone, Draws(1, 0, 5000))["temperature_degC"]
    assert 14.99 < T.min() < 15.1
    assert 24.9 < T.max() < 25.01
    declared = heat_errors(Zone(), Draws(1, 0, 5000))["temperature_degC"]
    assert T.std() > 5 * declared.std()


def test_zones_have_draws_of_their_own():
    draws = Draws(1, 0, 500)
    a, b = (heat_errors(replace(Zone(), name=n), draws)["alpha"] for n in ("body", "cover"))
    assert abs(np.corrcoef(a, b)[0, 1]) < 0.15
    assert {s.scope for s in heat_sources(Zone())} == {"temperature history", "part"}


def test_materials_name_their_origin():
    for m in MATERIALS.values():
        assert -1e-6 <= m.alpha < 2e-4
        assert 0 < m.u_alpha < 2e-5
        assert "no source" in m.origin or any(word in m.origin for word in ("ISO", "EN ", "NIST"))
    assert material("cast iron, grey").alpha == pytest.approx(10.5e-6)


def test_unknown_material_gets_the_nearest_name():
    with pytest.raises(InputError, match='"aluminium 6061"'):
        material("aluminum 6061")
    with pytest.raises(InputError, match="expansion ="):
        material("unobtainium")
