"""Least-squares data made backwards for all seven shapes, weighted and with parameters held.

As null_space_data.py (A. B. Forbes, H. D. Minh, Int. J. Metrol. Qual. Eng. 3 (2012) 145), with what an examiner needs
besides: the shape's own deviations in its own frame, the Jacobian there, and the distances to any number of digits.

Deviations p of a shape from its nominal, in order: plane (height, tilt to u, tilt to v); line (u, v, tilts); circle
(u, v, w, tilts, radius); flat circle (u, v, radius); sphere (u, v, w, radius); cylinder (u, v, tilts, radius); cone
(u, v, tilts, radius, angle); torus (u, v, w, tilts, major radius, minor radius). A tilt a to u is the axis w + a u.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from null_space_data import angles, in_null_space, pose

Array = npt.NDArray[np.float64]
EPS = 2.220446049250313e-16
#: what each deviation is, by shape
COLUMNS = {
    "plane": ("height", "tilt", "tilt"),
    "line": ("place", "place", "tilt", "tilt"),
    "circle": ("place", "place", "height", "tilt", "tilt", "radius"),
    "flat circle": ("place", "place", "radius"),
    "sphere": ("place", "place", "place", "radius"),
    "cylinder": ("place", "place", "tilt", "tilt", "radius"),
    "cone": ("place", "place", "tilt", "tilt", "radius", "angle"),
    "torus": ("place", "place", "height", "tilt", "tilt", "major", "minor"),
}
ANGULAR = ("tilt", "angle")


@dataclass(frozen=True)
class Made:
    """Points (n, 3 or 2) whose best shape has the place `at`, the frame (rows u, v, w) and the sizes given."""

    kind: str
    points: Array
    at: Array
    frame: Array
    sizes: tuple[float, ...]
    jacobian: Array  # rows weighted; columns as COLUMNS, also those held
    held: tuple[str, ...]
    weights: Array
    squares: float

    @property
    def free(self) -> npt.NDArray[np.bool_]:
        return np.array([name not in self.held for name in COLUMNS[self.kind]])

    @property
    def gain(self) -> Array:
        """Standard uncertainty of each deviation for a unit one of the points; 0 where held."""
        out = np.zeros(len(self.free))
        out[self.free] = np.linalg.norm(np.linalg.pinv(self.jacobian[:, self.free], rcond=1e-14), axis=1)
        return out


def surface(kind: str, rng: np.random.Generator, n: int, sizes: tuple[float, ...], arc: float, reach: float):
    """Feet, unit normals (one or two, in the shape's frame) and the rows of the Jacobian that go with each."""
    one, zero = np.ones(n), np.zeros(n)
    theta, z = angles(rng, n, arc), rng.uniform(-reach / 2, reach / 2, n)
    z[2:4] = -reach / 2, reach / 2
    c, s = np.cos(theta), np.sin(theta)
    radial, axial = np.stack([c, s, zero], 1), np.stack([zero, zero, one], 1)
    if kind == "plane":
        x = rng.uniform(-arc / 2, arc / 2, n)
        return np.stack([x, z, zero], 1), [(axial, [one, x, z])]
    if kind == "line":
        u, v = np.stack([one, zero, zero], 1), np.stack([zero, one, zero], 1)
        return z[:, None] * axial, [(u, [one, zero, z, zero]), (v, [zero, one, zero, z])]
    if kind in ("circle", "flat circle"):
        r = sizes[0]
        if kind == "flat circle":
            return r * radial, [(radial, [c, s, one])]
        return r * radial, [(radial, [c, s, zero, zero, zero, one]), (axial, [zero, zero, one, -r * c, -r * s, zero])]
    if kind == "cylinder":
        return sizes[0] * radial + z[:, None] * axial, [(radial, [c, s, c * z, s * z, one])]
    if kind == "cone":
        r, half = sizes
        rho, along = r + z * np.tan(half), z / np.cos(half) + r * np.sin(half)
        k = np.cos(half)
        normal = k * radial - np.sin(half) * axial
        rows = [k * c, k * s, along * c, along * s, k * one, along - r * np.sin(half)]
        return rho[:, None] * radial + z[:, None] * axial, [(normal, rows)]
    phi = angles(rng, n, min(reach, 2 * np.pi))
    if kind == "sphere":  # a patch about the equator, both ways; full turns are even over the sphere
        up = rng.uniform(-1, 1, n) if reach > np.pi else np.sin(phi)
        h = np.sqrt(1 - up * up)
        normal = h[:, None] * radial + up[:, None] * axial
        return sizes[0] * normal, [(normal, [h * c, h * s, up, one])]
    p, q = np.cos(phi), np.sin(phi)
    normal = p[:, None] * radial + q[:, None] * axial
    R, r = sizes
    return R * radial + r * normal, [(normal, [p * c, p * s, q, -R * q * c, -R * q * s, p, one])]


def make(
    kind: str, seed: int, sizes: tuple[float, ...], arc: float, reach: float, noise: float, *, offset: float = 0.0,
    held: tuple[str, ...] = (), weighted: bool = False, n: int = 40,
) -> Made:  # fmt: skip
    """`arc` is the angle about the axis (for a plane a width), `reach` the length along it (for sphere and torus the
    angle the other way); both ends are reached. `noise` is the root mean square (weighted) residual of each part.
    """
    rng = np.random.default_rng(seed)
    feet, parts = surface(kind, rng, n, sizes, arc, reach)
    root = np.sqrt(rng.uniform(0.2, 5.0, n)) if weighted else np.ones(n)
    free = np.array([name not in held for name in COLUMNS[kind]])
    points, blocks, squares = feet, [], 0.0
    for normal, columns in parts:
        J = np.stack(columns, 1)
        used = J[:, free & (np.abs(J).max(0) > 0)]
        e = in_null_space(root[:, None] * used / np.linalg.norm(used, axis=0), rng.normal(size=n), noise)
        squares += float(e @ e)
        points = points + (e / root)[:, None] * normal
        blocks.append(root[:, None] * J)
    frame, at = pose(rng, offset)
    if kind == "flat circle":
        frame = np.eye(3)
        at = np.array([0.6 * offset, -0.8 * offset, 0.0])
    points = points @ frame.T + at
    dims = 2 if kind == "flat circle" else 3
    return Made(kind, points[:, :dims], at, frame.T, sizes, np.concatenate(blocks), held, root * root, squares)


def squared_distances(kind: str, X: Any, frame: Any, p: Any, sizes: Any) -> Any:
    """Of points X (n, 3), seen from the nominal place, from the shape that deviates by p.

    Floats or arrays of `Decimal`: only + - * / and square roots. A cone's size is (radius, tangent of its angle).
    """
    u, v, w = frame
    names = COLUMNS[kind]
    tilts = [q for q, name in zip(p, names, strict=True) if name == "tilt"]
    axis = w + tilts[0] * u + tilts[1] * v if tilts else w
    axis = axis / np.sqrt(axis @ axis)
    places = {"plane": (w,), "line": (u, v), "flat circle": (u, v), "cylinder": (u, v), "cone": (u, v)}
    d = X
    for q, direction in zip(p, places.get(kind, (u, v, w)), strict=False):
        d = d - q * direction
    along = d @ axis
    if kind == "plane":
        return along * along
    square = (d * d).sum(1)
    if kind == "sphere":
        return (np.sqrt(square) - sizes[0] - p[-1]) ** 2
    across = square - along * along
    if kind == "line":
        return across
    rho = np.sqrt(across)
    if kind in ("cylinder", "flat circle"):
        return (rho - sizes[0] - p[-1]) ** 2
    if kind == "circle":
        return (rho - sizes[0] - p[-1]) ** 2 + along * along
    if kind == "cone":
        slope = sizes[1] + p[-1]
        return (rho - sizes[0] - p[-2] - slope * along) ** 2 / (1 + slope * slope)
    return (np.sqrt((rho - sizes[0] - p[-2]) ** 2 + along * along) - sizes[1] - p[-1]) ** 2


def deviations(made: Made, fit: Any) -> Array:
    """What a fit found, as deviations from the nominal in the shape's own frame."""
    R = made.frame
    place = np.asarray(fit.center_mm if hasattr(fit, "center_mm") else fit.point_mm)
    x = R @ np.r_[place - made.at[: len(place)], [0.0] * (3 - len(place))]
    if made.kind == "flat circle":
        return np.r_[x[:2], fit.radius_mm - made.sizes[0]]
    if made.kind == "sphere":
        return np.r_[x, fit.radius_mm - made.sizes[0]]
    d = R @ np.asarray(fit.normal if hasattr(fit, "normal") else fit.direction)
    a, b = d[:2] / d[2]
    if made.kind == "plane":
        return np.array([x[2] + a * x[0] + b * x[1], a, b])
    if made.kind == "circle":
        return np.r_[x, a, b, fit.radius_mm - made.sizes[0]]
    if made.kind == "torus":
        return np.r_[x, a, b, fit.major_radius_mm - made.sizes[0], fit.minor_radius_mm - made.sizes[1]]
    foot = x[:2] - x[2] * np.array([a, b])
    if made.kind == "line":
        return np.r_[foot, a, b]
    if made.kind == "cylinder":
        return np.r_[foot, a, b, fit.radius_mm - made.sizes[0]]
    assert d[2] > 0, "a cone points to its wider end"
    radius = fit.radius_mm - x[2] * np.tan(fit.half_angle_rad)
    return np.r_[foot, a, b, radius - made.sizes[0], fit.half_angle_rad - made.sizes[1]]


def is_settled(made: Made, noise: float) -> bool:
    """Whether the data still fix the shape: each parameter to a twentieth of what it bounds, the second-order condition
    held within one standard deviation about the nominal. (The first-order condition holds by design.)
    """
    J = made.jacobian[:, made.free]
    C = np.linalg.pinv(J, rcond=1e-14)
    u = noise * made.gain
    bound = min(made.sizes[:1] + made.sizes[1:] * (made.kind == "torus"), default=np.inf)
    for name, value in zip(COLUMNS[made.kind], u, strict=True):
        if value > 0.05 * (0.5 if name in ANGULAR else bound):
            return False
    # second differences of the sum of squares along directions that each change the residuals by `noise`
    T = np.zeros((len(made.free), C.shape[0]))
    T[made.free] = np.linalg.svd(C, full_matrices=False)[0] * np.linalg.svd(C, compute_uv=False) * noise
    k = T.shape[1]
    X = np.pad(made.points, ((0, 0), (0, 3 - made.points.shape[1]))) - made.at
    sizes = (made.sizes[0], np.tan(made.sizes[1])) if made.kind == "cone" else made.sizes
    slope = 1 + sizes[1] ** 2 if made.kind == "cone" else 1.0

    def total(q: Array) -> float:
        p = T @ q
        p[-1] *= slope
        return float((made.weights * squared_distances(made.kind, X, made.frame, p, sizes)).sum())

    middle, H = total(np.zeros(k)), np.empty((k, k))
    E = np.eye(k)
    for i in range(k):
        for j in range(i, k):
            H[i, j] = H[j, i] = (total(E[i] + E[j]) - total(E[i] - E[j]) - total(E[j] - E[i]) + total(-E[i] - E[j])) / 4
        H[i, i] = total(E[i]) + total(-E[i]) - 2 * middle
    return bool(np.linalg.eigvalsh(H / 2 / noise**2)[0] > 0.5)
