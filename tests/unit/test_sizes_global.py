"""Global and mating sizes of made-up shafts, bores and balls. Expected values: analytic."""

import numpy as np
import pytest

from trysquare.core.errors import InputError
from trysquare.geometry import (
    circumscribed_cylinder,
    cylinder_two_point_sizes,
    envelope_of_cylinder,
    find_sections,
    fit_cylinder,
    global_size,
    mating_size,
    opposite_planes,
    rank_order,
    section_sizes,
    section_two_point_sizes,
    width_spherical_sizes,
)

UP = [0, 0, 1]


def turned(radius, n=36, heights=(-20, -10, 0, 10, 20.0), centre=lambda z: 0 * z):
    """Rings r(angle, height) about centres (x(z), 0, z)."""
    A, Z = np.meshgrid(2 * np.pi * np.arange(n) / n, np.asarray(heights, float))
    R = radius(A, Z)
    return np.stack([R * np.cos(A) + centre(Z), R * np.sin(A), Z], -1).reshape(-1, 3)


LOBED = turned(lambda a, z: 25 + 0.01 * np.cos(3 * a))


def test_three_lobes_tell_the_operators_apart():
    """r = 25 + 0.01 cos 3a: two-point, least-squares and minimax size 50, circumscribed 50.02, inscribed 49.98."""
    expected = {"GG": 50.0, "GC": 50.0, "GN": 50.02, "GX": 49.98}
    fit = fit_cylinder(LOBED, toward=UP)
    sections = find_sections(LOBED, fit, within_mm=1)
    for modifier, size in expected.items():
        assert global_size(LOBED, modifier, toward=UP).size_mm == pytest.approx(size, abs=1e-11)
        found = section_sizes(LOBED, fit, sections, modifier)
        assert np.abs(found.size_mm - size).max() < 1e-11
        assert global_size(LOBED[:36, :2], modifier, shape="circle").size_mm == pytest.approx(size, abs=1e-11)
        assert global_size(LOBED[:36], modifier, shape="circle").size_mm == pytest.approx(size, abs=1e-11)
    for modifier, size in expected.items():
        along = global_size(LOBED, modifier, direction=UP)
        assert along.size_mm == pytest.approx(size, abs=1e-11)
        assert "given direction" in along.definition
        proofs = along.proof, section_sizes(LOBED, fit, sections, modifier).proof
        assert proofs == (("", "") if modifier == "GG" else ("global", "global"))
    two_point = cylinder_two_point_sizes(LOBED, fit, tolerance_rad=0.01)
    assert rank_order(two_point, "SR").size_mm < 1e-12
    # the twin: one point out by 1e-6 mm is felt by the circumscribed size only
    out = LOBED.copy()
    out[72] *= [1 + 1e-6 / 25.01, 1, 1]
    assert global_size(out, "GN", direction=UP).size_mm > 50.02 + 1e-7
    assert global_size(out, "GX", direction=UP).size_mm == pytest.approx(49.98, abs=1e-11)


def test_ball():
    """Six points at 10 along the axes, eight at 10.1 along the diagonals; by symmetry the centre is 0."""
    corners = np.array(np.meshgrid([-1, 1], [-1, 1], [-1, 1.0])).reshape(3, -1).T
    P = np.concatenate([10 * np.eye(3), -10 * np.eye(3), 10.1 * corners / np.sqrt(3)]) + np.array([5.0, -3, 40])
    expected = {"GX": 20.0, "GN": 20.2, "GC": 20.1, "GG": 2 * (6 * 10 + 8 * 10.1) / 14}
    for modifier, size in expected.items():
        assert global_size(P, modifier, shape="sphere").size_mm == pytest.approx(size, abs=1e-11)
    cap = P[(P[:, 2] > 40 + 1)]
    for modifier in ("GX", "GN"):
        part = global_size(cap, modifier, shape="sphere")
        assert "half of the sphere" in part.reason
        assert np.isnan(part.size_mm)
    assert global_size(cap, "GG", shape="sphere").defined


