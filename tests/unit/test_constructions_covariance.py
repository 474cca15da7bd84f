"""Covariance of constructions: draws against the law of propagation, and a fit at the start of the chain."""

import numpy as np
import pytest

from trysquare.geometry import (
    Cone,
    Line,
    Plane,
    angle_between,
    bolt_circle,
    cone_cut,
    cylinder_two_point_sizes,
    distance_between,
    fit_cylinder,
    gauge_circle,
    linear_spread,
    mid_line,
    mid_plane,
    nearest_of_lines,
    parameter_u,
    point_of_line_and_plane,
    point_of_planes,
    project_line_on_plane,
    rank_order,
    spread,
    turned_meeting,
)

DRAWS = 20_000
P1 = Plane.from_vector([0, 0, 2, 0.02, 0.01, 1])
P2 = Plane.from_vector([50, 0, 0, 1, -0.1, 0.05])
P3 = Plane.from_vector([0, 40, 3, 0.1, 1, 0.2])
LID = Plane.from_vector([5, 0, 30, -0.03, 0.02, -1])
SLOPE = Plane.from_vector([0, 0, 12, 0.4, 0.1, 1])
L1 = Line.from_vector([0, 0, 9, 1, 0.2, 0.1])
L2 = Line.from_vector([10, 5, 2, 0.3, 1, 0.4])
C1 = Cone.from_vector([0, 0, 5, 0.001, 0, 1, 15, 0.4])
C2 = Cone.from_vector([0.01, 0, 45, 0, 0.001, -1, 13, 0.3])
HOLES = np.column_stack([60 * np.cos(np.arange(5) * 1.25), 60 * np.sin(np.arange(5) * 1.25), np.zeros(5)])


def holes(*centres):
    found = bolt_circle(np.stack(centres, -2), toward=[0, 0, 1])
    return np.concatenate([found.circle.vector, found.radial_mm, found.angular_rad], -1)


CASES = {
    "three planes": (lambda a, b, c: point_of_planes(a, b, c).vector, (P1, P2, P3)),
    "line and plane": (lambda a, b: point_of_line_and_plane(a, b).vector, (L1, P2)),
    "two lines": (lambda a, b: nearest_of_lines(a, b).middle_mm, (L1, L2)),
    "mid line": (lambda a, b: mid_line(a, b).vector, (L1, L2)),
    "mid plane": (lambda a, b: mid_plane(a, b).vector, (P1, LID)),
    "shadow": (lambda a, b: project_line_on_plane(a, b).vector, (L1, P1)),
    "gauge circle": (lambda a: gauge_circle(a, diameter_mm=40).vector, (C1,)),
    "cut": (lambda a, b: cone_cut(a, b).vector, (C1, SLOPE)),
    "two cones": (lambda a, b: turned_meeting(a, b).vector, (C1, C2)),
    "distance": (lambda a, b: distance_between(a, b, take="from first").value, (P1, LID)),
    "skew distance": (lambda a, b: distance_between(a, b, take="shortest").value, (L1, L2)),
    "angle": (lambda a, b: angle_between(a, b, take="acute").value, (P1, L2)),
}


@pytest.mark.parametrize("name", CASES)
def test_draws_agree_with_the_linear_covariance(name):
    """Parameters with a full covariance of about 2 um and 20 urad: standard uncertainties within 3 % (five standard
    deviations of one from 20 000 draws are 2.5 %), correlations within 0.05.
    """
    make, parts = CASES[name]
    rng = np.random.default_rng(11)
    kinds = [type(part) for part in parts]

    def build(*vectors):
        return make(*(kind.from_vector(v) for kind, v in zip(kinds, vectors)))

    inputs, draws = [], []
    for part in parts:
        p = len(part.vector)
        scale = np.where([n in ("direction", "normal") for n in _names(part)], 2e-5, 2e-3)
        scale = np.where([n == "half_angle_rad" for n in _names(part)], 2e-5, scale)
        root = scale[:, None] * rng.normal(size=(p, p)) / np.sqrt(p)
        inputs.append((part.vector, root @ root.T))
        draws.append(part.vector + rng.normal(size=(DRAWS, p)) @ root.T)
    value, covariance = linear_spread(build, inputs)
    found = spread(build(*draws) - value)
    sd = np.sqrt(np.atleast_1d(np.diagonal(np.atleast_2d(covariance))))
    moving = sd > 1e-9
    assert found.left_out == 0
    assert np.abs(found.u[moving] / sd[moving] - 1).max() < 0.03
    size = np.outer(sd, sd)[np.ix_(moving, moving)]
    off = (found.covariance - np.atleast_2d(covariance))[np.ix_(moving, moving)] / size
    assert np.abs(off).max() < 0.06


def _names(part):
    return [name for name in part.PARAMETERS for _ in range(np.size(getattr(part, name)))]


def test_bolt_circle():
    """Hole centres known to 3 um each way: the same comparison, and the radial parts of a least-squares circle are
    known better than a centre.
    """
    rng = np.random.default_rng(2)
    u = 3e-3
    value, covariance = linear_spread(holes, [(c, u * u * np.eye(3)) for c in HOLES])
    found = spread(holes(*np.moveaxis(HOLES + rng.normal(0, u, (DRAWS, 5, 3)), 1, 0)) - value)
    sd = np.sqrt(np.diagonal(covariance))
    moving = sd > 1e-9
    assert np.abs(found.u[moving] / sd[moving] - 1).max() < 0.03
    assert (sd[7:12] < u).all()


def test_draws_of_a_bore_through_fit_size_and_place():
    """From points to the point where the axis meets a plane: the draws of 2 000 fits against the covariance of one fit
    (JCGM 102) and the law of propagation: within 8 % (five standard deviations of a standard deviation).
    """
    rng = np.random.default_rng(6)
    a, z = (g.ravel() for g in np.meshgrid(2 * np.pi * np.arange(12) / 12, [0, 10, 20.0]))
    radial = np.column_stack([np.cos(a), np.sin(a), 0 * a])
    P = 15 * radial + np.column_stack([0 * z, 0 * z, z])
    u = 2e-3
    fit = fit_cylinder(P, toward=[0, 0, 1])
    inner = parameter_u(fit, u_mm=u).covariance[:6, :6]

    def build(v):
        return point_of_line_and_plane(Line.from_vector(v), P1).vector

    axis = Line(point_mm=fit.point_mm, direction=fit.direction)
    value, covariance = linear_spread(build, [(axis.vector, inner)])
    draws = P + rng.normal(0, u, (2000, len(P), 1)) * radial
    fits = fit_cylinder(draws, toward=[0, 0, 1])
    found = spread(point_of_line_and_plane(fits, P1).point_mm - value)
    assert np.abs(found.u[:2] / np.sqrt(np.diagonal(covariance))[:2] - 1).max() < 0.08
    sizes = cylinder_two_point_sizes(draws, fits, tolerance_rad=0.01)
    mean = rank_order(sizes, "SA").size_mm
    assert spread(mean).u[0] == pytest.approx(2 * u / np.sqrt(len(P)), rel=0.08)
