"""Heat: readings of a warm part brought to 20 degC, the reference temperature of dimensions (ISO 1:2022)."""

import math
from typing import Protocol, TypedDict

import numpy as np
import numpy.typing as npt

from ..chance.sources import Draws, Source
from ..core.arrays import Array, points
from ..core.errors import InputError
from ..core.frames import dot
from ..core.threads import over_slices

REFERENCE_DEGC = 20.0
#: A part nobody took the temperature of is anywhere within 20 degC +- 5 K: common practice, no source.
UNMEASURED_HALF_WIDTH = 5.0
UNMEASURED_U = UNMEASURED_HALF_WIDTH / math.sqrt(3.0)
_GOAL_MM = 1e-10
_SLICE = 256


class HeatedZone(Protocol):
    """A piece of the part with one material. alpha, u_alpha 1/K; temperature at the anchor; gradient (3,) K/mm.

    `temperature_degC` None: nobody measured it.
    """

    @property
    def name(self) -> str: ...
    @property
    def alpha(self) -> float: ...
    @property
    def u_alpha(self) -> float: ...
    @property
    def alpha_origin(self) -> str: ...
    @property
    def temperature_degC(self) -> float | None: ...
    @property
    def u_temperature(self) -> float: ...
    @property
    def gradient(self) -> Array: ...
    @property
    def anchor_mm(self) -> Array: ...


class Heat(TypedDict):
    """The heat of a zone, as a value or as draws: alpha (...), temperature (...), gradient (..., 3), anchor (3,)."""

    alpha: Array
    temperature_degC: Array
    gradient: Array
    anchor_mm: Array


def strain(alpha: npt.ArrayLike, temperature_degC: npt.ArrayLike) -> Array:
    """Thermal strain alpha (T - 20), 1. `alpha` 1/K."""
    return np.asarray(alpha, dtype=np.float64) * (np.asarray(temperature_degC, dtype=np.float64) - REFERENCE_DEGC)


def displacement(
    points_mm: npt.ArrayLike,
    *,
    alpha: npt.ArrayLike,
    temperature_degC: npt.ArrayLike,
    gradient: npt.ArrayLike | None = None,
    anchor_mm: npt.ArrayLike | None = None,
) -> Array:
    """How points (..., n, 3), given at 20 degC, move when the part warms up: (..., n, 3), mm.

    The part is free, of one isotropic material, and its temperature is T(x) = T0 + g.x with x from the anchor, g K/mm.
    Then u = a [(T0 - 20) x + (g.x) x - 1/2 |x|^2 g], exactly and without stress. Derivation: the gradient of u is
    a [(T0 - 20 + g.x) I + x g' - g x'] (rows: components of u). Its symmetric part is a (T0 - 20 + g.x) I, the free
    thermal strain, so Hooke's law leaves no stress; its antisymmetric part is a rotation that grows with x. Any other
    such field differs by a rigid motion; this one keeps the anchor in place and unturned. With a gradient straight
    lines bend: a bar of length L bows by a g L^2 / 8.
    """
    pts = points(points_mm, where="heat")
    a, theta, g, anchor = _batched(alpha, temperature_degC, gradient, anchor_mm)
    return _move(pts - anchor, a, theta, g)


def to_reference(
    points_mm: npt.ArrayLike,
    *,
    alpha: npt.ArrayLike,
    temperature_degC: npt.ArrayLike,
    gradient: npt.ArrayLike | None = None,
    anchor_mm: npt.ArrayLike | None = None,
) -> Array:
    """Points (..., n, 3) measured on the warm part, brought to 20 degC: the inverse of x + `displacement(x)`.

    Leading axes of alpha (...), temperature (...), gradient (..., 3) and points are draws and broadcast. Without a
    gradient in closed form; with one by fixed point, each step of which shrinks the error by at least the greatest
    strain in the part (about 1e-4), until that bound is below 1e-10 mm.

    Raises
    ------
    InputError : points that are not finite (..., n, 3), or a strain beyond 1 in 20.
    """
    pts = points(points_mm, where="heat")
    a, theta, g, anchor = _batched(alpha, temperature_degC, gradient, anchor_mm)
    even = a * theta
    _check_strain(np.abs(even).max(initial=0.0))
    if not g.any():
        return _grown(pts, 1.0 / (1.0 + even), anchor)
    warm = pts - anchor
    size = np.linalg.norm(np.abs(warm).max(axis=tuple(range(warm.ndim - 1))))
    shrink = np.abs(even).max() + 2 * (np.abs(a[..., 0]) * np.linalg.norm(g, axis=-1)).max() * size
    _check_strain(shrink)
    steps, error = 0, shrink * size
    while error > _GOAL_MM:
        steps, error = steps + 1, error * shrink
    return _cooled(pts, anchor, a[..., 0, 0], theta[..., 0, 0], g[..., 0, :], steps)


