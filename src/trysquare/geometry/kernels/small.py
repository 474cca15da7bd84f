"""Small dense algebra for compiled loops: Cholesky, principal axes of a 3 x 3 matrix, frames."""

import math

from ...core.compiled import kernel


@kernel()
def copy(a, out):
    """out = a, elements in order. (A slice assignment brings numba's texts for wrong shapes: seconds of compiling.)"""
    for i in range(a.size):
        out.flat[i] = a.flat[i]


@kernel()
def factor(A, k, L):
    """Cholesky factor L of the leading k x k of A (upper triangle read); its diagonal holds the inverse."""
    return factor_damped(A, k, 0.0, A[0], L)


@kernel()
def factor_damped(A, k, damping, scale, L):
    """As `factor`, with the diagonal raised by damping * scale (k,).

    Returns the least ratio of a pivot to its diagonal element, 0 where the matrix is not positive.
    """
    least = 1.0
    for i in range(k):
        for j in range(i):
            s = A[j, i]
            for q in range(j):
                s -= L[i, q] * L[j, q]
            L[i, j] = s * L[j, j]
        d = A[i, i] + damping * scale[i]
        s = d
        for q in range(i):
            s -= L[i, q] * L[i, q]
        if not s > 1e-15 * d:
            return 0.0
        least = min(least, s / d)
        L[i, i] = 1.0 / math.sqrt(s)
    return least


@kernel()
def solve(L, k, g, x):
    """x with L L' x = g."""
    for i in range(k):
        s = g[i]
        for q in range(i):
            s -= L[i, q] * x[q]
        x[i] = s * L[i, i]
    for i in range(k - 1, -1, -1):
        s = x[i]
        for q in range(i + 1, k):
            s -= L[q, i] * x[q]
        x[i] = s * L[i, i]


@kernel()
def principal(S, V):
    """Rows of V: unit principal axes of the symmetric 3 x 3 S (destroyed), least first, by Jacobi rotations."""
    for i in range(3):
        for j in range(3):
            V[i, j] = 1.0 if i == j else 0.0
    for _ in range(30):
        off = S[0, 1] ** 2 + S[0, 2] ** 2 + S[1, 2] ** 2
        if off <= 1e-36 * (S[0, 0] ** 2 + S[1, 1] ** 2 + S[2, 2] ** 2):
            break
        for p in range(2):
            for q in range(p + 1, 3):
                _rotate(S, V, p, q)
    for i in range(2):
        for j in range(2 - i):
            if S[j, j] > S[j + 1, j + 1]:
                S[j, j], S[j + 1, j + 1] = S[j + 1, j + 1], S[j, j]
                for k in range(3):
                    V[j, k], V[j + 1, k] = V[j + 1, k], V[j, k]


@kernel()
def _rotate(S, V, p, q):
    if S[p, q] == 0.0:
        return
    theta = (S[q, q] - S[p, p]) / (2.0 * S[p, q])
    t = 1.0 / (abs(theta) + math.sqrt(theta * theta + 1.0))
    if theta < 0.0:
        t = -t
    c = 1.0 / math.sqrt(t * t + 1.0)
    s = t * c
    for k in range(3):
        S[k, p], S[k, q] = c * S[k, p] - s * S[k, q], s * S[k, p] + c * S[k, q]
    for k in range(3):
        S[p, k], S[q, k] = c * S[p, k] - s * S[q, k], s * S[p, k] + c * S[q, k]
        V[p, k], V[q, k] = c * V[p, k] - s * V[q, k], s * V[p, k] + c * V[q, k]


@kernel()
def frame(x, y, z, s):
    """State with the axis (x, y, z): s[9:12] unit, s[3:6] and s[6:9] across it, right-handed."""
    n = 1.0 / math.sqrt(x * x + y * y + z * z)
    x *= n
    y *= n
    z *= n
    if abs(x) <= abs(y) and abs(x) <= abs(z):
        u0, u1, u2 = 0.0, -z, y
    elif abs(y) <= abs(z):
        u0, u1, u2 = z, 0.0, -x
    else:
        u0, u1, u2 = -y, x, 0.0
    n = 1.0 / math.sqrt(u0 * u0 + u1 * u1 + u2 * u2)
    s[3], s[4], s[5] = u0 * n, u1 * n, u2 * n
    s[9], s[10], s[11] = x, y, z
    s[6] = y * s[5] - z * s[4]
    s[7] = z * s[3] - x * s[5]
    s[8] = x * s[4] - y * s[3]
