"""`least_max` for a batch of members."""

import numpy as np

from ...core.compiled import kernel
from .least_max import least_max


@kernel()
def least_max_batch(A, b, both, box, X, levels, rows, weights):
    """min over x of max (b + A' x), or of max |b + A' x| (`both`), of members A (m, p, n), b (m, n).

    Fills X (m, p), levels (m,), rows (m, p + 1) and weights (m, p + 1) as `least_max`; `box` (p,) are the half-widths
    in units of the largest |b| of the member.
    """
    p = A.shape[1]
    n = A.shape[2]
    scaled = np.empty(n)
    e = np.empty(n)
    sign = np.empty(p + 1)
    for m in range(A.shape[0]):
        scale = 0.0
        for i in range(n):
            scale = max(scale, abs(b[m, i]))
        if not scale > 0.0:
            scale = 1.0
        for i in range(n):
            scaled[i] = b[m, i] / scale
        levels[m] = scale * least_max(A[m], scaled, both, box, X[m], rows[m], sign, weights[m], e)
        for k in range(p):
            X[m, k] *= scale
