"""Draw the pictures of the pages on shapes: `python -m docs.draw_fits`. Simulated points, seeded; same code, same
pictures.
"""

from pathlib import Path

import numpy as np

from trysquare.core.arrays import Array
from trysquare.geometry.association import WAYS, associate
from trysquare.report.fit_write import write_picture

HERE = Path(__file__).parent / "pictures"


def points(shape: str, dims: int, n: int = 72) -> Array:
    """Points of a shape with a form and a noise as from a workshop, mm; `n` on a circle."""
    rng = np.random.default_rng(1101)
    if shape == "line":
        x = np.linspace(0, 400, 70)
        y, z = 0.012 * np.sin(x / 70) + rng.normal(0, 0.002, 70), 0.006 * np.cos(x / 50) + rng.normal(0, 0.002, 70)
        return np.column_stack([x, y]) if dims == 2 else np.column_stack([x, y, z])
    if shape == "plane":
        x, y = (a.ravel() for a in np.meshgrid(np.linspace(0, 300, 15), np.linspace(0, 180, 9)))
        return np.column_stack([x, y, 0.012 * np.sin(x / 90) + 0.006 * np.cos(y / 60) + rng.normal(0, 0.002, x.size)])
    if shape == "circle":
        t = np.linspace(0, 2 * np.pi, n, endpoint=False)
        r = 25 + 0.006 * np.cos(3 * t + 0.4) + rng.normal(0, 0.001, n)
        flat = np.column_stack([r * np.cos(t), r * np.sin(t)])
        return flat if dims == 2 else np.column_stack([flat, rng.normal(0, 0.004, n)])
    if shape == "sphere":
        d = rng.normal(size=(90, 3))
        d /= np.linalg.norm(d, axis=1)[:, None]
        return d * (19.05 + 0.004 * d[:, :1] ** 2 + rng.normal(0, 0.0005, (90, 1)))
    if shape == "torus":
        a, b = (g.ravel() for g in np.meshgrid(np.arange(24) * np.pi / 12, np.arange(12) * np.pi / 6))
        r = 8 + 0.005 * np.cos(2 * b) + 0.003 * np.cos(3 * a) + rng.normal(0, 0.0005, a.size)
        R = 40 + r * np.cos(b)
        return np.column_stack([R * np.cos(a), R * np.sin(a), r * np.sin(b)])
    h, t = np.repeat(np.linspace(0, 60, 5), 24), np.tile(np.arange(24) * np.pi / 12, 5)
    r = 25 + 0.006 * np.cos(2 * t) + 0.003 * np.sin(h / 10) + rng.normal(0, 0.0008, h.size)
    r += 0.2 * h if shape == "cone" else 0.0
    return np.column_stack([r * np.cos(t), r * np.sin(t), h])


def name(shape: str, method: str, dims: int) -> str:
    """The file of a picture: a line in a plane and one in space have one each; of a circle that in a plane."""
    return f"fit-{shape}{'-within-plane' if shape == 'line' and dims == 2 else ''}-{method}.svg"


def wanted() -> list[tuple[str, str, int]]:
    """Shape, method and coordinates of every picture."""
    pairs = [(shape, method, dims) for shape, methods in WAYS.items() for method, at in methods.items() for dims in at]
    twice = {("circle", "3"), ("cylinder", "one-sided")}  # the circle in its plane; one-sided is circumscribed
    return [(s, m, dims) for s, m, dims in pairs if (s, m) not in twice and (s, str(dims)) not in twice]


def main() -> None:
    """Write them all."""
    for shape, method, dims in wanted():
        toward = {"toward": [0.0, 1.0] if dims == 2 else [0.0, 0.0, 1.0]} if method == "one-sided" else {}
        file = HERE / name(shape, method, dims)
        write_picture(associate(points(shape, dims), shape=shape, method=method, **toward), f"{shape}.csv", file)
        print(f"docs/pictures/{file.name}")
    ring = associate(
        points("circle", 2, 360),
        shape="circle",
        method="minimum-zone",
        filtering={"kind": "gaussian", "cutoff_upr": 15},
    )
    write_picture(ring, "circle.csv", HERE / "fit-circle-filtered.svg")


if __name__ == "__main__":
    main()
