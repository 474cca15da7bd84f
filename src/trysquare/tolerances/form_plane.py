"""Flatness of a plane, and its orientation with the form in it, stated from points.

The form model of `chance.form` over the plane's own extent: kernels of several smoothnesses and lengths, in true
proportion, on a grid of nodes inside the hull of the points (or of a given outline) and on the points themselves.
"""

from contextlib import AbstractContextManager

import numpy as np
import numpy.typing as npt

from ..chance.extreme import Posterior, extreme, stated
from ..chance.form import error_covariance, form_model, surfaces
from ..chance.form_noise import FormFound, fit_columns, form_above_noise
from ..chance.magnitude import confidence_of_magnitude
from ..chance.noise_scale import levelled, shared_freedom, sizes
from ..chance.sources import Draws
from ..chance.statement import Statement, ends, not_stated, ranked
from ..core.arrays import Array, finite
from ..core.errors import InputError
from ..geometry import zone_width
from .form_nodes import Field, Measured, columns, field, measured, reach, refusal

__all__ = [
    "FormFound", "drawn_surfaces", "first_of", "fit_columns", "flatness_statement", "form_above_noise", "one_thread",
    "orientation_statement", "plane_kernels", "without_plane",
]  # fmt: skip
LENGTHS = (0.125, 0.25, 0.5, 1.0)  # of the larger extent
STRIPS = (0.25, 0.5)  # the same, for form along one axis
CUBIC = 0.4  # cubic over quadratic terms
SURFACES = 500  # bench/coverage_flatness measures coverage with 400


def flatness_statement(
    uv_mm: npt.ArrayLike,
    heights_mm: npt.ArrayLike,
    error_draws: npt.ArrayLike,
    draws: Draws,
    *,
    feature: str = "plane",
    outline_mm: npt.ArrayLike | None = None,
    smallest_defect_mm: float | None = None,
    surface_draws: int = SURFACES,
    coverage: float = 0.95,
) -> Statement:
    """Flatness (zone between two parallel planes) of the whole plane, not only of its points.

    Parameters
    ----------
    uv_mm, heights_mm : (n, 2) and (n,), the points in the plane and above any plane near it.
    error_draws : (M, n) mm, draws of the errors of the heights, smooth error field of the instrument included.
    draws : the run's draws, in step with `error_draws`; only its first `surface_draws` are used.
    feature : names the streams of chance: the same name, the same surfaces.
    outline_mm : (m, 2), corners of the surface where it reaches beyond its points (the hull of all is taken).
    smallest_defect_mm : width of the smallest defect that must not be missed, declared from the process.

    Returns
    -------
    Statement of kind "extreme", mm; with a `reason` for fewer than 8 points, points in line, or points too far apart
    for `smallest_defect_mm`. Above 300 points heights are averaged in cells, and the notes say so.

    Raises
    ------
    InputError : shapes that do not fit, or a value that is not finite.
    """
    taken = measured(uv_mm, heights_mm, error_draws)
    A = columns(taken.uv)
    reading = float(zone_width(A, taken.heights))
    there = field(taken, outline_mm)
    reason = refusal(taken, there, smallest_defect_mm)
    if reason is not None or there is None:
        return not_stated("extreme", reason or "", value=reading, coverage=coverage)
    with one_thread():
        drawn = drawn_surfaces(taken, there, draws, feature, surface_draws)
        found = Posterior(zone_width(there.columns, drawn), drawn[:, there.at], taken.errors[: len(drawn)], reading)
        return extreme(
            found, lambda h: zone_width(A, h), dense=taken.cell_mm > 0, coverage=coverage, notes=reach(taken, there)
        )


def orientation_statement(
    uv_mm: npt.ArrayLike,
    heights_mm: npt.ArrayLike,
    error_draws: npt.ArrayLike,
    tilt: npt.ArrayLike,
    tilt_draws: npt.ArrayLike,
    draws: Draws,
    *,
    directions: npt.ArrayLike = ((1.0, 0.0), (0.0, 1.0)),
    feature: str = "plane",
    outline_mm: npt.ArrayLike | None = None,
    smallest_defect_mm: float | None = None,
    surface_draws: int = SURFACES,
    coverage: float = 0.95,
) -> Statement:
    """Parallelism or perpendicularity of a plane: the zone, held by the datums, that its whole surface fills.

    `tilt` (k,) and `tilt_draws` (M, k): slopes (mm per mm) of the least-squares plane against the orientation that the
    datums prescribe, along the k unit `directions` (k, 2) in the plane that they hold, datum errors included; k = 2 for
    parallelism, 1 where a turn about one axis is left free. Other arguments and refusals as `flatness_statement`.

    The size of the tilt comes from its confidence distribution along the direction found, the form from drawn
    surfaces; the two are taken as independent.
    """
    taken = measured(uv_mm, heights_mm, error_draws)
    slope, slopes, held = _tilts(tilt, tilt_draws, directions)
    free = _free(held)
    reading = float(zone_width(_held_columns(taken.uv, free), taken.heights + taken.uv @ held.T @ slope))
    there = field(taken, outline_mm)
    reason = refusal(taken, there, smallest_defect_mm)
    if reason is not None or there is None:
        return not_stated("extreme", reason or "", value=reading, coverage=coverage)
    with one_thread():
        drawn = drawn_surfaces(taken, there, draws, feature, surface_draws)
        part = first_of(draws, len(drawn))
        values = _tilted(drawn, there, slope, slopes, held, part.uniform(feature, "tilt"))
        low, high = ranked(values, ends(coverage))
        noise = zone_width(_held_columns(taken.uv, free), _noise(taken, slopes - slope, held))
    return stated(
        values, (float(low), float(high)), reading, coverage=coverage, notes=reach(taken, there),
        resolved=float(np.mean(noise <= reading)) >= ends(coverage)[1],
        method="tilt from its confidence distribution, form from surfaces drawn to agree with the readings",
    )  # fmt: skip


