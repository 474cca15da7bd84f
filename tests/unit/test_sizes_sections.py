"""Section, calculated and spherical sizes of made-up bores. Expected values: analytic, published (said which) or an
independent computation with SciPy.
"""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.spatial import Voronoi
from scipy.special import ellipe

from trysquare.core.errors import InputError
from trysquare.geometry import (
    Cylinder,
    cylinder_two_point_sizes,
    find_sections,
    fit_cylinder,
    rank_order,
    section_sizes,
    spherical_sizes,
    volume_size,
)


def bore(radius, n=72, heights=(-20, -10, 0, 10, 20.0), start=0.0):
    """Points of a surface r(angle, height) about the z-axis."""
    a = start + 2 * np.pi * np.arange(n) / n
    A, Z = np.meshgrid(a, np.asarray(heights, float))
    R = radius(A, Z)
    return np.stack([R * np.cos(A), R * np.sin(A), Z], -1).reshape(-1, 3)


def measured(P, within=1.0):
    fit = fit_cylinder(P, toward=[0, 0, 1])
    return fit, find_sections(P, fit, within_mm=within)


def test_three_lobes_have_one_two_point_size():
    """r = 25 + 0.01 cos 3a: every two-point size is 50, so is the least-squares size of each section; the area is
    pi (25^2 + 0.01^2 / 2) and the circumference an elliptic-like integral (SciPy's quad). Analytic.
    """
    P = bore(lambda a, z: 25 + 0.01 * np.cos(3 * a))
    fit, sections = measured(P)
    lp = cylinder_two_point_sizes(P, fit, tolerance_rad=0.01)
    assert lp.size_mm.shape == (5 * 36,)
    assert np.abs(lp.size_mm - 50).max() < 1e-12
    assert rank_order(lp, "SR").size_mm < 1e-12
    length = quad(lambda t: np.hypot(25 + 0.01 * np.cos(3 * t), 0.03 * np.sin(3 * t)), 0, 2 * np.pi, epsabs=1e-12)[0]
    expected = {"GG": 50, "CA": 2 * np.sqrt(625 + 0.01**2 / 2), "CC": length / np.pi}
    for modifier, size in expected.items():
        found = section_sizes(P, fit, sections, modifier)
        assert found.size_mm.shape == (5,)
        assert np.abs(found.size_mm - size).max() < 1e-9
    # the twin: two lobes do show in two-point sizes
    Q = bore(lambda a, z: 25 + 0.01 * np.cos(2 * a))
    oval = cylinder_two_point_sizes(Q, fit_cylinder(Q), tolerance_rad=0.01)
    assert rank_order(oval, "SR").size_mm == pytest.approx(0.04, abs=1e-12)


def test_ellipse():
    """Semi-axes 20 and 15: area diameter 2 sqrt(20 * 15), circumference 4 * 20 E(1 - (15/20)^2). Published
    formulas; the elliptic integral is SciPy's.
    """
    P = bore(lambda a, z: 300 / np.hypot(15 * np.cos(a), 20 * np.sin(a)), n=360)
    fit, sections = measured(P)
    area = section_sizes(P, fit, sections, "CA").size_mm
    assert np.abs(area - 2 * np.sqrt(300)).max() < 1e-8
    length = section_sizes(P, fit, sections, "CC").size_mm
    assert np.abs(length - 80 * ellipe(1 - (15 / 20) ** 2) / np.pi).max() < 1e-7
    assert volume_size(P, fit, sections).size_mm == pytest.approx(2 * np.sqrt(300), abs=1e-8)


def reuleaux(width, n):
    """Two sections of a triangle of constant width, n points to a side, its corners among them."""
    t = np.linspace(-np.pi / 6, np.pi / 6, n + 1)[:-1]
    arcs = []
    for turn in 2 * np.pi * np.arange(3) / 3:
        corner = width / np.sqrt(3) * np.array([np.cos(turn), np.sin(turn)])
        arcs.append(corner + width * np.column_stack([np.cos(turn + np.pi + t), np.sin(turn + np.pi + t)]))
    ring = np.concatenate(arcs)
    return np.concatenate([np.column_stack([ring, np.full(len(ring), z)]) for z in (0.0, 30.0)])


def test_reuleaux_triangle():
    """Constant width 10: by Barbier's theorem (1860) the circumference is 10 pi, so the circumference diameter is the
    width; the area is (pi - sqrt 3) 10^2 / 2. Published. A spline rounds the corners: the error falls with the step.
    """
    off = []
    for n in (800, 3200):
        P = reuleaux(10.0, n)
        fit, sections = measured(P)
        length = section_sizes(P, fit, sections, "CC").size_mm
        area = section_sizes(P, fit, sections, "CA").size_mm
        off.append((abs(length - 10).max(), abs(area - 10 * np.sqrt(2 * (1 - np.sqrt(3) / np.pi))).max()))
    assert off[0][0] < 5e-4
    assert off[0][1] < 5e-5
    assert off[1][0] < 0.3 * off[0][0]
    assert off[1][1] < 0.3 * off[0][1]