def test_bent_shaft_and_its_envelope():
    """Rings of radius 10 whose centres bow by 0.1: every section is 20 across, but the shaft needs a hole of 20.1 and a
    bent hole takes a pin of 19.9 (and a little more, between two points of a ring: see the next test).
    """
    bent = turned(lambda a, z: 10 + 0 * a, centre=lambda z: 0.1 * (1 - (z / 20) ** 2))
    fit = fit_cylinder(bent, toward=UP)
    assert mating_size(bent, external=True, toward=UP).size_mm == pytest.approx(20.1, abs=1e-11)
    assert mating_size(bent, external=False, toward=UP).size_mm == pytest.approx(19.9, abs=3e-6)
    sections = find_sections(bent, fit, within_mm=1)
    local = section_two_point_sizes(bent, fit, sections, tolerance_rad=0.01)
    assert local.size_mm.shape == (5 * 18,)
    assert np.abs(local.size_mm - 20).max() < 1e-11
    assert local.heights_mm is not None
    assert sorted(set(np.round(local.heights_mm))) == [-20, -10, 0, 10, 20]
    shaft = envelope_of_cylinder(bent, fit, external=True, tolerance_rad=0.02, toward=UP)
    assert shaft.mating.name == "minimum circumscribed size"
    assert shaft.mating.size_mm - shaft.local.size_mm == pytest.approx(0.1, abs=1e-3)
    hole = envelope_of_cylinder(bent, fit, external=False, tolerance_rad=0.02, toward=UP)
    assert (hole.mating.modifier, hole.local.modifier) == ("GX", "LP SX")


def test_related_mating_size_of_a_leaning_hole():
    """Circles of radius 10 whose centres wander by 2 c = 0.4 over the length: along the datum's axis a pin of 19.6
    enters; free to lean, one of about 20. Points stand 10 degrees apart: the pin moves sideways by about c times half
    that step until it touches the next ones, and grows by less than the square of it over its diameter.
    """
    lean = turned(lambda a, z: 10 + 0 * a, centre=lambda z: 0.01 * z)
    related = mating_size(lean, external=False, direction=UP)
    assert 19.6 <= related.size_mm < 19.6 + 2 * (0.2 * np.radians(10)) ** 2 / 20
    assert mating_size(lean, external=True, direction=UP).size_mm == pytest.approx(20.4, abs=1e-11)
    free = mating_size(lean, external=False, toward=UP)
    assert 19.99 < free.size_mm < 20.0 + 1e-9


def test_partial_arcs_say_not_defined_here():
    """170 degrees of a bore: nothing holds the other side. Least squares and minimax are defined there."""
    A, Z = np.meshgrid(np.radians(np.arange(0, 171, 10)), [-20, 0, 20.0])
    P = np.stack([25 * np.cos(A), 25 * np.sin(A), Z], -1).reshape(-1, 3)
    ring = P[np.abs(P[:, 2]) < 1]
    for arc, shape in ((P, "cylinder"), (ring, "circle"), (ring[:, :2], "circle")):
        for modifier in ("GX", "GN"):
            size = global_size(arc, modifier, shape=shape)
            assert not size.defined
            assert "190 degrees free" in size.reason
            assert np.isnan(size.size_mm)
        assert global_size(arc, "GG", shape=shape).size_mm == pytest.approx(50, abs=1e-8)
    assert "190 degrees" in global_size(P, "GN", direction=UP).reason
    assert "190 degrees" in mating_size(P, external=False).reason
    env = envelope_of_cylinder(P, fit_cylinder(P, toward=UP), external=True, tolerance_rad=0.02)
    assert env.mating.reason
    assert env.local.reason


def test_a_little_more_than_half_a_shell():
    """190 degrees hold the bore, though the smallest cylinder of all around them lies across: the shell is 40 long
    and 29.3 deep. The twin: asked for an axis across, it says that there is none.
    """
    A, Z = np.meshgrid(np.radians(np.arange(0, 191, 10)), [-20, 0, 20.0])
    more = np.stack([25 * np.cos(A), 25 * np.sin(A), Z], -1).reshape(-1, 3)
    for modifier in ("GX", "GN", "GC"):
        assert global_size(more, modifier, direction=UP).size_mm == pytest.approx(50, abs=1e-8)
        assert global_size(more, modifier).size_mm == pytest.approx(50, abs=1e-8)
    assert circumscribed_cylinder(more).radius_mm < 24.9
    shaft = turned(lambda a, z: 10 + 0.01 * np.cos(3 * a), heights=np.linspace(-40, 40, 9))
    for modifier in ("GX", "GN", "GC"):
        assert "leans by more than 45 degrees" in global_size(shaft, modifier, toward=[1, 0, 0]).reason


