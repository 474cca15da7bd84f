"""Points whose minimum zone, circumscribed or inscribed shape is known before any fit.

The idea is that of null-space data (A. B. Forbes, H. D. Minh, Int. J. Metrol. Qual. Eng. 3 (2012) 145) for the minimax
norm: lay down contacts whose slopes balance, the condition of the optimum, then fill up within.
"""

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def directions(rng: np.random.Generator, kind: str, n: int, arc: float, length: float) -> tuple[Array, Array]:
    """Outward unit vectors (n, 3) and heights (n) of points of a circle, sphere or cylinder over the arc, rad."""
    if kind == "sphere":
        height = rng.uniform(np.cos(arc / 2), 1, n)
        turn, across = rng.uniform(0, 2 * np.pi, n), np.sqrt(1 - height * height)
        return np.stack([across * np.cos(turn), across * np.sin(turn), height], 1), np.zeros(n)
    turn = rng.uniform(-arc / 2, arc / 2, n)
    z = rng.uniform(-length / 2, length / 2, n) if kind == "cylinder" else np.zeros(n)
    return np.stack([np.cos(turn), np.sin(turn), np.zeros(n)], 1), z


def slopes(kind: str, u: Array, z: Array) -> Array:
    """Slopes (n, k) of the distances with the place of the centre or axis."""
    if kind == "sphere":
        return u
    return u[:, :2] if kind == "circle" else np.column_stack([u[:, :2], z[:, None] * u[:, :2] / 10.0])


def contacts(rng: np.random.Generator, kind: str, side: int, arc: float, length: float) -> tuple[Array, Array, Array]:
    """Contacts (u, z) with balanced slopes and their sides: +1, -1 or, for a zone (`side` 0), both."""
    k = {"circle": 2, "sphere": 3, "cylinder": 4}[kind]
    while True:
        u, z = directions(rng, kind, k + (2 if side == 0 else 1), arc, length)
        S = slopes(kind, u, z)
        rows = np.column_stack([S, np.ones(len(S))]) if side == 0 else S
        weights = np.linalg.svd(rows.T)[2][-1]  # their combination that leaves nothing
        weights = weights / np.abs(weights).max()
        if np.abs(weights).min() < 0.1:  # an optimum that hangs by a thread is none to test with
            continue
        if side == 0:
            return u, z, np.sign(weights)
        if (weights > 0).all() or (weights < 0).all():
            return u, z, np.full(len(u), float(side))


def made(
    seed: int, kind: str, side: int, *, radius: float = 10.0, width: float = 0.02, arc: float = 2 * np.pi,
    length: float = 40.0, n: int = 60, offset: float = 30.0,
) -> tuple[Array, Array, int]:  # fmt: skip
    """Points (n, 3), the matrix that turned them, and how many of the first are contacts.

    A zone (`side` 0) has the middle radius and the width given; a circumscribed (+1) or inscribed (-1) shape the
    radius, with all points within `width` of it.
    """
    rng = np.random.default_rng(seed)
    u, z, sides = contacts(rng, kind, side, arc, length)
    v, t = directions(rng, kind, n - len(u), arc, length)
    inner = rng.uniform(-0.45, 0.45, len(v)) if side == 0 else -side * rng.uniform(0.05, 1.0, len(v))
    r = radius + width * np.concatenate([0.5 * sides if side == 0 else np.zeros(len(u)), inner])
    points = r[:, None] * np.concatenate([u, v])
    points[:, 2] += np.concatenate([z, t])
    if kind == "circle":
        return points[:, :2] + rng.normal(size=2) * offset, np.eye(2), len(u)
    R = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    return points @ R.T + rng.normal(size=3) * offset, R, len(u)
