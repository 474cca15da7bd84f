"""Compiled steps of seating. Serial: every draw settles by itself, whatever the others do."""

import numpy as np

from ..core.compiled import kernel

#: Surfaces by what their distance is taken from.
PLANE, CENTRE, AXIS = 0, 1, 2


@kernel(inline="always")
def _distance(kind, x, at, axis, radius, side, normal):
    """Distance of x from a nominal surface, positive out of the material; fills the outward unit `normal`."""
    along = 0.0
    for k in range(3):
        normal[k] = x[k] - at[k]
        along += normal[k] * axis[k]
    if kind == PLANE:
        for k in range(3):
            normal[k] = axis[k]
        return along
    square = 0.0
    for k in range(3):
        if kind == AXIS:
            normal[k] -= along * axis[k]
        square += normal[k] * normal[k]
    length = np.sqrt(square)
    scale = side / length if length > 0.0 else side
    for k in range(3):
        normal[k] *= scale
    return side * (length - radius)


@kernel(inline="always")
def _turned(w, Q):
    """Q (3, 3): the rotation of the rotation vector w (Rodrigues)."""
    square = w[0] * w[0] + w[1] * w[1] + w[2] * w[2]
    angle = np.sqrt(square)
    if angle < 1e-4:
        s, c = 1.0 - square / 6.0, 0.5 - square / 24.0
    else:
        s, c = np.sin(angle) / angle, (1.0 - np.cos(angle)) / square
    for i in range(3):
        for j in range(3):
            Q[i, j] = c * w[i] * w[j]
        Q[i, i] += 1.0 - c * square
    for i, j, k in ((0, 1, 2), (1, 2, 0), (2, 0, 1)):
        Q[i, j] -= s * w[k]
        Q[j, i] += s * w[k]


@kernel(inline="always")
def _gradient(points, R, t, kind, at, axis, radius, side, sized, centre, extent, g, rows, x, normal):
    """Add to g (6,) half the gradient of the sum of squared distances; of a feature of size without their mean."""
    rows[:] = 0.0
    total = 0.0
    for i in range(points.shape[0]):
        for k in range(3):
            x[k] = R[k, 0] * points[i, 0] + R[k, 1] * points[i, 1] + R[k, 2] * points[i, 2] + t[k]
        r = _distance(kind, x, at, axis, radius, side, normal)
        total += r
        for k in range(3):
            a, b = (k + 1) % 3, (k + 2) % 3
            turn = ((x[a] - centre[a]) * normal[b] - (x[b] - centre[b]) * normal[a]) / extent
            g[k] += r * normal[k]
            g[3 + k] += r * turn
            rows[k] += normal[k]
            rows[3 + k] += turn
    if sized:
        for k in range(6):
            g[k] -= total / points.shape[0] * rows[k]


@kernel()
def settle(points, bounds, kinds, at, axes, radii, sides, sized, last, gains, centre, extent, steps, done, R, t):
    """Fill R (m, 3, 3) and t (m, 3): the motion that seats the datum features of each draw, points (m, n, 3).

    Feature s owns the points from bounds[s] to bounds[s + 1]; `last` (s,) closes a datum, whose features take one step
    together: gains (s, 6, 6) of its last feature map their gradient to it. At most `steps` rounds over all datums,
    until the largest step of a round is below `done`.
    """
    g, rows, x, normal, step = np.empty(6), np.empty(6), np.empty(3), np.empty(3), np.empty(6)
    Q, old, shift = np.empty((3, 3)), np.empty((3, 3)), np.empty(3)
    for m in range(points.shape[0]):
        R[m] = np.eye(3)
        t[m] = 0.0
        for _ in range(steps):
            largest = 0.0
            g[:] = 0.0
            for s in range(kinds.shape[0]):
                mine = points[m, bounds[s] : bounds[s + 1]]
                _gradient(mine, R[m], t[m], kinds[s], at[s], axes[s], radii[s], sides[s], sized[s], centre, extent,
                          g, rows, x, normal)  # fmt: skip
                if not last[s]:
                    continue
                for i in range(6):
                    step[i] = 0.0
                    for j in range(6):
                        step[i] -= gains[s, i, j] * g[j]
                    largest = max(largest, abs(step[i]))
                _turned(step[3:] / extent, Q)
                old[:] = R[m]
                for i in range(3):
                    shift[i] = t[m, i] - centre[i]
                for i in range(3):
                    for j in range(3):
                        R[m, i, j] = Q[i, 0] * old[0, j] + Q[i, 1] * old[1, j] + Q[i, 2] * old[2, j]
                    t[m, i] = Q[i, 0] * shift[0] + Q[i, 1] * shift[1] + Q[i, 2] * shift[2] + centre[i] + step[i]
                g[:] = 0.0
            if largest < done:
                break
