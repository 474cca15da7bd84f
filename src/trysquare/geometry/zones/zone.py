"""Smallest zone of heights over given columns: the linear Chebyshev fit, exact and batched."""

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array, finite
from ...core.errors import InputError
from ...core.threads import over_slices
from ..kernels.zone import zone

_RANK = 1e-12  # of the largest singular value of the columns scaled to length 1
_SLICE = 64


def zone_width(columns: npt.ArrayLike, heights: npt.ArrayLike) -> Array:
    """Width of the smallest zone: 2 min over c of max |heights - columns c|.

    With the constant among the columns this is the least range max - min that a combination of the columns can leave.

    Parameters
    ----------
    columns : (n, p) float, finite
        For flatness: 1, x, y of the n points; for roundness: 1, cos, sin. They may depend on one another.
    heights : (..., n) float, finite, mm
        Leading axes are trials.

    Returns
    -------
    widths (...), mm.

    Raises
    ------
    InputError : shapes that do not fit, or a value that is not finite.

    Notes
    -----
    Method: exchange (E. Ya. Remez 1934; E. Stiefel, Numerische Mathematik 1, 1959), done as the simplex method on the
    dual linear program (G. B. Dantzig's rule, R. Bland's against cycling). Checked against scipy.optimize.linprog in
    tests/reference/test_against_linprog.py to 2e-10 of the largest height, the tolerance of the other.
    """
    return smallest_zone(columns, heights)[0]


def smallest_zone(columns: npt.ArrayLike, heights: npt.ArrayLike) -> tuple[Array, Array]:
    """As `zone_width`; also the values (..., n) of the fit in the middle of the zone."""
    A, H = _checked(columns, heights)
    Q = _orthogonal(A)
    flat = np.ascontiguousarray(H.reshape(-1, H.shape[-1]))
    widths, coefficients = np.empty(len(flat)), np.empty((len(flat), Q.shape[1]))
    over_slices(lambda a, b: zone(Q, flat[a:b], widths[a:b], coefficients[a:b]), len(flat), size=_SLICE)
    return widths.reshape(H.shape[:-1])[()], (coefficients @ Q.T).reshape(H.shape)


def _checked(columns: npt.ArrayLike, heights: npt.ArrayLike) -> tuple[Array, Array]:
    A, H = np.asarray(columns, dtype=np.float64), np.asarray(heights, dtype=np.float64)
    if A.ndim != 2 or H.ndim < 1 or H.shape[-1] != len(A) or not A.size:
        raise InputError(
            "zone_width", "the shapes", "be (n, p) columns and (..., n) heights with the same n",
            f"{A.shape} and {H.shape}", "Give one row of columns for each height.",
        )  # fmt: skip
    return finite(A, where="zone_width: columns"), finite(H, where="zone_width: heights")


def _orthogonal(A: Array) -> Array:
    """Orthogonal columns (n, r) of mean square 1 that span the same space."""
    length = np.linalg.norm(A, axis=0)
    U, s, _ = np.linalg.svd(A / np.where(length > 0, length, 1.0), full_matrices=False)
    return np.ascontiguousarray(U[:, s > _RANK * max(s[0], 1e-300)]) * np.sqrt(len(A))
