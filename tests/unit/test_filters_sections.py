"""Filters on measured points: rings about an axis anywhere, lines in a plane, in any order of the points."""

import math

import numpy as np
import pytest

from trysquare.core.errors import InputError
from trysquare.geometry import evenly_around, filter_line, filter_section, fit_circle, fit_cylinder, fit_line

RNG = np.random.default_rng(21)
LN2 = math.log(2)


def ring(n=1440, radius=25.0, waves=((3, 0.01), (90, 0.004))):
    angle = np.arange(n) * 2 * math.pi / n
    r = radius + sum(a * np.cos(k * angle + 0.3 * k) for k, a in waves)
    return angle, np.stack([r * np.cos(angle), r * np.sin(angle)], -1)


def test_undulations_of_a_ring():
    """Analytic: at 15 UPR 3 undulations pass with exp(-ln 2 (3 / 15)^2), 90 not at all; no phase is shifted."""
    angle, points = ring()
    fit = fit_circle(points)
    part = filter_section(points, fit, cutoff_upr=15)
    expected = math.exp(-LN2 / 25) * 0.01 * np.cos(3 * angle + 0.9)
    assert np.abs(part.filtered.long_mm - expected).max() < 2e-6  # the points lie off their angles by the lobes
    assert np.abs(np.angle(np.exp(1j * (part.places - angle)))).max() < 1e-12
    assert part.form_mm == pytest.approx(2 * 0.01 * math.exp(-LN2 / 25), abs=2e-6)
    moved = np.linalg.norm(part.points_mm, axis=-1) - 25.0
    assert np.abs(moved - expected).max() < 1e-5
    by_length = filter_section(points, fit, cutoff_mm=2 * math.pi * float(fit.radius_mm) / 15)
    assert np.abs(by_length.filtered.long_mm - part.filtered.long_mm).max() < 1e-12


def test_order_of_the_points_does_not_matter():
    _, points = ring()
    shuffle = RNG.permutation(len(points))
    fit = fit_circle(points)
    for kind in ("gaussian", "robust"):
        part = filter_section(points, fit, cutoff_upr=15, kind=kind)
        other = filter_section(points[shuffle], fit, cutoff_upr=15, kind=kind)
        assert np.array_equal(other.filtered.long_mm, part.filtered.long_mm[shuffle])
        assert np.array_equal(other.points_mm, part.points_mm[shuffle])


def turned(points, axis, origin):
    """Plane points as a ring about `axis` through `origin`."""
    w = np.asarray(axis) / np.linalg.norm(axis)
    u = np.cross(w, [0.3, 0.5, -0.2])
    u /= np.linalg.norm(u)
    return np.asarray(origin) + points @ np.stack([u, np.cross(w, u)])


def test_a_ring_anywhere_in_space_and_a_cylinder():
    """Property: the filtered form is that of the ring in its plane; draws go together."""
    _, flat = ring(720, waves=((3, 0.01), (80, 0.004)))
    plain = filter_section(flat, fit_circle(flat), cutoff_upr=15)
    space = turned(flat, [0.2, -0.4, 0.8], [100.0, -50.0, 700.0])
    part = filter_section(space, fit_circle(space), cutoff_upr=15)
    assert part.form_mm == pytest.approx(plain.form_mm, abs=1e-9)
    rings = np.concatenate([space + 10 * k * np.array([0.2, -0.4, 0.8]) for k in (-1, 0, 1)])
    fit = fit_cylinder(rings)

    class Section:
        point_mm, direction, radius_mm = fit.point_mm, fit.direction, fit.radius_mm

    on_cylinder = filter_section(space, Section, cutoff_upr=15)
    assert on_cylinder.form_mm == pytest.approx(plain.form_mm, abs=1e-6)
    draws = space + RNG.normal(0, 1e-4, (4, 720, 3))
    many = filter_section(draws, fit_circle(draws), cutoff_upr=15, kind="robust")
    assert many.form_mm.shape == (4,)
    assert np.abs(many.form_mm - plain.form_mm).max() < 1e-3
    assert many.filtered.weights.shape == (4, 720)


def test_an_arc_has_ends():
    angle, points = ring()
    arc = points[angle < 3.0]
    part = filter_section(arc, fit_circle(arc), cutoff_upr=15, order=1)
    assert part.filtered.affected.sum() == 2 * 48
    assert "1 gap" in part.filtered.notes[0]


def test_a_spline_needs_even_angles():
    _, points = ring()
    assert filter_section(points, fit_circle(points), cutoff_upr=15, kind="spline").form_mm < 0.0205
    points = points + np.array([0.01, 0.0])
    points[:, 1] += RNG.normal(0, 0.001, len(points))
    fit = fit_circle(points)
    with pytest.raises(InputError, match="be even"):
        filter_section(points, fit, cutoff_upr=15, kind="spline")
    part = filter_section(points, fit, cutoff_upr=15)
    at = np.argsort(part.places)
    short = part.filtered.long_mm + part.filtered.short_mm
    even, heights = evenly_around(part.places[at], short[at], count=1440)
    assert even[1] == pytest.approx(2 * math.pi / 1440)
    expected = 0.01 * np.cos(3 * even + 0.9) + 0.004 * np.cos(90 * even + 27.0)
    assert np.abs(heights - expected).max() < 0.006  # the noise


def test_resampling_keeps_the_phase():
    """Analytic: a wave on jittered angles comes back at even ones."""
    angle = np.arange(720) * 2 * math.pi / 720 + RNG.uniform(-2e-3, 2e-3, 720) + 0.003
    heights = np.stack([np.cos(5 * angle - 0.4), np.sin(2 * angle)])
    even, found = evenly_around(angle, heights, count=500)
    assert np.abs(found - [np.cos(5 * even - 0.4), np.sin(2 * even)]).max() < 1e-7
    with pytest.raises(InputError, match="without a gap"):
        evenly_around(angle[:600], heights[:, :600], count=500)


def test_a_line_in_a_plane():
    x = RNG.permutation(np.arange(900) * 0.01)
    y = 0.002 * np.cos(2 * np.pi * x / 4.0) + 0.001 * np.cos(2 * np.pi * x / 0.08)
    tilt = np.array([[math.cos(0.4), math.sin(0.4)], [-math.sin(0.4), math.cos(0.4)]])
    points = np.stack([x, y], -1) @ tilt + [300.0, -20.0]
    fit = fit_line(points)
    part = filter_line(points, fit, cutoff_mm=0.8)
    assert part.filtered.affected.sum() == 82  # 40 spacings of the turned line and a little more
    assert np.abs(part.filtered.short_mm[~part.filtered.affected]).max() == pytest.approx(0.001, abs=1e-4)
    again = fit_line(part.points_mm)
    assert again.form_mm < fit.form_mm - 0.0015
    with pytest.raises(InputError):
        filter_line(np.zeros((9, 3)), fit, cutoff_mm=0.8)


def test_refusals():
    _, points = ring()
    fit = fit_circle(points)
    for wrong, said in (
        ({"kind": "median"}, "be gaussian, robust, spline"),
        ({"points_mm": points[None]}, "be those of the fit"),
        ({"points_mm": np.concatenate([points, points[:1]])}, "ascend without repeats"),
        ({"points_mm": np.full((9, 2), np.nan)}, "be finite"),
        ({"points_mm": np.zeros((9, 3))}, "2 coordinates"),
    ):
        with pytest.raises(InputError) as caught:
            filter_section(**{"points_mm": points, "fit": fit, "cutoff_upr": 15} | wrong)
        assert said in str(caught.value)
