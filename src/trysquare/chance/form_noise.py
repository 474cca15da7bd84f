"""Are the residuals of a fit larger than the declared errors explain, and by how much?"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array, finite
from ..core.errors import InputError
from .form import complement, error_covariance

#: A column that is nowhere larger is one that the feature does not have (the turn of a cylinder about its axis).
_ROUNDING = 1e-9


@dataclass(frozen=True)
class FormFound:
    """`p`: chance of residuals this large from the declared errors alone. `sd_mm`, `dof`: what has to be added to each
    point, independently, to explain them, and the degrees of freedom of that estimate (0 and 0.0 where nothing has)."""

    p: float
    sd_mm: float
    dof: float


def fit_columns(points_mm: npt.ArrayLike, normals: npt.ArrayLike) -> Array:
    """Columns (n, 7) that the fit of any plane, circle, sphere or cylinder can take up: shift, turn and size.

    First derivatives of the distances at points (n, 3) mm along unit normals (n, 3); they may depend on one another.
    """
    x, n = np.asarray(points_mm, dtype=np.float64), np.asarray(normals, dtype=np.float64)
    centred = x - x.mean(axis=0)
    size = max(float(np.abs(centred).max()), 1e-300)
    columns = np.column_stack([n, np.cross(centred / size, n), np.ones(len(x))])
    return np.where(np.abs(columns).max(axis=0) > _ROUNDING, columns, 0.0)


def form_above_noise(
    residuals: npt.ArrayLike, errors: npt.ArrayLike, *, columns: npt.ArrayLike | None = None
) -> FormFound | None:
    """Test residuals (n,) of a least-squares fit against error draws (M, n) of its points along the normals, mm.

    `columns` (n, p): what the fit takes up (`fit_columns`), removed from both. Without it the errors are taken as they
    are: right for draws of residuals, cautious (form is found late) for errors of points. None where the fit leaves
    nothing over.

    Method: quadratic form of the contrasts, weighted down where the errors are large; its distribution under the
    declared errors is a gamma distribution with the mean and variance that the draws show (F. E. Satterthwaite,
    Biometrics Bulletin 2 (1946) 110). The contrasts are chosen by one half of the draws and judged by the other: by the
    same half, many points would look too small. The extra variance is the likeliest one, its degrees of freedom
    follow from its information. An undeclared error of the instrument looks the same as form.

    Raises
    ------
    InputError : shapes that do not fit, or a value that is not finite.
    """
    from scipy.special import gammaincc  # the tail of a gamma distribution; scipy.stats takes a second to import

    r = finite(np.asarray(residuals, dtype=np.float64), where="residuals")
    e = finite(np.asarray(errors, dtype=np.float64), where="error draws")
    if r.ndim != 1 or e.ndim != 2 or e.shape[1] != len(r) or len(e) < 20:
        raise InputError(
            "residuals",
            "the shapes",
            "be (n,) and (M, n), M >= 20",
            f"{r.shape} and {e.shape}",
            "Give one error a point.",
        )
    basis = np.eye(len(r)) if columns is None else complement(np.asarray(columns, dtype=np.float64))
    if basis.shape[1] == 0:
        return None
    half = len(e) // 2
    axes = basis @ np.linalg.eigh(basis.T @ error_covariance(e[:half] @ basis @ basis.T) @ basis)[1]
    z, drawn = axes.T @ r, e[half:] @ axes
    variances = (drawn**2).mean(axis=0)
    weight = 1.0 / np.maximum(variances + variances.mean(), 1e-30)
    observed, null = float(weight @ z**2), drawn**2 @ weight
    mean, spread = float(null.mean()), float(null.var())
    p = float(gammaincc(mean**2 / spread, observed * mean / spread)) if spread > 0 else float(observed <= mean)
    extra = _extra_variance(z**2, variances)
    dof = extra**2 * float((1.0 / (variances + extra) ** 2).sum()) if extra > 0 else 0.0
    return FormFound(p, float(np.sqrt(extra)), dof)


def _extra_variance(z2: Array, variances: Array) -> float:
    """Variance t >= 0 that makes z_i ~ N(0, variances_i + t) likeliest, to 1e-6 of itself; 0 where none helps."""
    top = float(z2.max()) * 2.0
    if top <= 0.0:
        return 0.0
    least = max(1e-9 * top, 1e-30)
    low, high = np.log(least), np.log(top)
    for _ in range(5):  # each look is 32 times closer
        tried = np.linspace(low, high, 65)
        total = variances + np.exp(tried)[:, None]
        best = int((np.log(total) + z2 / total).sum(axis=1).argmin())
        low, high = tried[max(best - 1, 0)], tried[min(best + 1, 64)]
    t = float(np.exp(tried[best]))
    return t if t > 4.0 * least else 0.0