def test_barrel():
    """r = 25 + 0.03 (1 - (z/20)^2): sections of 50 to 50.06; rank orders follow. Analytic."""
    heights = np.linspace(-20, 20, 9)
    P = bore(lambda a, z: 25 + 0.03 * (1 - (z / 20) ** 2), heights=heights)
    fit, sections = measured(P)
    found = section_sizes(P, fit, sections, "GG")
    expected = 50 + 0.06 * (1 - (heights / 20) ** 2)
    assert np.abs(found.size_mm - expected).max() < 1e-11
    for rank, value in {"SX": 50.06, "SN": 50.0, "SR": 0.06, "SD": 50.03, "SA": expected.mean(),
                        "SM": np.median(expected), "SQ": expected.std()}.items():  # fmt: skip
        assert rank_order(found, rank).size_mm == pytest.approx(value, abs=1e-11)
    assert np.allclose(found.heights_mm, heights, atol=1e-12)


def test_taper():
    """r = 20 + z / 20, 40 long: the volume is that of a frustum; a sphere inside touches at 2 r cos(half angle), where
    the two-point size is 2 r. Analytic; rings 0.5 mm apart let a sphere bulge by less than 0.5^2 / (8 * 18).
    """
    heights = np.linspace(-20, 20, 81)
    P = bore(lambda a, z: 20 + z / 20, heights=heights)
    fit = fit_cylinder(P, toward=[0, 0, 1])
    sections = find_sections(P, fit, within_mm=0.1)
    volume = 40 / 3 * (19**2 + 19 * 21 + 21**2)
    assert volume_size(P, fit, sections).size_mm == pytest.approx(2 * np.sqrt(volume / 40), abs=1e-11)
    at = np.array([-10, 0, 10.0])
    sphere = spherical_sizes(P, fit, at)
    expected = 2 * (20 + at / 20) / np.hypot(1, 1 / 20)
    assert (sphere.size_mm >= expected - 1e-12).all()
    assert np.abs(sphere.size_mm - expected).max() < 2 * 0.5**2 / (8 * 18)
    two_point = 2 * (20 + at / 20)
    assert (two_point - sphere.size_mm > 0.04).all()


def test_spherical_size_against_voronoi():
    """Independent computation: in one ring the largest empty circle is at a corner of the Voronoi diagram (Qhull)."""
    rng = np.random.default_rng(4)
    for _ in range(5):
        form = rng.normal(0, 0.05, 72)
        P = bore(
            lambda a, z, form=form: 25 + form[np.round(a / (2 * np.pi / 72)).astype(int)] + 0 * z, heights=(0.0, 200.0)
        )
        fit = fit_cylinder(P, toward=[0, 0, 1])
        axis = fit.point_mm - fit.point_mm[2] / fit.direction[2] * fit.direction
        ring = P[np.abs(P[:, 2]) < 1]
        flat = ring[:, :2]  # the axis leans by 1e-5: the plane across it and z = 0 agree to 1e-9
        corners = Voronoi(flat).vertices
        corners = corners[np.linalg.norm(corners - axis[:2], axis=1) < 5]
        best = np.linalg.norm(corners[:, None] - flat, axis=-1).min(1).max()
        height = (np.array([*axis[:2], 0]) - fit.point_mm) @ fit.direction
        found = spherical_sizes(P, fit, [height]).size_mm[0]
        assert found == pytest.approx(2 * best, abs=1e-7)


@pytest.mark.parametrize("seed", [81, 299, 569, 987, 1035, 4, 5])
def test_rough_rings_with_several_largest_circles(seed):
    """Independent computation (Voronoi diagram of Qhull). In the first five two places are about as good, and an ascent
    from the middle alone ends in the lesser one, up to 4e-4 mm smaller.
    """
    rng = np.random.default_rng(seed)
    n = rng.integers(6, 80)
    a = rng.uniform(0, 2 * np.pi, n)
    if seed % 2:
        a = 2 * np.pi * np.arange(n) / n
    r = 25 + 10 ** rng.uniform(-5, -0.5) * rng.normal(size=n)
    ring = np.column_stack([r * np.cos(a), r * np.sin(a)]) + rng.normal(0, 0.1, 2)
    P = np.column_stack([ring, np.zeros(n)])
    axis = Cylinder(point_mm=[0, 0, 0], direction=[0, 0, 1], radius_mm=25.0)
    corners = Voronoi(ring).vertices
    corners = corners[np.linalg.norm(corners, axis=1) < 12.5]
    best = np.linalg.norm(corners[:, None] - ring, axis=-1).min(1).max()
    assert spherical_sizes(P, axis, [0.0]).size_mm[0] == pytest.approx(2 * best, abs=1e-10)


