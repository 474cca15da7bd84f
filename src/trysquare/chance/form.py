"""Form of a surface between and under the measured points: a Gaussian process, given as matrices.

Noise adds to the worst deviation of the measured points, and what lies between them is missed; both are dealt with by
drawing whole surfaces that agree with the readings. Several kinds of surface (kernels) and every amplitude take part,
weighted by how well they explain the contrasts of the readings, which no shift, tilt or other fit column can change.
Surfaces follow by Matheron's rule: a surface of the prior, corrected at the points by what the readings, less one draw
of the errors, say instead (Wilson et al., Pathwise conditioning of Gaussian processes, JMLR 22 (2021) 105).

No geometry here: nodes are rows of the matrices; `at` says which nodes are the measured points.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array, finite
from ..core.errors import InputError
from .sources import Draws

#: Amplitudes of the form, log-uniform, in standard uncertainties of one contrast; the top follows the readings up.
AMPLITUDES = (0.05, 100.0, 45)
_JITTER = 1e-8
_GOLDEN = 0.6180339887498949


@dataclass(frozen=True)
class _Part:
    """One kernel set against the errors.

    `basis` (n, r) makes readings into contrasts of unit noise, whose variances under a form of unit amplitude are
    `ratios` (r,); `spread` (P, r) carries them to every node; `kernel` (P, P) is normalised.
    """

    kernel: Array
    ratios: Array
    basis: Array
    spread: Array

    @cached_property
    def factor(self) -> Array:
        """Triangular root of the kernel, made when a surface is first drawn from it."""
        return np.asarray(np.linalg.cholesky(self.kernel), dtype=np.float64)


@dataclass(frozen=True)
class FormModel:
    """Kernels set against the errors of the points; `s` is the standard uncertainty of a contrast, mm."""

    at: npt.NDArray[np.int64]
    s: float
    parts: tuple[_Part, ...]

    @property
    def contrasts(self) -> int:
        return len(self.parts[0].ratios)


def error_covariance(errors: npt.ArrayLike) -> Array:
    """Covariance (n, n) of error draws (M, n) about zero, shrunk towards its diagonal as far as chance requires.

    Method: Schaefer and Strimmer, Stat. Appl. Genet. Mol. Biol. 4 (2005) 32, target D, with normal fourth moments.
    """
    e = finite(np.asarray(errors, dtype=np.float64), where="error draws")
    S = e.T @ e / len(e)
    d = np.diag(S)
    off = S - np.diag(d)
    between = float((off**2).sum())
    chance = float((np.outer(d, d) + off**2).sum() - 2 * (d**2).sum()) / len(e)
    share = 1.0 if between <= 0.0 else min(1.0, max(0.0, chance / between))
    return S - share * off


def complement(columns: Array) -> Array:
    """Orthonormal basis (n, n - r) of what the columns (n, p), of rank r, cannot reach."""
    length = np.linalg.norm(columns, axis=0)
    U, s, _ = np.linalg.svd(columns / np.where(length > 0, length, 1.0), full_matrices=True)
    rank = int((s > 1e-9 * max(float(s.max(initial=0.0)), 1e-300)).sum())
    return np.asarray(U[:, rank:], dtype=np.float64)


def form_model(
    kernels: Sequence[Array], columns: Array, at: npt.ArrayLike, sigma: Array, *, least_s: float = 0.0
) -> FormModel:
    """Set kernels (P, P) over P nodes against the error covariance `sigma` (n, n) of the n points, nodes `at`.

    `columns` (P, p) are the fit columns: form is told apart only up to their combinations. `least_s` keeps errors
    declared as nothing from taking every wiggle for truth, mm.

    Raises
    ------
    InputError : no more points than columns.
    """
    index = np.asarray(at, dtype=np.int64)
    A = columns[index]
    Q = complement(A)
    if Q.shape[1] == 0:
        raise InputError("form model", "points", f"be more than {A.shape[1]}", f"{len(index)}", "Measure more points.")
    noise = Q.T @ sigma @ Q
    floor = max(least_s, 1e-3 * float(np.sqrt(np.trace(noise) / len(noise))), 1e-12)
    noise = noise + floor**2 * np.eye(len(noise))
    s = float(np.sqrt(np.trace(noise) / len(noise)))
    white = np.asarray(np.linalg.inv(np.linalg.cholesky(noise)), dtype=np.float64)
    return FormModel(index, s, tuple(_part(K, index, Q, white) for K in kernels))


def _part(kernel: Array, at: npt.NDArray[np.int64], Q: Array, white: Array) -> _Part:
    """Generalised eigenproblem of the kernel's contrasts against the errors'."""
    K = kernel + _JITTER * float(np.diag(kernel).max()) * np.eye(len(kernel))
    contrast = Q.T @ K[np.ix_(at, at)] @ Q
    size = float(np.trace(contrast)) / len(contrast)
    ratios, V = np.linalg.eigh(white @ (contrast / size) @ white.T)
    basis = Q @ white.T @ V
    return _Part(K / size, np.maximum(ratios, 0.0), basis, (K[:, at] / size) @ basis)


def amplitudes(model: FormModel, heights: Array) -> Array:
    """The amplitudes (g,) looked at, mm: log-uniform."""
    low, high, count = AMPLITUDES
    top = max(high * model.s, 5.0 * float(np.std(heights)))
    return np.geomspace(low * model.s, top, count)


def weights(model: FormModel, heights: Array, noise_scales: Sequence[float] = (1.0,)) -> Array:
    """Posterior weights (kernels, amplitudes, noise scales) given heights (n,) mm; they sum to 1."""
    a2 = (amplitudes(model, heights) ** 2)[:, None, None]
    n2 = (np.asarray(noise_scales) ** 2)[None, :, None]
    fits = []
    for part in model.parts:
        variance = a2 * part.ratios + n2
        z2 = (part.basis.T @ heights) ** 2
        fits.append(-0.5 * (np.log(variance) + z2 / variance).sum(axis=-1))
    likelihood = np.stack(fits)
    w = np.exp(likelihood - likelihood.max())
    return np.asarray(w / w.sum())


def surfaces(
    model: FormModel,
    heights: Array,
    errors: Array,
    draws: Draws,
    name: str,
    *,
    noise_scales: Sequence[float] = (1.0,),
    prior: Array | None = None,
) -> Array:
    """Surfaces (B, P) that agree with heights (n,) less errors (B, n), up to the fit columns, mm.

    Chance comes from the streams of `name` alone; B = len(draws). `prior` (B, P) may give the standard normal variates
    of the prior surfaces (`prior_variates`) where the caller keeps them.
    """
    z = prior_variates(len(model.parts[0].kernel), draws, name) if prior is None else prior
    w = weights(model, heights, noise_scales)
    a, scales = amplitudes(model, heights), np.asarray(noise_scales)
    which = _chosen(w.ravel(), draws, name)
    kernel_of, rest = np.divmod(which, w[0].size)
    amplitude_of, noise_of = np.divmod(rest, len(scales))
    out = np.empty_like(z)
    for k in np.unique(kernel_of):
        rows = np.flatnonzero(kernel_of == k)
        amplitude, noise = a[amplitude_of[rows]][:, None], scales[noise_of[rows]][:, None]
        out[rows] = _matheron(model.parts[k], model.at, heights, noise * errors[rows], z[rows], amplitude, noise)
    return out


def prior_variates(nodes: int, draws: Draws, name: str) -> Array:
    """Standard normal variates (len(draws), nodes), one stream a node."""
    return draws.normal(name, [f"node {i}" for i in range(nodes)])


def _chosen(w: Array, draws: Draws, name: str) -> npt.NDArray[np.int64]:
    """Index (B,) drawn by weight, evenly spread: a golden-ratio sequence from a random start."""
    start = Draws(draws.seed, 0, 1).uniform(name, "choice")[0]
    u = np.mod(start + _GOLDEN * np.arange(draws.start, draws.stop), 1.0)
    total = np.cumsum(w)
    return np.minimum(np.searchsorted(total, u * total[-1], side="right"), len(w) - 1)


def _matheron(
    part: _Part, at: npt.NDArray[np.int64], heights: Array, errors: Array, z: Array, a: Array, noise: Array
) -> Array:
    prior = a * (z @ part.factor.T)
    missing = (heights - prior[:, at] - errors) @ part.basis
    out: Array = prior + (missing * a**2 / (a**2 * part.ratios + noise**2)) @ part.spread.T
    return out
