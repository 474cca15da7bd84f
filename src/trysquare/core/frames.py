"""Rigid transforms, batched over leading axes.

`T_part_station` maps station coordinates to part coordinates: `T_part_station.apply(points_station)`.
"""

from dataclasses import dataclass

import numpy as np

from .arrays import Array


@dataclass(frozen=True)
class Rigid:
    """x -> R x + t. `R` (..., 3, 3) proper rotation, `t` (..., 3) mm."""

    R: Array
    t: Array

    @classmethod
    def identity(cls) -> "Rigid":
        return cls(np.eye(3), np.zeros(3))

    def apply(self, points: Array) -> Array:
        """Map points (..., n, 3); leading axes broadcast."""
        return points @ np.swapaxes(self.R, -1, -2) + self.t[..., None, :]

    def turn(self, vectors: Array) -> Array:
        """Map directions (..., n, 3)."""
        return vectors @ np.swapaxes(self.R, -1, -2)

    def inverse(self) -> "Rigid":
        Rt = np.swapaxes(self.R, -1, -2)
        return Rigid(Rt, -(Rt @ self.t[..., None])[..., 0])

    def after(self, first: "Rigid") -> "Rigid":
        """The transform that does `first`, then this one."""
        return Rigid(self.R @ first.R, (self.R @ first.t[..., None])[..., 0] + self.t)

    def __getitem__(self, index: int | slice) -> "Rigid":
        """The transform, or transforms, at `index` of the first leading axis."""
        return Rigid(self.R[index], self.t[index])


def dot(a: Array, b: Array) -> Array:
    """Scalar product over the last axis."""
    return np.einsum("...i,...i->...", a, b)


def cross(a: Array, b: Array) -> Array:
    """Vector product over the last axis; for few vectors several times faster than NumPy's."""
    x, y, z = a[..., 0], a[..., 1], a[..., 2]
    u, v, w = b[..., 0], b[..., 1], b[..., 2]
    return np.stack([y * w - z * v, z * u - x * w, x * v - y * u], axis=-1)


def unit(vector: Array) -> Array:
    """Vector (..., 3) over its length; a zero vector stays zero (callers check rank first)."""
    length = np.linalg.norm(vector, axis=-1, keepdims=True)
    return vector / np.where(length > 0, length, 1.0)


def rotation(vector: Array) -> Array:
    """Rotation matrices (..., 3, 3) of rotation vectors (..., 3), rad (Rodrigues)."""
    angle = np.linalg.norm(vector, axis=-1)[..., None, None]
    K = cross_matrix(vector)
    a2 = angle * angle
    small = angle < 1e-4
    safe = np.where(small, 1.0, angle)
    s = np.where(small, 1 - a2 / 6, np.sin(safe) / safe)
    c = np.where(small, 0.5 - a2 / 24, (1 - np.cos(safe)) / (safe * safe))
    return np.eye(3) + s * K + c * (K @ K)


def cross_matrix(v: Array) -> Array:
    """The matrix [v] with [v] w = v x w, (..., 3) to (..., 3, 3)."""
    o = np.zeros(v.shape[:-1])
    x, y, z = v[..., 0], v[..., 1], v[..., 2]
    return np.stack([np.stack([o, -z, y], -1), np.stack([z, o, -x], -1), np.stack([-y, x, o], -1)], -2)


def perpendicular(direction: Array) -> tuple[Array, Array]:
    """Two unit vectors that make a right-handed frame (u, v, direction), from a unit direction (..., 3)."""
    axis = np.zeros_like(direction)
    np.put_along_axis(axis, np.abs(direction).argmin(-1)[..., None], 1.0, -1)
    u = unit(cross(axis, direction))
    return u, cross(direction, u)


def best_rigid(source: Array, target: Array, weights: Array | None = None) -> Rigid:
    """The proper rigid transform that maps `source` (..., n, 3) to `target` with least weighted squares.

    Method: singular value decomposition of the cross covariance (Arun, Huang, Blostein 1987), with the reflection
    ruled out (Umeyama 1991). Three points not on one line fix it; callers check the rank.
    """
    w = np.ones(source.shape[-2]) if weights is None else weights
    w = (w / w.sum(-1, keepdims=True))[..., None]
    cs, ct = (source * w).sum(-2, keepdims=True), (target * w).sum(-2, keepdims=True)
    U, _, Vt = np.linalg.svd(np.swapaxes(target - ct, -1, -2) @ ((source - cs) * w))
    D = np.zeros(U.shape)
    D[..., 0, 0] = D[..., 1, 1] = 1.0
    D[..., 2, 2] = np.sign(np.linalg.det(U) * np.linalg.det(Vt))
    R = U @ D @ Vt
    return Rigid(R, ct[..., 0, :] - (R @ np.swapaxes(cs, -1, -2))[..., 0])