def test_draws_are_each_member_alone():
    rng = np.random.default_rng(3)
    draws = LOBED + rng.normal(0, 0.002, (12, *LOBED.shape))
    for modifier in ("GG", "GX", "GN", "GC"):
        many = global_size(draws, modifier, toward=UP).size_mm
        assert many.shape == (12,)
        assert many[5] == pytest.approx(global_size(draws[5], modifier, toward=UP).size_mm, abs=1e-10)
    sizes = {m: global_size(draws, m, toward=UP).size_mm for m in ("GX", "GG", "GN")}
    assert (sizes["GX"] < sizes["GG"]).all()
    assert (sizes["GG"] < sizes["GN"]).all()


def test_section_two_point_sizes_of_draws_and_arcs():
    fit = fit_cylinder(LOBED, toward=UP)
    sections = find_sections(LOBED, fit, within_mm=1)
    value = section_two_point_sizes(LOBED, fit, sections, tolerance_rad=0.01)
    draws = LOBED + np.random.default_rng(1).normal(0, 0.01, (9, *LOBED.shape))
    fits = fit_cylinder(draws, toward=UP)
    many = section_two_point_sizes(draws, fits, sections, tolerance_rad=0.01, pairs=value.pairs)
    assert many.size_mm.shape == (9, 90)
    assert {tuple(p) for p in many.pairs} == {tuple(p) for p in value.pairs}
    arc = LOBED[LOBED[:, 1] > 1]
    fit = fit_cylinder(arc, toward=UP)
    found = section_two_point_sizes(arc, fit, find_sections(arc, fit, within_mm=1), tolerance_rad=0.05)
    assert "opposite" in found.reason
    with pytest.raises(InputError, match="one section"):
        section_two_point_sizes(LOBED, fit_cylinder(LOBED), sections, tolerance_rad=0.01, pairs=[[0, 40]])
    with pytest.raises(InputError, match="above 0"):
        section_two_point_sizes(LOBED, fit, sections, tolerance_rad=0)


def test_spheres_in_a_slot():
    """Faces that open along x by 2 S x, on a grid of 0.5 mm: the largest sphere at x touches both at the distance from
    its centre to a face, (5 + S x) / sqrt(1 + S^2); between points it bulges by less than 0.5^2 / (4 * 5).
    """
    s = 0.02
    x, y = (g.ravel() for g in np.meshgrid(np.arange(-12, 12.1, 0.5), np.arange(-4, 4.1, 0.5)))
    A, B = np.column_stack([x, y, -5 - s * x]), np.column_stack([x, y, 5 + s * x])
    at = np.array([[-5.0, 0, 0], [0, 1, 0], [5, 0, 0.3], [40, 0, 0]])
    found = width_spherical_sizes(A, B, at)
    expected = 2 * (5 + s * at[:3, 0]) / np.hypot(1, s)
    assert (found.size_mm[:3] > expected - 1e-12).all()
    assert np.abs(found.size_mm[:3] - expected).max() < 2 * 0.5**2 / (4 * 5)
    assert "beside" in found.reasons[3]
    assert np.isnan(found.size_mm[3])
    assert rank_order(found, "SX").size_mm == found.size_mm[2]
    draws = [face + np.random.default_rng(0).normal(0, 0.001, (6, *face.shape)) for face in (A, B)]
    many = width_spherical_sizes(*draws, at)
    assert many.size_mm.shape == (6, 4)
    planes = opposite_planes(draws[0][2], draws[1][2], "GG")
    alone = width_spherical_sizes(draws[0][2], draws[1][2], at, planes=planes)
    assert np.abs(many.size_mm[2, :3] - alone.size_mm[:3]).max() < 1e-12


def test_bad_input():
    with pytest.raises(InputError, match="GG, GX, GN, GC"):
        global_size(LOBED, "LP")
    with pytest.raises(InputError, match="cylinder, circle, sphere"):
        global_size(LOBED, "GG", shape="cone")
