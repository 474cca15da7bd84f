"""Compiled heat: points of a warm part brought to 20 degC. Serial: every draw alone."""

from ..core.compiled import kernel


@kernel()
def cool(warm, anchor, alpha, theta, gradient, steps, out):
    """out (m, n, 3): where the points warm (m, n, 3) of a free part lie at 20 degC, mm.

    alpha (m,) 1/K; theta (m,) K above 20 degC at the anchor; gradient (m, 3) K/mm. x = warm - u(x) by fixed point.
    """
    for m in range(warm.shape[0]):
        a, g0, g1, g2 = alpha[m], gradient[m, 0], gradient[m, 1], gradient[m, 2]
        even = 1.0 / (1.0 + a * theta[m])
        for i in range(warm.shape[1]):
            w0, w1, w2 = warm[m, i, 0] - anchor[0], warm[m, i, 1] - anchor[1], warm[m, i, 2] - anchor[2]
            x, y, z = w0 * even, w1 * even, w2 * even
            for _ in range(steps):
                stretch = a * (theta[m] + g0 * x + g1 * y + g2 * z)
                bend = 0.5 * a * (x * x + y * y + z * z)
                x, y, z = w0 - stretch * x + bend * g0, w1 - stretch * y + bend * g1, w2 - stretch * z + bend * g2
            out[m, i, 0], out[m, i, 1], out[m, i, 2] = x + anchor[0], y + anchor[1], z + anchor[2]
