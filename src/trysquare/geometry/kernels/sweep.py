"""Many points, block after block: the extremes of each block along a direction. Nothing but these is kept."""

import math

from ...core.compiled import kernel

BLOCK = 1024


@kernel()
def sweep(P, c, w, first, active, high, low, rows):
    """For the blocks `first`, first + 1, ... of P (n, 3), as many as `active` has and of these those set in it.

    Fills `high` and `low` (blocks), the extremes along w about c, and `rows` (blocks, 2), the points that have them.
    """
    n = P.shape[0]
    w0, w1, w2 = w[0], w[1], w[2]
    c0, c1, c2 = c[0], c[1], c[2]
    for k in range(active.size):
        if not active[k]:
            continue
        begin = (first + k) * BLOCK
        top, bottom = -math.inf, math.inf
        at_top = at_bottom = begin
        for i in range(begin, min(begin + BLOCK, n)):
            e = w0 * (P[i, 0] - c0) + w1 * (P[i, 1] - c1) + w2 * (P[i, 2] - c2)
            if e > top:
                top, at_top = e, i
            if e < bottom:
                bottom, at_bottom = e, i
        high[k], low[k] = top, bottom
        rows[k, 0], rows[k, 1] = at_top, at_bottom


@kernel()
def survey(P, w, first, sums, high, low, rows):
    """As `sweep` for all blocks from `first` on, about the first point; also `sums` (blocks, 4): of the coordinates
    about it, and last their largest square.
    """
    n = P.shape[0]
    a0, a1, a2 = P[0, 0], P[0, 1], P[0, 2]
    w0, w1, w2 = w[0], w[1], w[2]
    for k in range(sums.shape[0]):
        begin = (first + k) * BLOCK
        x = y = z = s = 0.0
        top, bottom = -math.inf, math.inf
        at_top = at_bottom = begin
        for i in range(begin, min(begin + BLOCK, n)):
            d0, d1, d2 = P[i, 0] - a0, P[i, 1] - a1, P[i, 2] - a2
            x += d0
            y += d1
            z += d2
            r = d0 * d0 + d1 * d1 + d2 * d2
            if r > s:
                s = r
            e = w0 * d0 + w1 * d1 + w2 * d2
            if e > top:
                top, at_top = e, i
            if e < bottom:
                bottom, at_bottom = e, i
        sums[k, 0], sums[k, 1], sums[k, 2], sums[k, 3] = x, y, z, s
        high[k], low[k] = top, bottom
        rows[k, 0], rows[k, 1] = at_top, at_bottom


@kernel(fastmath={"reassoc", "nsz"})
def products(P, c, F, first, sums):
    """Sums (blocks, 3, 3) over blocks of the products of the coordinates of P (n, 3) about c along the rows of F."""
    for k in range(sums.shape[0]):
        begin = (first + k) * BLOCK
        aa = ab = ah = bb = bh = hh = 0.0
        for i in range(begin, min(begin + BLOCK, P.shape[0])):
            x, y, z = P[i, 0] - c[0], P[i, 1] - c[1], P[i, 2] - c[2]
            a = F[0, 0] * x + F[0, 1] * y + F[0, 2] * z
            b = F[1, 0] * x + F[1, 1] * y + F[1, 2] * z
            h = F[2, 0] * x + F[2, 1] * y + F[2, 2] * z
            aa += a * a
            ab += a * b
            ah += a * h
            bb += b * b
            bh += b * h
            hh += h * h
        sums[k, 0, 0], sums[k, 1, 1], sums[k, 2, 2] = aa, bb, hh
        sums[k, 0, 1] = sums[k, 1, 0] = ab
        sums[k, 0, 2] = sums[k, 2, 0] = ah
        sums[k, 1, 2] = sums[k, 2, 1] = bh


@kernel()
def heights(P, c, w, level, out):
    """out (n) = heights of P (n, 3) over the plane at `level` along w about c."""
    w0, w1, w2 = w[0], w[1], w[2]
    c0, c1, c2 = c[0], c[1], c[2]
    for i in range(P.shape[0]):
        out[i] = w0 * (P[i, 0] - c0) + w1 * (P[i, 1] - c1) + w2 * (P[i, 2] - c2) - level