def length_to_reference(length_mm: npt.ArrayLike, *, alpha: npt.ArrayLike, temperature_degC: npt.ArrayLike) -> Array:
    """A length on a part of even temperature, brought to 20 degC, mm."""
    return np.asarray(length_mm, dtype=np.float64) / (1.0 + strain(alpha, temperature_degC))


def heat_sources(zone: HeatedZone) -> tuple[Source, ...]:
    """What is doubtful about the heat of a zone: its temperature and its expansion."""
    if zone.temperature_degC is None:
        u, distribution = zone.u_temperature or UNMEASURED_U, "rectangular"
        origin = "not measured: 20 degC assumed, nothing corrected (+-5 K: common practice, no source)"
    else:
        u, distribution, origin = zone.u_temperature, "normal", "declared"
    return (
        Source(
            name=f"part temperature, {zone.name}", link="corrected reading", u=u, unit="K",
            scope="temperature history", distribution=distribution, origin=origin,
            action="let the part soak, and measure its temperature in several places",
        ),
        Source(
            name=f"part expansion, {zone.name}", link="corrected reading", u=zone.u_alpha, unit="1/K", scope="part",
            distribution="rectangular", origin=zone.alpha_origin,
            action="measure nearer to 20 degC, or have the coefficient of this material measured",
        ),
    )  # fmt: skip


def heat_errors(zone: HeatedZone, draws: Draws | None = None) -> Heat:
    """The heat of a zone as keywords of `to_reference`: the value, or one per draw (declared plus error).

    A zone without a temperature has 20 degC: nothing is corrected, and the doubt stays in the draws.
    """
    T0 = REFERENCE_DEGC if zone.temperature_degC is None else zone.temperature_degC
    temperature, alpha = np.asarray(T0, dtype=np.float64), np.asarray(zone.alpha, dtype=np.float64)
    if draws is not None:
        of_temperature, of_alpha = heat_sources(zone)
        temperature = temperature + draws.of(of_temperature, [zone.name])[:, 0]
        alpha = alpha + draws.of(of_alpha, [zone.name])[:, 0]
    return Heat(alpha=alpha, temperature_degC=temperature, gradient=zone.gradient, anchor_mm=zone.anchor_mm)


def _batched(
    alpha: npt.ArrayLike, temperature: npt.ArrayLike, gradient: npt.ArrayLike | None, anchor: npt.ArrayLike | None
) -> tuple[Array, Array, Array, Array]:
    """alpha, T - 20 as (..., 1, 1); gradient as (..., 1, 3); anchor (3,)."""
    a = np.asarray(alpha, dtype=np.float64)[..., None, None]
    theta = np.asarray(temperature, dtype=np.float64)[..., None, None] - REFERENCE_DEGC
    g = np.zeros(3) if gradient is None else np.asarray(gradient, dtype=np.float64)
    return a, theta, g[..., None, :], np.zeros(3) if anchor is None else np.asarray(anchor, dtype=np.float64)


def _cooled(warm: Array, anchor: Array, a: Array, theta: Array, g: Array, steps: int) -> Array:
    """The fixed point of `to_reference`, leading axes broadcast."""
    from .kernels import cool

    lead = np.broadcast_shapes(warm.shape[:-2], a.shape, theta.shape, g.shape[:-1])
    flat = [
        np.ascontiguousarray(np.broadcast_to(x, (*lead, *x.shape[x.ndim - own :]))).reshape(
            -1, *x.shape[x.ndim - own :]
        )
        for x, own in ((warm, 2), (a, 0), (theta, 0), (g, 1))
    ]
    points_mm, alphas, thetas, gradients = flat
    out = np.empty(points_mm.shape)

    def slices(i: int, j: int) -> None:
        cool(points_mm[i:j], anchor, alphas[i:j], thetas[i:j], gradients[i:j], steps, out[i:j])

    over_slices(slices, len(out), size=_SLICE)
    return out.reshape(*lead, *warm.shape[-2:])


def _move(x: Array, a: Array, theta: Array, g: Array) -> Array:
    along = dot(x, g)[..., None]
    squared = dot(x, x)[..., None]
    return (a * (theta + along)) * x - (0.5 * a * squared) * g


def _grown(pts: Array, factor: Array, anchor: Array) -> Array:
    """anchor + factor (pts - anchor)."""
    out = pts * factor
    return out + (1.0 - factor) * anchor if anchor.any() else out


def _check_strain(strain: float) -> None:
    if not strain <= 0.05:
        raise InputError(
            "heat", "the thermal strain", "stay below 1 in 20", f"{strain:.3g}",
            "Check the unit of the expansion coefficient (1/K) and of the gradient (K/mm).",
        )  # fmt: skip
