"""Every way to associate a shape, one line each: how to make points for it, and the function with its options."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

import trysquare.geometry as geometry

Array = np.ndarray[Any, np.dtype[np.float64]]
TURN = 2 * np.pi
UP = (0.0, 0.0, 1.0)


def _arc(rng: np.random.Generator, n: int, least: float = 0.6) -> Array:
    return rng.uniform(0, rng.uniform(least, TURN), n)


def tube(rng: np.random.Generator, least: float = 0.6) -> Array:
    a, z = _arc(rng, 30, least), rng.uniform(-20, 20, 30)
    return np.column_stack([25 * np.cos(a), 25 * np.sin(a), z]) + rng.normal(0, 0.005, (30, 3))


def full_tube(rng: np.random.Generator) -> Array:
    return tube(rng, TURN)


def hoop(rng: np.random.Generator) -> Array:
    a = _arc(rng, 20)
    return np.column_stack([40 * np.cos(a), 40 * np.sin(a), 0 * a]) + rng.normal(0, 0.005, (20, 3))


def ring(rng: np.random.Generator) -> Array:
    return hoop(rng)[:, :2]


def full_ring(rng: np.random.Generator) -> Array:
    a = np.linspace(0, TURN, 25)[:-1] + rng.uniform(0, 0.2, 24)
    return 40 * np.column_stack([np.cos(a), np.sin(a)]) + rng.normal(0, 0.005, (24, 2))


def full_ball(rng: np.random.Generator) -> Array:
    d = np.concatenate([e := rng.normal(size=(20, 3)), -e])
    return 15 * d / np.linalg.norm(d, axis=1)[:, None] + rng.normal(0, 0.005, (40, 3))


def half_ball(rng: np.random.Generator) -> Array:
    d = rng.normal(size=(25, 3))
    d[:, 2] = np.abs(d[:, 2])
    return 15 * d / np.linalg.norm(d, axis=1)[:, None] + rng.normal(0, 0.005, (25, 3))


def plate(rng: np.random.Generator) -> Array:
    return rng.uniform(-1, 1, (30, 3)) * [300, 200, 0.02]


def wire(rng: np.random.Generator) -> Array:
    return rng.uniform(-1, 1, (15, 3)) * [0.02, 0.02, 400]


def edge(rng: np.random.Generator) -> Array:
    return rng.uniform(-1, 1, (15, 2)) * [400, 0.02]


def funnel(rng: np.random.Generator) -> Array:
    a, z = _arc(rng, 40, 2.0), rng.uniform(-15, 15, 40)
    r = 20 + z * np.tan(0.4)
    return np.column_stack([r * np.cos(a), r * np.sin(a), z]) + rng.normal(0, 0.005, (40, 3))


def torus(rng: np.random.Generator) -> Array:
    a, b = _arc(rng, 60, 3.0), rng.uniform(0, TURN, 60)
    r = 50 + 12 * np.cos(b)
    return np.column_stack([r * np.cos(a), r * np.sin(a), 12 * np.sin(b)]) + rng.normal(0, 0.005, (60, 3))


@dataclass(frozen=True)
class Way:
    """Points from `make` for the function `name` with `options`.

    `squares`: True where every point counts (least squares), False where only the outermost do, None in between.
    """

    make: Callable[[np.random.Generator], Array]
    name: str
    options: dict[str, Any] = field(default_factory=dict)
    squares: bool | None = True

    def __call__(self, points: Any, **more: Any) -> Any:
        return getattr(geometry, self.name)(points, **self.options, **more)

    def along(self, R: Array) -> "Way":
        """The same for points turned by R: directions among the options turn with them."""
        turned = {k: R @ np.array(v) if isinstance(v, tuple) else v for k, v in self.options.items()}
        return replace(self, options=turned)

    def scaled(self, factor: float) -> "Way":
        """The same for points in another unit: lengths among the options too."""
        return replace(self, options={k: v * factor if k.endswith("_mm") else v for k, v in self.options.items()})

    @property
    def fixed(self) -> bool:
        """Whether so much is held that even points in one place have an answer: planes square to a direction."""
        return "perpendicular_to" in self.options

    @property
    def robust(self) -> bool:
        """Whether it judges points by a scale of its own, which counts degrees of freedom."""
        return "loss" in self.options

    @property
    def flat(self) -> bool:
        return self.make in (ring, full_ring, edge)


LEAST_SQUARES = {
    "cylinder": Way(tube, "fit_cylinder"),
    "circle": Way(hoop, "fit_circle"),
    "circle in a plane": Way(ring, "fit_circle"),
    "sphere": Way(half_ball, "fit_sphere"),
    "plane": Way(plate, "fit_plane"),
    "line": Way(wire, "fit_line"),
    "line in a plane": Way(edge, "fit_line"),
    "cone": Way(funnel, "fit_cone"),
    "torus": Way(torus, "fit_torus"),
    "cylinder of a radius": Way(tube, "fit_cylinder", {"radius_mm": 25.002}),
    "circle of a radius": Way(ring, "fit_circle", {"radius_mm": 40.003}),
    "sphere of a radius": Way(half_ball, "fit_sphere", {"radius_mm": 15.002}),
    "cone of an angle": Way(funnel, "fit_cone", {"half_angle_rad": 0.4001}),
    "torus of a tube": Way(torus, "fit_torus", {"minor_radius_mm": 12.001}),
    "cylinder, Huber": Way(tube, "fit_cylinder", {"loss": "huber"}),
    "plane, Tukey": Way(plate, "fit_plane", {"loss": "tukey"}),
}
ZONES = {
    "flatness": Way(plate, "minimum_zone_plane", squares=False),
    "straightness": Way(edge, "zone_line", squares=False),
    "tangent plane": Way(plate, "tangent_plane", {"outward": UP}, squares=False),
    "tangent plane, sum": Way(plate, "tangent_plane", {"outward": UP, "norm": "sum"}, squares=None),
    "tangent plane, squares": Way(plate, "tangent_plane", {"outward": UP, "norm": "squares"}, squares=None),
    "tangent line": Way(edge, "tangent_line", {"outward": UP[1:]}, squares=False),
    "tangent line, squares": Way(edge, "tangent_line", {"outward": UP[1:], "norm": "squares"}, squares=None),
    "roundness": Way(full_ring, "zone_circle", squares=False),
    "roundness of an arc": Way(ring, "zone_circle", squares=False),
    "roundness in space": Way(hoop, "zone_circle", squares=False),
    "sphericity": Way(full_ball, "zone_sphere", squares=False),
    "cylindricity": Way(full_tube, "zone_cylinder", squares=False),
    "straightness of an axis": Way(wire, "zone_axis", squares=False),
    "circumscribed circle": Way(full_ring, "circumscribed_circle", squares=False),
    "circumscribed circle of an arc": Way(ring, "circumscribed_circle", squares=False),
    "circumscribed sphere": Way(full_ball, "circumscribed_sphere", squares=False),
    "circumscribed cylinder": Way(full_tube, "circumscribed_cylinder", squares=False),
    "inscribed circle": Way(full_ring, "inscribed_circle", squares=False),
    "inscribed sphere": Way(full_ball, "inscribed_sphere", squares=False),
    "inscribed cylinder": Way(full_tube, "inscribed_cylinder", squares=False),
    "flatness held parallel": Way(plate, "minimum_zone_plane", {"parallel_to": (1.0, 0.0, 0.0)}, squares=False),
    "flatness held square": Way(plate, "minimum_zone_plane", {"perpendicular_to": UP}, squares=False),
    "cylindricity along": Way(full_tube, "zone_cylinder", {"direction": UP}, squares=False),
    "axis along": Way(wire, "zone_axis", {"direction": UP}, squares=False),
    "circumscribed cylinder along": Way(full_tube, "circumscribed_cylinder", {"direction": UP}, squares=False),
    "inscribed cylinder along": Way(full_tube, "inscribed_cylinder", {"direction": UP}, squares=False),
}
WAYS = LEAST_SQUARES | ZONES


def numbers(fit: Any) -> Array:
    """What depends on no frame: sizes, form and every residual (without the sense of a normal)."""
    names = ("radius_mm", "major_radius_mm", "minor_radius_mm", "half_angle_rad", "form_mm")
    values = [getattr(fit, name, None) for name in names]
    form = [fit.width_mm] if hasattr(fit, "width_mm") else []
    return np.r_[[v for v in values if v is not None], form, np.abs(fit.residuals_mm)]


def place(fit: Any) -> Array:
    center = getattr(fit, "center_mm", None)
    return np.asarray(fit.point_mm if center is None else center)


def axis(fit: Any) -> Array | None:
    """Normal or direction, None where there is none."""
    found = [getattr(fit, name, None) for name in ("normal", "direction")]
    return next((a for a in found if a is not None), None)


def rotation(rng: np.random.Generator, dims: int = 3) -> Array:
    R = np.linalg.qr(rng.normal(size=(dims, dims)))[0]
    R[:, 0] *= np.sign(np.linalg.det(R))
    return R