def one_thread() -> AbstractContextManager[object]:
    """Linear algebra on one thread: the matrices are small, and the same seed gives the same bits."""
    from threadpoolctl import threadpool_limits

    limited: AbstractContextManager[object] = threadpool_limits(limits=1)
    return limited


def _tilted(drawn: Array, there: Field, slope: Array, slopes: Array, held: Array, u: Array) -> Array:
    """Zones (B,) of surfaces (B, P), freed of their plane at the points and tilted by the truth's confidence at u."""
    form = without_plane(drawn, there)
    along = there.nodes @ held.T
    size = np.ptp(along, axis=0)
    amount = confidence_of_magnitude(slope * size, slopes * size, u)
    tilted = form + amount[:, None] * (along @ (_towards(slope * size, slopes * size) / size))
    return zone_width(_held_columns(there.nodes, _free(held)), tilted)


def without_plane(drawn: Array, there: Field) -> Array:
    """Surfaces (B, P) freed of the plane that least squares put through their heights at the points."""
    return np.asarray(drawn - drawn[:, there.at] @ np.linalg.pinv(there.columns[there.at]).T @ there.columns.T)


def _noise(taken: Measured, tilt_errors: Array, held: Array) -> Array:
    """What the points would read (M, n) of a perfect plane, perfectly oriented."""
    count = min(len(taken.errors), len(tilt_errors))
    return taken.errors[:count] + tilt_errors[:count] @ (taken.uv @ held.T).T


def drawn_surfaces(taken: Measured, there: Field, draws: Draws, feature: str, surface_draws: int) -> Array:
    """Surfaces (B, P) at the nodes, mm; where the draws show doubt about the errors' size, its sizes are weighed."""
    count = min(surface_draws, len(draws), len(taken.errors))
    sigma = error_covariance(taken.errors)
    at_points = there.columns[there.at]
    freedom = shared_freedom(taken.errors, at_points)
    errors = levelled(taken.errors, at_points, freedom)
    least = 1e-4 * float(np.ptp(taken.heights))
    model = form_model(plane_kernels(there), there.columns, there.at, sigma, least_s=least)
    return surfaces(
        model, taken.heights, errors[:count], first_of(draws, count), f"form of {feature}", noise_scales=sizes(freedom),
    )  # fmt: skip


def plane_kernels(there: Field) -> list[Array]:
    """Covariances (P, P) of the kinds of form that are looked for.

    Anywhere alike: exponential, Matern 3/2 and squared exponential, of four lengths each. Along one axis only (feed
    marks, a bent strip): squared exponential. Bending and twist: quadratic, without and with some cubic.
    """
    d = (there.nodes[:, None] - there.nodes) / there.extent_mm
    distance = np.sqrt((d**2).sum(axis=-1))
    out = []
    for r in (distance / length for length in LENGTHS):
        out += [np.exp(-r), (1 + np.sqrt(3.0) * r) * np.exp(-np.sqrt(3.0) * r), np.exp(-0.5 * r**2)]
    out += [np.exp(-0.5 * (d[..., axis] / length) ** 2) for axis in (0, 1) for length in STRIPS]
    x, y = 2.0 * (there.nodes - there.nodes.mean(axis=0)).T / there.extent_mm
    square = np.stack([x * x, x * y, y * y])
    cube = CUBIC * np.stack([x**3, x * x * y, x * y * y, y**3])
    return [*out, square.T @ square, square.T @ square + cube.T @ cube]


def first_of(draws: Draws, count: int) -> Draws:
    """The first `count` of the draws."""
    return Draws(draws.seed, draws.start, draws.start + count)


def _tilts(tilt: npt.ArrayLike, tilt_draws: npt.ArrayLike, directions: npt.ArrayLike) -> tuple[Array, Array, Array]:
    """Checked slope (k,), its draws (M, k) and the directions held (k, 2)."""
    held = finite(np.atleast_2d(np.asarray(directions, dtype=np.float64)), where="directions")
    slope = finite(np.asarray(tilt, dtype=np.float64), where="tilt")
    slopes = finite(np.asarray(tilt_draws, dtype=np.float64), where="tilt draws")
    k = len(held)
    if held.shape[1] != 2 or k > 2 or slope.shape != (k,) or slopes.ndim != 2 or slopes.shape[1] != k:
        raise InputError(
            "orientation", "tilt, tilt_draws and directions", "have shapes (k,), (M, k) and (k, 2), k = 1 or 2",
            f"{slope.shape}, {slopes.shape} and {held.shape}", "Give one slope for each direction held.",
        )  # fmt: skip
    return slope, slopes, held


def _free(held: Array) -> Array:
    """Directions (2 - k, 2) about which the datums leave the plane free to turn."""
    return np.array([[-held[0, 1], held[0, 0]]]) if len(held) == 1 else np.empty((0, 2))


def _held_columns(uv: Array, free: Array) -> Array:
    return np.column_stack([np.ones(len(uv)), uv @ free.T])


def _towards(vector: Array, draws: Array) -> Array:
    """Unit vector of the tilt; where there is none, the direction in doubt most."""
    length = float(np.linalg.norm(vector))
    if length > 0:
        return vector / length
    return np.asarray(np.linalg.eigh(draws.T @ draws)[1][:, -1])
