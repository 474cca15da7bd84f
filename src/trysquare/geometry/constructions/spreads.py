"""Mean and covariance of what was constructed: from draws, and linear from the covariances of what went in."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array, finite
from ...core.errors import InputError, RankError

_STEP = 1e-2  # of a standard uncertainty: both sides of the estimate


@dataclass(frozen=True, kw_only=True)
class Spread:
    """`mean` (p,), `covariance` (p, p) and `u` (p,), its standard uncertainties. `used` draws, and `left_out` those
    that had no answer (NaN): more than a few mean that the construction hangs by a thread.
    """

    mean: Array
    covariance: Array
    used: int
    left_out: int

    @property
    def u(self) -> Array:
        return np.sqrt(np.maximum(np.diagonal(self.covariance), 0.0))


def spread(draws: npt.ArrayLike) -> Spread:
    """Mean and covariance of draws (m, p) or (m,), of any result: `element.vector`, a distance, an angle.

    Raises
    ------
    InputError : another shape.
    RankError : fewer than two draws that have an answer.
    """
    X = np.asarray(draws, dtype=np.float64)
    if X.ndim not in (1, 2):
        raise InputError("spread", "the draws", "be (m,) or (m, p)", f"shape {X.shape}", "Give one row per draw.")
    X = X.reshape(len(X), -1)
    known = np.isfinite(X).all(-1)
    used = int(known.sum())
    if used < 2:
        raise RankError(
            "spread", "the draws", "be at least two that have an answer", f"{used} of {len(X)}",
            "Look at the sine of the construction: its parents are too near to parallel.", ratio=float(used),
            threshold=2.0,
        )  # fmt: skip
    covariance = np.atleast_2d(np.cov(X[known], rowvar=False))
    return Spread(mean=X[known].mean(0), covariance=covariance, used=used, left_out=len(X) - used)


def linear_spread(
    build: Callable[..., npt.ArrayLike], inputs: Sequence[tuple[npt.ArrayLike, npt.ArrayLike]]
) -> tuple[Array, Array]:
    """Value and covariance of a construction, by the law of propagation of uncertainty.

    Parameters
    ----------
    build : function of one array (..., p_i) per input that returns (..., q) or (...)
        Say ``lambda a, b: line_of_planes(Plane.from_vector(a), Plane.from_vector(b)).vector``. It is called once, with
        all steps in one leading axis.
    inputs : (vector (p_i,), covariance (p_i, p_i)) of each, independent of one another
        As `parameter_u` gives the covariance of a fit; singular ones (unit vectors) are welcome.

    Returns
    -------
    value (q,) or (), covariance (q, q) or ().

    Raises
    ------
    InputError : shapes that do not fit, a covariance that has a negative eigenvalue.

    Notes
    -----
    Method: JCGM 102:2011, 6.2, with derivatives along the principal axes of each covariance, as central differences
    over a hundredth of a standard uncertainty (after JCGM 100:2008, 5.1.3, note 2, with a finer step). Good while the
    construction is as good as linear within a few standard uncertainties; draws show whether it is.
    """
    vectors, steps = zip(*(_principal(np.asarray(v, np.float64), np.asarray(C, np.float64)) for v, C in inputs))
    total = sum(len(step) for step in steps)
    moved, start = [], 0
    for vector, step in zip(vectors, steps):
        block = np.zeros((total, len(vector)))
        block[start : start + len(step)] = _STEP * step
        moved.append(np.concatenate([vector[None], vector + block, vector - block]))
        start += len(step)
    out = np.asarray(build(*moved), dtype=np.float64)
    rows = out.reshape(1 + 2 * total, -1)
    slopes = (rows[1 : 1 + total] - rows[1 + total :]) / (2 * _STEP)
    q = out.shape[1:]
    return out[0], (slopes.T @ slopes).reshape((*q, *q))[()]


def _principal(vector: Array, covariance: Array) -> tuple[Array, Array]:
    """The vector (p,), and steps (k, p) of one standard uncertainty along the principal axes of its covariance."""
    finite(vector, where="linear_spread"), finite(covariance, where="linear_spread")
    p = vector.size
    if vector.shape != (p,) or covariance.shape != (p, p) or not np.allclose(covariance, covariance.T):
        raise InputError(
            "linear_spread", "an input", "be a vector (p,) with a symmetric covariance (p, p)",
            f"shapes {vector.shape} and {covariance.shape}", "Give the covariance of that vector.",
        )  # fmt: skip
    scale = np.sqrt(np.maximum(np.diagonal(covariance), 0.0))
    scale = np.where(scale > 0, scale, 1.0)
    values, axes = np.linalg.eigh(covariance / np.outer(scale, scale))
    if values.min() < -1e-9 * max(values.max(), 1e-300):
        raise InputError(
            "linear_spread", "a covariance", "have no negative eigenvalue", f"{values.min():.3g} of a correlation",
            "Correct the covariance.",
        )  # fmt: skip
    return vector, (axes * np.sqrt(np.maximum(values, 0.0)) * scale[:, None]).T
