"""Checks of arrays at the public boundary."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from .errors import InputError

Array = npt.NDArray[np.float64]
#: Called with the fraction done, 0 to 1; raises `Cancelled` to stop a run.
Progress = Callable[[float], None]


def points(value: npt.ArrayLike, *, at_least: int = 1, dims: int = 3, where: str = "points") -> Array:
    """Return `value` as finite float64 points (..., n, dims), n >= at_least.

    Raises
    ------
    InputError : wrong shape, too few points, or a coordinate that is not finite (names the first one).
    """
    try:
        array = np.asarray(value, dtype=np.float64)
    except (TypeError, ValueError) as error:
        raise InputError(where, "points", "be numbers", str(error), "Give an array of coordinates in mm.") from None
    if array.ndim < 2 or array.shape[-1] != dims:
        raise InputError(
            where, "points", f"have {dims} coordinates each", f"an array of shape {array.shape}",
            f"Give an array of shape (..., n, {dims}).",
        )  # fmt: skip
    if array.shape[-2] < at_least:
        raise InputError(
            where, "the number of points", f"be at least {at_least}", f"{array.shape[-2]}", "Measure more points."
        )
    return finite(array, where=where)


def finite(array: Array, *, where: str) -> Array:
    """Return `array`; raise `InputError` that names the first value which is not finite."""
    bad = ~np.isfinite(array)
    if bad.any():
        index = tuple(int(i) for i in np.argwhere(bad)[0])
        raise InputError(
            where, f"value {index}", "be finite", f"{array[index]}", "Drop the reading or correct it at its source."
        )
    return array
