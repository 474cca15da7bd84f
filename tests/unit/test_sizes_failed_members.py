"""Members of a batch that cannot be fitted, and elements that point nowhere.

Expected: NaN there, the others untouched.
"""

import numpy as np
import pytest

from trysquare.core.errors import InputError
from trysquare.geometry import (
    Cylinder,
    Line,
    Plane,
    cylinder_two_point_sizes,
    find_sections,
    fit_cylinder,
    global_size,
    opposite_planes,
    rank_order,
    section_sizes,
    section_two_point_sizes,
    spherical_sizes,
    volume_size,
    width_size,
    width_spherical_sizes,
    width_two_point_sizes,
)

A, Z = (g.ravel() for g in np.meshgrid(2 * np.pi * np.arange(16) / 16, [-20, 0, 20.0]))
ROUND = np.column_stack([12 * np.cos(A), 12 * np.sin(A), Z])
DRAWS = ROUND + np.random.default_rng(0).normal(0, 0.001, (5, 48, 3))
UP = [0, 0, 1]


@pytest.mark.parametrize("at", [0, 3])
def test_a_failed_draw_of_a_cylinder(at):
    """One draw whose points all lie on a line."""
    draws = DRAWS.copy()
    draws[at] = np.column_stack([np.arange(48.0), np.zeros(48), np.zeros(48)])
    value = fit_cylinder(ROUND, toward=UP)
    sections = find_sections(ROUND, value, within_mm=1)
    pairs = cylinder_two_point_sizes(ROUND, value, tolerance_rad=0.01).pairs
    own = section_two_point_sizes(ROUND, value, sections, tolerance_rad=0.01).pairs
    fits = fit_cylinder(draws, toward=UP)
    found = [section_sizes(draws, fits, sections, m) for m in ("GG", "GX", "GN", "GC", "CC", "CA")]
    found.append(cylinder_two_point_sizes(draws, fits, tolerance_rad=0.01, pairs=pairs))
    found.append(section_two_point_sizes(draws, fits, sections, tolerance_rad=0.01, pairs=own))
    found.append(spherical_sizes(draws, fits, [0.0]))
    good = np.arange(5) != at
    for size in [*(rank_order(x, "SA") for x in found), volume_size(draws, fits, sections)]:
        assert size.defined
        assert np.isnan(size.size_mm[at])
        assert np.abs(size.size_mm[good] - 24).max() < 0.02
    for modifier in ("GG", "GX", "GC"):
        size = global_size(draws, modifier)
        assert np.isnan(size.size_mm[at])
        assert np.abs(size.size_mm[good] - 24).max() < 0.02


@pytest.mark.parametrize("at", [0, 3])
def test_a_failed_draw_of_a_width(at):
    x, y = (g.ravel() for g in np.meshgrid(np.arange(-6, 7, 2.0), np.arange(-6, 7, 2.0)))
    rng = np.random.default_rng(1)
    faces = [np.column_stack([x, y, 0 * x + h]) + rng.normal(0, 0.001, (5, 49, 3)) for h in (-4, 4)]
    pairs = width_two_point_sizes(faces[0][1], faces[1][1], reach_mm=0.5).pairs
    for face in faces:
        face[at] = np.column_stack([x, 0 * x, 0 * x])
    good = np.arange(5) != at
    found = [width_size(*faces, m) for m in ("GG", "GX", "GN", "GC")]
    found.append(rank_order(width_two_point_sizes(*faces, reach_mm=0.5, pairs=pairs), "SA"))
    found.append(rank_order(width_spherical_sizes(*faces, [[0, 0, 0.0]]), "SX"))
    for size in found:
        assert np.isnan(size.size_mm[at])
        assert np.abs(size.size_mm[good] - 8).max() < 0.2


def test_one_axis_serves_all_draws():
    """A given axis (a datum's, say) instead of a fit per draw: every draw is as if it were alone, but for the angles
    that splines run over, those of the first draw.
    """
    axis = Cylinder(point_mm=[0, 0, 0], direction=UP, radius_mm=12.0)
    sections = find_sections(ROUND, axis, within_mm=1)
    makers = [lambda P: spherical_sizes(P, axis, [0.0, 20.0]), lambda P: volume_size(P, axis, sections),
              lambda P: section_two_point_sizes(P, axis, sections, tolerance_rad=0.01)]  # fmt: skip
    makers += [lambda P, m=m: section_sizes(P, axis, sections, m) for m in ("GG", "GX", "GN", "GC", "CC", "CA")]
    for make in makers:
        assert np.abs(make(DRAWS).size_mm[2] - make(DRAWS[2]).size_mm).max() < 1e-7


def test_planes_of_the_value_serve_all_draws():
    x, y = (g.ravel() for g in np.meshgrid(np.arange(-6, 7, 2.0), np.arange(-6, 7, 2.0)))
    faces = [np.column_stack([x, y, 0 * x + h]) for h in (-4, 4)]
    draws = [face + np.random.default_rng(3).normal(0, 0.001, (4, 49, 3)) for face in faces]
    planes = opposite_planes(*faces, "GG")
    for make in (lambda A, B: width_spherical_sizes(A, B, [[0, 0, 0.0]], planes=planes),
                 lambda A, B: width_two_point_sizes(A, B, reach_mm=0.5, planes=planes)):  # fmt: skip
        many, alone = make(*draws).size_mm, make(draws[0][1], draws[1][1]).size_mm
        assert np.abs(many[1] - alone).max() < 1e-12


def test_a_section_on_a_line_carries_no_circle():
    P = np.concatenate([ROUND, [[x, 0.0, 40.0] for x in (-1, 0, 1)]])
    fit = fit_cylinder(ROUND, toward=UP)
    sections = find_sections(P, fit, within_mm=1)
    assert len(sections.members) == 4
    size = section_sizes(P, fit, sections, "GG")
    assert "no circle" in size.reasons[3]
    assert np.isnan(size.size_mm[3])
    assert np.abs(size.size_mm[:3] - 24).max() < 1e-11
    assert len(section_two_point_sizes(P, fit, sections, tolerance_rad=0.01).size_mm) == 24


def test_directions_are_brought_to_unit_length_and_zero_is_refused():
    assert np.allclose(Plane(point_mm=[0, 0, 0], normal=[0, 0, 5]).normal, UP)
    with pytest.raises(InputError, match="above 0"):
        Line(point_mm=[0, 0, 0], direction=[0, 0, 0])