def test_ends_and_arcs_have_no_size_and_say_why():
    """Half a bore: nothing is opposite. Beyond the ends, or with a gap of 60 degrees, some sizes are defined."""
    full = bore(lambda a, z: 25 + 0 * a)
    half = full[full[:, 1] > 1e-9]
    fit = fit_cylinder(half, toward=[0, 0, 1])
    sections = find_sections(half, fit, within_mm=1)
    sphere = spherical_sizes(half, fit, [0.0])
    assert not sphere.defined
    assert "nothing on the other side" in sphere.reason
    assert cylinder_two_point_sizes(half, fit, tolerance_rad=0.01).reason
    for modifier, word in {"CA": "not closed", "CC": "not closed", "GX": "other side", "GN": "other side"}.items():
        size = section_sizes(half, fit, sections, modifier)
        assert np.isnan(size.size_mm).all()
        assert word in size.reason
        assert "degrees free" in size.reason
    assert "not closed" in volume_size(half, fit, sections).reason
    assert section_sizes(half, fit, sections, "GG").size_mm == pytest.approx([50] * 5, abs=1e-9)
    slotted = full[np.abs(np.arctan2(full[:, 1], full[:, 0])) > np.radians(31)]
    fit = fit_cylinder(slotted, toward=[0, 0, 1])
    sections = find_sections(slotted, fit, within_mm=1)
    assert not section_sizes(slotted, fit, sections, "CA").defined
    assert section_sizes(slotted, fit, sections, "CA", largest_gap_rad=1.3).defined
    inside = spherical_sizes(slotted, fit, [0.0, 30.0])
    assert inside.defined
    assert inside.size_mm[0] == pytest.approx(50, abs=1e-9)
    assert np.isnan(inside.size_mm[1])
    assert "one side of this height" in inside.reasons[1]
    assert rank_order(inside, "SX").size_mm == pytest.approx(50, abs=1e-9)
    assert "1 of 2" in rank_order(inside, "SX").definition


def test_one_section_encloses_no_volume_and_none_has_no_size():
    P = bore(lambda a, z: 25 + 0 * a)
    fit, _ = measured(P)
    one = find_sections(P, fit, within_mm=1, heights_mm=[10.0])
    assert one.heights_mm == [10.0]
    assert "no volume" in volume_size(P, fit, one).reason
    none = find_sections(P, fit, within_mm=1, heights_mm=[5.0])
    assert "no section" in section_sizes(P, fit, none, "GG").reason


def test_draws_use_the_sections_of_the_value():
    P = bore(lambda a, z: 25 + 0.01 * np.cos(3 * a), n=24)
    _, sections = measured(P)
    rng = np.random.default_rng(2)
    draws = P + rng.normal(0, 0.003, (25, *P.shape))
    fits = fit_cylinder(draws, toward=[0, 0, 1])
    one = fit_cylinder(draws[9], toward=[0, 0, 1])
    for modifier in ("GG", "CA", "CC"):
        many = section_sizes(draws, fits, sections, modifier).size_mm
        assert many.shape == (25, 5)
        alone = section_sizes(draws[9], one, sections, modifier).size_mm
        assert np.abs(many[9] - alone).max() < 1e-7  # the spline runs over the angles of the first draw
    assert volume_size(draws, fits, sections).size_mm.shape == (25,)
    many, alone = spherical_sizes(draws, fits, [0, 10.0]).size_mm, spherical_sizes(draws[9], one, [0, 10.0]).size_mm
    assert np.abs(many[9] - alone).max() < 1e-11
    assert rank_order(section_sizes(draws, fits, sections, "GG"), "SX").size_mm.shape == (25,)


def test_scattered_scan_points_of_a_slice():
    """Points anywhere in a slice, 10 um noise: those close together are averaged, so that the area stays that of the
    circle within the noise of its mean. The circumference would be too long, by 0.02 mm here and by millimetres in a
    dense scan: it says so instead. Without noise both are the circle's.
    """
    rng = np.random.default_rng(8)
    a, z = rng.uniform(0, 2 * np.pi, 4000), rng.uniform(-20, 20, 4000)
    for noise in (0.01, 0.0):
        r = 25 + rng.normal(0, noise, 4000)
        P = np.column_stack([r * np.cos(a), r * np.sin(a), z])
        fit = fit_cylinder(P, toward=[0, 0, 1])
        sections = find_sections(P, fit, within_mm=2.0, heights_mm=[-10, 0, 10])
        area = section_sizes(P, fit, sections, "CA").size_mm
        assert np.abs(area - 50).max() < 5 * 2 * noise / np.sqrt(400) + 1e-9
        length = section_sizes(P, fit, sections, "CC")
        if noise:
            assert "filter the profile first" in length.reason
            assert np.isnan(length.size_mm).all()
        else:
            assert np.abs(length.size_mm - 50).max() < 1e-9


def test_bad_input():
    P = bore(lambda a, z: 25 + 0 * a)
    fit, sections = measured(P)
    with pytest.raises(InputError, match="GG, GX"):
        section_sizes(P, fit, sections, "CV")
    with pytest.raises(InputError, match="above 0"):
        find_sections(P, fit, within_mm=0)
    climb = P + np.outer(np.arange(len(P)) / 5, [0, 0, 1])
    with pytest.raises(InputError, match="lie in rings"):
        find_sections(climb, fit, within_mm=1)
    with pytest.raises(InputError, match="heights"):
        spherical_sizes(P, fit, [[0.0]])
