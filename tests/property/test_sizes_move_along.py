"""Sizes do not depend on frame or order of the points, and grow with the part. Properties."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from trysquare.core.frames import Rigid, rotation
from trysquare.geometry import (
    cylinder_two_point_sizes,
    find_sections,
    fit_cylinder,
    global_size,
    rank_order,
    section_sizes,
    section_two_point_sizes,
    spherical_sizes,
    volume_size,
    width_size,
    width_spherical_sizes,
    width_two_point_sizes,
)

SETTINGS = settings(derandomize=True, max_examples=25, deadline=None)
RANKS = ("SX", "SN", "SA", "SM", "SD", "SR", "SQ")


@st.composite
def motions(draw):
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    return rng, Rigid(rotation(rng.normal(0, 2, 3)), rng.normal(0, 300, 3)), 10 ** draw(st.floats(-2, 2))


def shaft(rng):
    a, z = (g.ravel() for g in np.meshgrid(2 * np.pi * np.arange(16) / 16, [-20, -7, 6, 20.0]))
    r = 12 + rng.normal(0, 0.005, a.size)
    return np.column_stack([r * np.cos(a), r * np.sin(a), z + rng.normal(0, 0.01, a.size)])


def sizes_of_cylinder(P, scale, axis):
    """All sizes of a shaft, scaled back; the largest inscribed circles of the sections last."""
    fit = fit_cylinder(P, toward=axis)
    sections = find_sections(P, fit, within_mm=scale)
    out = [global_size(P, m, toward=axis).size_mm for m in ("GG", "GX", "GC")]
    out.append(global_size(P, "GN", direction=axis).size_mm)
    out.append(volume_size(P, fit, sections).size_mm)
    local = [section_sizes(P, fit, sections, m) for m in ("GG", "GN", "GC", "CC", "CA")]
    local.append(cylinder_two_point_sizes(P, fit, tolerance_rad=0.05))
    local.append(section_two_point_sizes(P, fit, sections, tolerance_rad=0.05))
    local.append(spherical_sizes(P, fit, [0.0, 5 * scale]))
    local.append(section_sizes(P, fit, sections, "GX"))
    out += [rank_order(x, rank).size_mm for x in local for rank in RANKS]
    return np.array(out) / scale


@SETTINGS
@given(motions())
def test_sizes_of_a_shaft(motion):
    rng, T, scale = motion
    P = shaft(rng)
    before = sizes_of_cylinder(P, 1.0, [0, 0, 1])
    order = rng.permutation(len(P))
    after = sizes_of_cylinder(T.apply(scale * P)[order], scale, T.R[:, 2])
    digits = 1e-10 * max(1.0, 10 / scale)  # coordinates of 300 carry their last digits into a small part
    off, last = np.abs(before - after), len(RANKS)
    assert off[:-last].max() < digits
    assert off[-last:].max() < 5e-6 + digits  # `inscribed_circle` looks for a better centre until 2e-7 of the radius
    assert before[1] < before[0] < before[3]


def faces(rng):
    x, y = (g.ravel() for g in np.meshgrid(np.arange(-6, 7, 2.0), np.arange(-6, 7, 2.0)))
    return [np.column_stack([x, y, rng.normal(h, 0.03, 49)]) + rng.uniform(-0.3, 0.3, (49, 3)) * [1, 1, 0]
            for h in (-4.0, 4.0)]  # fmt: skip


def sizes_of_width(A, B, scale, station):
    out = [width_size(A, B, m).size_mm for m in ("GG", "GX", "GN", "GC")]
    local = [width_two_point_sizes(A, B, reach_mm=6 * scale), width_spherical_sizes(A, B, station)]
    out += [rank_order(x, rank).size_mm for x in local for rank in RANKS]
    return np.array(out) / scale


@SETTINGS
@given(motions())
def test_sizes_of_a_width(motion):
    rng, T, scale = motion
    A, B = faces(rng)
    station = np.array([[0.5, -1.0, 0.0]])
    before = sizes_of_width(A, B, 1.0, station)
    moved = [T.apply(scale * X)[rng.permutation(49)] for X in (A, B)]
    digits = 1e-10 * max(1.0, 10 / scale)
    assert np.abs(before - sizes_of_width(*moved, scale, T.apply(scale * station))).max() < digits
    assert np.abs(before - sizes_of_width(B, A, 1.0, station)).max() < 1e-10  # whichever face comes first
    assert before[1] < before[0] < before[2]


@SETTINGS
@given(st.integers(0, 2**32 - 1), st.integers(0, 63), st.floats(1e-3, 1.0))
def test_more_material_never_makes_a_mating_size_smaller(seed, at, out):
    """A point pushed out never lets the smallest cylinder around, along one axis, shrink; pushed in, the largest
    inside never grows.
    """
    P = shaft(np.random.default_rng(seed))
    axis = [0, 0, 1]
    for modifier, sign in (("GN", 1), ("GX", -1)):
        Q = P.copy()
        Q[at, :2] *= 1 + sign * out / 12
        before, after = (global_size(X, modifier, direction=axis).size_mm for X in (P, Q))
        assert sign * (after - before) > -1e-11
