"""How far the size of the errors is itself in doubt, read from their draws.

A source with finite degrees of freedom draws its size anew in each draw (JCGM 101, 6.4.9). All errors of one draw are
then large or small together, and the spread of their size from draw to draw tells how many degrees of freedom they
share. The form model weighs the sizes that are possible against what the readings show.
"""

import numpy as np

from ..core.arrays import Array
from .form import complement, error_covariance

#: Evidence, in standard errors, below which draws count as of one size.
_CLEAR = 4.0
#: Sizes that stand for a doubt: as many equally likely ones.
_SIZES = 7


def shared_freedom(errors: Array, columns: Array) -> float:
    """Degrees of freedom that the sizes of error draws (M, n) show, outside the fit `columns` (n, p); inf for none.

    With k contrasts of unit noise, the log of a draw's mean square has the variance trigamma(k / 2), to which a common
    size with nu degrees of freedom adds trigamma(nu / 2).
    """
    from scipy.special import polygamma

    squares = _mean_squares(errors, columns)
    k = errors.shape[1] - columns.shape[1]
    own = float(polygamma(1, k / 2))
    seen = float(np.log(squares).var(ddof=1))
    if seen - own < _CLEAR * own * np.sqrt(2.0 / len(squares)):
        return float("inf")
    return 2.0 * _inverse_trigamma(seen - own)


def sizes(freedom: float) -> tuple[float, ...]:
    """Equally likely sizes of the errors over their root mean square; (1,) where there is no doubt."""
    from scipy.special import gammaincinv

    if np.isinf(freedom):
        return (1.0,)
    p = (np.arange(_SIZES) + 0.5) / _SIZES
    variance = freedom / (2.0 * gammaincinv(freedom / 2.0, 1.0 - p))
    return tuple(float(x) for x in np.sqrt(variance / variance.mean()))


def levelled(errors: Array, columns: Array, freedom: float) -> Array:
    """The draws (M, n) brought to one size, as far as each shows its own: noise scales then say the size instead."""
    if np.isinf(freedom):
        return errors
    squares = _mean_squares(errors, columns)
    k = errors.shape[1] - columns.shape[1]
    own = (k * squares + freedom * np.median(squares)) / (k + freedom)
    return errors / np.sqrt(own / own.mean())[:, None]


def _mean_squares(errors: Array, columns: Array) -> Array:
    """Mean square (M,) of each draw's whitened contrasts."""
    contrasts = errors @ complement(columns)
    root = np.linalg.cholesky(error_covariance(contrasts))
    return np.asarray((np.linalg.solve(root, contrasts.T) ** 2).mean(axis=0))


def _inverse_trigamma(y: float) -> float:
    """x with trigamma(x) = y > 0, by Newton steps on 1 / trigamma, which is nearly straight."""
    from scipy.special import polygamma

    x = 0.5 + 1.0 / y
    for _ in range(30):
        value = float(polygamma(1, x))
        step = value * (1.0 - value / y) / float(polygamma(2, x))
        x += step
        if abs(step) < 1e-10 * x:
            break
    return x
