"""Reference data made backwards: points whose exact least-squares shape is known before any fit.

A. B. Forbes and H. D. Minh, "Generation of numerical artefacts for geometric form and tolerance assessment", Int. J.
Metrol. Qual. Eng. 3 (2012) 145: displace points of a nominal shape along its normals by residuals in the null space of
the transposed Jacobian. The first-order conditions then hold at the nominal shape exactly.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Artefact:
    """Points with the parameters that a least-squares fit must find, and the residuals it must leave."""

    points: Array
    at: Array  # centre, or a point on the axis or in the plane
    axis: Array
    radius: float
    residuals: Array


def in_null_space(J: Array, raw: Array, size: float) -> Array:
    """`raw` less its part in the span of the columns of J, scaled to the root mean square `size`."""
    Q = np.linalg.qr(J)[0]
    e = raw - Q @ (Q.T @ raw)
    e = e - Q @ (Q.T @ e)
    return e * (size / np.sqrt(np.mean(e * e)))


def pose(rng: np.random.Generator, offset: float) -> tuple[Array, Array]:
    """A rotation and a shift of the length `offset`."""
    R = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    shift = rng.normal(size=3)
    return R * np.sign(np.linalg.det(R)), offset * shift / np.linalg.norm(shift)


def angles(rng: np.random.Generator, n: int, arc: float) -> Array:
    """n angles over `arc`, both ends among them (all around for 2 pi)."""
    theta = rng.uniform(-arc / 2, arc / 2, n)
    theta[:2] = -arc / 2, arc / 2
    return theta


def cylinder(rng: np.random.Generator, n: int, radius: float, length: float, arc: float, e: float, offset: float):
    theta, z = angles(rng, n, arc), rng.uniform(-length / 2, length / 2, n)
    c, s = np.cos(theta), np.sin(theta)
    r = in_null_space(np.stack([c, s, c * z, s * z, np.ones(n)], 1), rng.normal(size=n), e)
    return _placed(rng, np.stack([(radius + r) * c, (radius + r) * s, z], 1), radius, r, offset)


def sphere(rng: np.random.Generator, n: int, radius: float, cap: float, e: float, offset: float):
    """`cap` is the angle from the pole that the points reach."""
    z = rng.uniform(np.cos(cap), 1, n)
    theta, h = rng.uniform(0, 2 * np.pi, n), np.sqrt(1 - z * z)
    d = np.stack([h * np.cos(theta), h * np.sin(theta), z], 1)
    r = in_null_space(np.column_stack([d, np.ones(n)]), rng.normal(size=n), e)
    return _placed(rng, (radius + r)[:, None] * d, radius, r, offset)


def circle(rng: np.random.Generator, n: int, radius: float, arc: float, e: float, offset: float, flat: bool = False):
    theta = angles(rng, n, arc)
    c, s = np.cos(theta), np.sin(theta)
    J = np.stack([c, s, np.ones(n)], 1)
    r = in_null_space(J, rng.normal(size=n), e)
    h = np.zeros(n) if flat else in_null_space(J, rng.normal(size=n), e)
    points = np.stack([(radius + r) * c, (radius + r) * s, h], 1)
    if flat:
        shift = offset * np.array([0.6, -0.8])
        return Artefact(points[:, :2] + shift, shift, np.zeros(3), radius, r)
    return _placed(rng, points, radius, np.copysign(np.hypot(r, h), r), offset)


def plane(rng: np.random.Generator, n: int, a: float, b: float, e: float, offset: float):
    x, y = rng.uniform(-a, a, n), rng.uniform(-b, b, n)
    h = in_null_space(np.stack([np.ones(n), x, y], 1), rng.normal(size=n), e)
    return _placed(rng, np.stack([x, y, h], 1), 0.0, h, offset)


def line(rng: np.random.Generator, n: int, length: float, e: float, offset: float):
    z = rng.uniform(-length / 2, length / 2, n)
    J = np.stack([np.ones(n), z], 1)
    x, y = (in_null_space(J, rng.normal(size=n), e) for _ in range(2))
    return _placed(rng, np.stack([x, y, z], 1), 0.0, np.hypot(x, y), offset)


def _placed(rng: np.random.Generator, points: Array, radius: float, residuals: Array, offset: float) -> Artefact:
    R, t = pose(rng, offset)
    return Artefact(points @ R.T + t, t, R[:, 2], radius, residuals)
