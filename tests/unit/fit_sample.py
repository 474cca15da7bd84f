"""Points that pictures and documents of fits are made from, seeded; one set for each shape that the table knows."""

import numpy as np


def ring(n: int, radius: float = 25.0, form: float = 0.006) -> np.ndarray:
    """A lobed circle in a plane."""
    t = np.sort(np.random.default_rng(n).uniform(0, 2 * np.pi, n))
    r = radius + form * np.cos(3 * t + 0.4) + np.random.default_rng(n + 1).normal(0, form / 6, n)
    return np.column_stack([r * np.cos(t), r * np.sin(t)])


def strip(n: int) -> np.ndarray:
    """A bent line in a plane."""
    x = np.linspace(0, 400, n)
    return np.column_stack([x, 0.02 * np.sin(x / 60) + np.random.default_rng(n).normal(0, 0.003, n)])


def face(rows: int, columns: int) -> np.ndarray:
    """A bent face on a grid."""
    x, y = np.meshgrid(np.linspace(0, 300, columns), np.linspace(0, 180, rows))
    z = 0.015 * np.sin(x / 90) + 0.01 * np.cos(y / 60)
    return np.column_stack([x.ravel(), y.ravel(), z.ravel() + np.random.default_rng(3).normal(0, 0.002, x.size)])


def ball(n: int, *, whole: bool = True) -> np.ndarray:
    """An oval ball, or the upper half of one."""
    d = np.random.default_rng(n).normal(size=(n, 3))
    d[:, 2] = d[:, 2] if whole else np.abs(d[:, 2])
    d /= np.linalg.norm(d, axis=1)[:, None]
    return d * (19.05 + 0.004 * d[:, :1] ** 2)


def bore(rings: int, each: int, taper: float = 0.0) -> np.ndarray:
    """An oval bore of rings, or a cone."""
    h = np.repeat(np.linspace(0, 60, rings), each)
    t = np.tile(np.linspace(0, 2 * np.pi, each, endpoint=False), rings)
    r = 25 + taper * h + 0.008 * np.cos(2 * t) + 0.004 * np.sin(h / 10)
    return np.column_stack([r * np.cos(t), r * np.sin(t), h])


def tyre(about: int, round_tube: int) -> np.ndarray:
    """A torus with an oval tube."""
    a = np.repeat(np.linspace(0, 2 * np.pi, about, endpoint=False), round_tube)
    b = np.tile(np.linspace(0, 2 * np.pi, round_tube, endpoint=False), about)
    r = 8 + 0.005 * np.cos(2 * b) + 0.003 * np.cos(3 * a)
    R = 40 + r * np.cos(b)
    return np.column_stack([R * np.cos(a), R * np.sin(a), r * np.sin(b)])


def spatial(points: np.ndarray) -> np.ndarray:
    """Points of a plane, tilted into space, each a little off it."""
    off = np.random.default_rng(5).normal(0, 0.004, len(points))
    turn = np.array([[0.8, 0.0, 0.6], [0.36, 0.8, -0.48], [-0.48, 0.6, 0.64]])
    return np.column_stack([points, off]) @ turn.T + [100.0, -50.0, 20.0]


POINTS = {
    ("line", 2): strip(60), ("line", 3): spatial(strip(60)), ("plane", 3): face(10, 16), ("circle", 2): ring(48),
    ("circle", 3): spatial(ring(30)), ("sphere", 3): ball(120), ("cylinder", 3): bore(5, 24),
    ("cone", 3): bore(5, 24, taper=0.2), ("torus", 3): tyre(24, 12),
}  # fmt: skip
