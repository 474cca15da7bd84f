"""Points seen in a frame: coordinates across and heights, one array each, and the extremes of a plane over them."""

import math

from ...core.compiled import kernel

LANES = 64
_QUICK = {"nnan", "nsz"}  # points are finite; the order of sums stays as written


@kernel()
def centre(P, c):
    """c = centroid of the points (n, 3), summed about the first of them."""
    n = P.shape[0]
    x = y = z = 0.0
    for i in range(n):
        x += P[i, 0] - P[0, 0]
        y += P[i, 1] - P[0, 1]
        z += P[i, 2] - P[0, 2]
    c[0] = P[0, 0] + x / n
    c[1] = P[0, 1] + y / n
    c[2] = P[0, 2] + z / n


@kernel(fastmath={"reassoc"})
def scatter(xyz, S):
    """S = mean of the outer products of the points (3, n)."""
    n = xyz.shape[1]
    xx = xy = xz = yy = yz = zz = 0.0
    for i in range(n):
        x, y, z = xyz[0, i], xyz[1, i], xyz[2, i]
        xx += x * x
        xy += x * y
        xz += x * z
        yy += y * y
        yz += y * z
        zz += z * z
    S[0, 0] = xx / n
    S[0, 1] = S[1, 0] = xy / n
    S[0, 2] = S[2, 0] = xz / n
    S[1, 1] = yy / n
    S[1, 2] = S[2, 1] = yz / n
    S[2, 2] = zz / n


@kernel(fastmath={"nsz", "reassoc"})
def unpack(P, c, xyz, mean):
    """xyz (3, n) = P (n, 3) about c, and their mean: not finite where a coordinate is not."""
    X, Y, Z = xyz[0], xyz[1], xyz[2]
    n = P.shape[0]
    c0, c1, c2 = c[0], c[1], c[2]
    sx = sy = sz = 0.0
    for i in range(n):
        x = P[i, 0] - c0
        y = P[i, 1] - c1
        z = P[i, 2] - c2
        X[i] = x
        Y[i] = y
        Z[i] = z
        sx += x
        sy += y
        sz += z
    mean[0], mean[1], mean[2] = sx / n, sy / n, sz / n


@kernel()
def see(xyz, F, seen):
    """seen (3, n) = coordinates along the rows of the frame F: two across, then heights."""
    X, Y, Z, A, B, H = xyz[0], xyz[1], xyz[2], seen[0], seen[1], seen[2]
    u0, u1, u2 = F[0, 0], F[0, 1], F[0, 2]
    v0, v1, v2 = F[1, 0], F[1, 1], F[1, 2]
    w0, w1, w2 = F[2, 0], F[2, 1], F[2, 2]
    for i in range(X.size):
        A[i] = u0 * X[i] + u1 * Y[i] + u2 * Z[i]
        B[i] = v0 * X[i] + v1 * Y[i] + v2 * Z[i]
        H[i] = w0 * X[i] + w1 * Y[i] + w2 * Z[i]


@kernel(fastmath=_QUICK)
def _lanes(A, B, H, p, q, high, low):
    """Largest and least of H - p A - q B in each of 64 lanes, index modulo 64. (A plain maximum is not vectorised.)"""
    n = A.size
    for j in range(LANES):
        high[j] = -math.inf
        low[j] = math.inf
    for k in range(0, n - LANES + 1, LANES):
        a, b, h = A[k : k + LANES], B[k : k + LANES], H[k : k + LANES]
        for j in range(LANES):
            e = h[j] - p * a[j] - q * b[j]
            high[j] = e if e > high[j] else high[j]
            low[j] = e if e < low[j] else low[j]
    for i in range(n - n % LANES, n):
        e = H[i] - p * A[i] - q * B[i]
        j = i % LANES
        high[j] = e if e > high[j] else high[j]
        low[j] = e if e < low[j] else low[j]


@kernel(fastmath=_QUICK)
def _find(A, B, H, p, q, value, lane):
    """First index of a lane whose height over the plane has this value."""
    for i in range(lane, A.size, LANES):
        if H[i] - p * A[i] - q * B[i] == value:
            return i
    return lane


@kernel()
def outside(seen, p, q, low, high, lanes, rows):
    """Points with heights over the plane above `high` or below `low`, the furthest of some lanes: at most 128.

    Of each side those at least half as far outside as the furthest. Returns their number; their indices are in `rows`.
    """
    A, B, H = seen[0], seen[1], seen[2]
    _lanes(A, B, H, p, q, lanes[0], lanes[1])
    top, bottom = high, low
    for j in range(LANES):
        top = max(top, lanes[0, j])
        bottom = min(bottom, lanes[1, j])
    count = 0
    for j in range(LANES):
        if lanes[0, j] > 0.5 * (top + high):
            rows[count] = _find(A, B, H, p, q, lanes[0, j], j)
            count += 1
        if lanes[1, j] < 0.5 * (bottom + low):
            rows[count] = _find(A, B, H, p, q, lanes[1, j], j)
            count += 1
    return count


@kernel(fastmath=_QUICK)
def ends(H):
    """Largest and least."""
    high = -math.inf
    low = math.inf
    for i in range(H.size):
        high = H[i] if H[i] > high else high
        low = H[i] if H[i] < low else low
    return high, low


@kernel(fastmath=_QUICK)
def sizes(seen):
    """Largest absolute values of the coordinates across, 1 where all are 0."""
    a = b = 0.0
    for i in range(seen.shape[1]):
        x, y = abs(seen[0, i]), abs(seen[1, i])
        a = x if x > a else a
        b = y if y > b else b
    return a if a > 0.0 else 1.0, b if b > 0.0 else 1.0


@kernel()
def lean(F, p, q, out):
    """out = the frame F whose normal is leant by -p to u and -q to v."""
    for k in range(3):
        out[2, k] = F[2, k] - p * F[0, k] - q * F[1, k]
        out[0, k] = F[0, k] + p * F[2, k]
    _unit(out[2])
    along = out[0, 0] * out[2, 0] + out[0, 1] * out[2, 1] + out[0, 2] * out[2, 2]
    for k in range(3):
        out[0, k] -= along * out[2, k]
    _unit(out[0])
    _close(out)


@kernel()
def face(normal, free, v, F):
    """F = a frame with this normal; with free == 2 its second row is v, which the normal is across."""
    for k in range(3):
        F[2, k] = normal[k]
        F[1, k] = v[k]
    if free > 2:
        k = 0
        for j in range(1, 3):
            if abs(normal[j]) < abs(normal[k]):
                k = j
        for j in range(3):
            F[1, j] = -normal[k] * normal[j]
        F[1, k] += 1.0
        _unit(F[1])
    F[0, 0] = F[1, 1] * F[2, 2] - F[1, 2] * F[2, 1]
    F[0, 1] = F[1, 2] * F[2, 0] - F[1, 0] * F[2, 2]
    F[0, 2] = F[1, 0] * F[2, 1] - F[1, 1] * F[2, 0]
    _unit(F[0])


@kernel()
def _unit(x):
    s = 1.0 / math.sqrt(x[0] * x[0] + x[1] * x[1] + x[2] * x[2])
    for k in range(3):
        x[k] *= s


@kernel()
def _close(F):
    """Second row from the other two, right-handed."""
    F[1, 0] = F[2, 1] * F[0, 2] - F[2, 2] * F[0, 1]
    F[1, 1] = F[2, 2] * F[0, 0] - F[2, 0] * F[0, 2]
    F[1, 2] = F[2, 0] * F[0, 1] - F[2, 1] * F[0, 0]
