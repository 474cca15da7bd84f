"""Position of a plane, with its form in it, stated from points.

The whole surface counts (ISO 1101:2017, 18.12): how far its least-squares plane lies off at the corner that is worst,
and the form on it. What may be said of the plane comes from its four corners, each a magnitude; the form from surfaces
drawn to agree with the readings, as for flatness.
"""

import numpy as np
import numpy.typing as npt

from ..chance.extreme import stated
from ..chance.magnitude import largest, magnitude
from ..chance.sources import Draws
from ..chance.statement import P_GRID, Statement, ends, not_stated, ranked
from ..core.arrays import Array, finite
from ..core.errors import InputError
from .form_nodes import columns, field, measured, reach, refusal
from .form_plane import SURFACES, drawn_surfaces, first_of, one_thread, without_plane


def place_statement(
    uv_mm: npt.ArrayLike,
    heights_mm: npt.ArrayLike,
    error_draws: npt.ArrayLike,
    corners_uv_mm: npt.ArrayLike,
    corners_mm: npt.ArrayLike,
    corner_draws: npt.ArrayLike,
    draws: Draws,
    *,
    feature: str = "plane",
    outline_mm: npt.ArrayLike | None = None,
    surface_draws: int = SURFACES,
    coverage: float = 0.95,
) -> Statement:
    """Position of a plane: twice the greatest distance of its whole surface from where it should be.

    `heights_mm` (n,) are those of the points above the plane as drawn, held by the datums. `corners_mm` (m,) and
    `corner_draws` (M, m) are the heights of the least-squares plane at `corners_uv_mm` (m, 2), the corners of the
    surface, datum errors included. Other arguments and refusals as in `form_plane.flatness_statement`.

    The height of the plane at its worst corner comes from its confidence distribution, on the plane found; the two,
    plane and form, are taken as independent. Measured: tests/statistics/test_coverage_place.py.
    """
    taken = measured(uv_mm, heights_mm, error_draws)
    at, corners, drawn_corners = _corners(corners_uv_mm, corners_mm, corner_draws)
    reading = 2.0 * float(np.abs(np.asarray(heights_mm)).max())
    there = field(taken, outline_mm)
    reason = refusal(taken, there, None)
    if reason is not None or there is None:
        return not_stated("extreme", reason or "", value=reading, coverage=coverage)
    each = [magnitude(corners[[k]], drawn_corners[:, [k]], coverage=coverage) for k in range(len(corners))]
    quantiles = largest(each).quantiles
    if quantiles is None:
        raise ValueError("magnitudes are always stated")
    with one_thread():
        drawn = drawn_surfaces(taken, there, draws, feature, surface_draws)
        worst = np.interp(first_of(draws, len(drawn)).uniform(feature, "place"), P_GRID, quantiles)
        planes = _planes(at, corners, drawn_corners - corners, worst)
        whole = without_plane(drawn, there) + planes @ there.columns.T
        values = 2.0 * np.abs(whole).max(axis=1)
        noise = 2.0 * np.abs(np.asarray(error_draws)[: len(drawn)]).max(axis=1)  # a perfect plane in its place
    low, high = ranked(values, ends(coverage))
    return stated(
        values, (float(low), float(high)), reading, coverage=coverage, notes=reach(taken, there),
        resolved=float(np.mean(noise <= reading)) >= ends(coverage)[1],
        method="worst corner of the plane from its confidence distribution, form from surfaces drawn to agree",
    )  # fmt: skip


def _corners(at_mm: npt.ArrayLike, heights_mm: npt.ArrayLike, draws_mm: npt.ArrayLike) -> tuple[Array, Array, Array]:
    at = finite(np.asarray(at_mm, dtype=np.float64), where="corners of a plane")
    heights = finite(np.asarray(heights_mm, dtype=np.float64), where="heights at the corners")
    draws = finite(np.asarray(draws_mm, dtype=np.float64), where="draws at the corners")
    if at.shape != (len(at), 2) or heights.shape != (len(at),) or draws.ndim != 2 or draws.shape[1] != len(at):
        raise InputError(
            "position of a plane", "corners, their heights and draws", "have shapes (m, 2), (m,) and (M, m)",
            f"{at.shape}, {heights.shape} and {draws.shape}", "Give one height and one column of draws a corner.",
        )  # fmt: skip
    return at, heights, draws


def _planes(at: Array, corners: Array, errors: Array, worst: Array) -> Array:
    """Planes (B, 3), coefficients of 1, u, v: as found but with the heights `worst` (B,) at the worst corner.

    What the errors (M, m) of the corners do elsewhere is drawn beside it: they turn the plane about that corner.
    """
    k = int(np.abs(corners).argmax())
    shape = corners / abs(corners[k]) if corners[k] != 0.0 else np.ones(len(corners))
    turned = errors[: len(worst)] - errors[: len(worst), [k]] * shape * np.sign(shape[k])
    return np.asarray((worst[:, None] * shape + turned) @ np.linalg.pinv(columns(at)).T)
