"""The least-squares shape of points exactly as the computer holds them, to fifty digits: Newton's method in `decimal`.

Independent of the code under test: it starts from the nominal of data made backwards, knows only the distances
(null_space_shapes.squared_distances) and takes their derivatives by central differences with a step of 1e-35.
"""

from decimal import Decimal, localcontext
from typing import Any

import numpy as np
from null_space_shapes import COLUMNS, Array, Made, squared_distances

_STEP = Decimal("1e-35")
_DIGITS = 160


def _exact(values: Any) -> Any:
    """The same numbers, digit for digit, as an array of `Decimal`."""
    return np.vectorize(Decimal.from_float, otypes=[object])(np.asarray(values, dtype=np.float64))


def optimum(made: Made) -> tuple[Array, float, Array]:
    """Deviations from the nominal at the optimum, its sum of squares, and the last Newton step (to be below 1e-50)."""
    with localcontext() as context:
        context.prec = _DIGITS
        flat = np.pad(made.points, ((0, 0), (0, 3 - made.points.shape[1])))
        X, frame, weights = _exact(flat) - _exact(made.at), _exact(made.frame), _exact(made.weights)
        sizes = [Decimal(repr(float(s))) for s in made.sizes]
        if made.kind == "cone":
            sizes[1] = Decimal.from_float(float(np.tan(made.sizes[1])))
        k = len(COLUMNS[made.kind])
        free = np.flatnonzero(made.free)
        p = np.array([Decimal(0)] * k, dtype=object)

        def total(q: Any) -> Decimal:
            return (weights * squared_distances(made.kind, X, frame, q, sizes)).sum()

        def gradient(q: Any) -> list[Decimal]:
            out = []
            for i in free:
                e = np.array([Decimal(0)] * k, dtype=object)
                e[i] = _STEP
                out.append((total(q + e) - total(q - e)) / (2 * _STEP))
            return out

        def hessian(q: Any) -> list[list[Decimal]]:
            rows = []
            for i in free:
                e = np.array([Decimal(0)] * k, dtype=object)
                e[i] = _STEP
                rows.append([(a - b) / (2 * _STEP) for a, b in zip(gradient(q + e), gradient(q - e), strict=True)])
            return rows

        H = hessian(p)
        assert _is_positive([row[:] for row in H])  # the second-order condition, exactly
        step = p[free]
        for turn in range(12):
            step = _solve(H, gradient(p))
            p[free] = p[free] - step
            if max(abs(x) for x in step) < Decimal("1e-52"):
                break
            if turn == 4:
                H = hessian(p)
        squares = float(total(p))
        found = np.array([float(x) for x in p])
        if made.kind == "cone":
            slope = float(sizes[1] + p[-1])
            found[-1] = np.arctan(slope) - made.sizes[1] if made.free[-1] else 0.0
        return found, squares, np.array([float(x) for x in step])


def _solve(H: list[list[Decimal]], g: list[Decimal]) -> Any:
    """H x = g by elimination with row exchange."""
    rows = [[*row, value] for row, value in zip(H, g, strict=True)]
    k = len(rows)
    for i in range(k):
        best = max(range(i, k), key=lambda r: abs(rows[r][i]))
        rows[i], rows[best] = rows[best], rows[i]
        for r in range(i + 1, k):
            f = rows[r][i] / rows[i][i]
            rows[r] = [a - f * b for a, b in zip(rows[r], rows[i], strict=True)]
    x = [Decimal(0)] * k
    for i in reversed(range(k)):
        x[i] = (rows[i][k] - sum((rows[i][j] * x[j] for j in range(i + 1, k)), Decimal(0))) / rows[i][i]
    return np.array(x, dtype=object)


def _is_positive(H: list[list[Decimal]]) -> bool:
    """Whether every pivot of a symmetric matrix is positive."""
    for i in range(len(H)):
        if H[i][i] <= 0:
            return False
        for r in range(i + 1, len(H)):
            f = H[r][i] / H[i][i]
            H[r] = [a - f * b for a, b in zip(H[r], H[i], strict=True)]
    return True
