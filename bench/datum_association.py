"""Coverage of naive intervals on a datum plane: least squares against planes that touch (docs/design/0008).

Virtual base plates of 200 x 120 mm with waves of 80 mm, touched at a grid of points with noise. What is asked is the
height of the datum plane over the corner and its slope along the length, both in um (per 100 mm). The truth is the same
association on the whole surface without noise; the interval holds the middle 95 % of 120 draws of noise about the
points touched. "residuals" draws what the residuals of the least-squares plane show instead, form and noise together,
as the form source of the chain does. A coverage of 0.95 is right; 200 parts tell it to 0.03 (two standard deviations).
"""

from typing import Any

import numpy as np

from trysquare.core.arrays import Array
from trysquare.geometry import fit_plane, tangent_plane

LENGTH, WIDTH, WAVE = 200.0, 120.0, 80.0
ASSOCIATIONS = ("least squares", "minimax", "squares", "sum")
CASES = ((12, 0.0, 5.0), (12, 10.0, 5.0), (12, 30.0, 2.0), (48, 0.0, 5.0), (48, 30.0, 2.0))
_UP = np.array([0.0, 0.0, 1.0])


def run(quick: bool = False) -> dict[str, Any]:
    """One row for each case, association and way to draw."""
    parts, draws = (60, 100) if quick else (200, 120)
    rows = []
    for points, form_um, noise_um in CASES:
        rng = np.random.default_rng([8, points, int(form_um)])
        measured, dense = _plates(rng, parts, points, form_um / 1000)
        measured[..., 2] += noise_um / 1000 * rng.normal(size=measured.shape[:2])
        for name in ASSOCIATIONS:
            for way in ("noise", "residuals"):
                if way == "residuals" and form_um == 0.0:
                    continue
                said = {"points": points, "form_um": form_um, "noise_um": noise_um, "association": name, "drawn": way}
                rows.append(said | _row(rng, measured, dense, name, draws, noise_um / 1000, way))
    return {"rows": rows, "parts": parts, "draws": draws}


def _grid(columns: int, lines: int) -> Array:
    x, y = np.meshgrid(np.linspace(-0.45, 0.45, columns) * LENGTH, np.linspace(-0.45, 0.45, lines) * WIDTH)
    return np.column_stack([x.ravel(), y.ravel()])


def _plates(rng: np.random.Generator, parts: int, points: int, form_mm: float) -> tuple[Array, Array]:
    """Touched points (parts, points, 3) and whole surfaces, of random waves with `form_mm` from crest to trough."""
    lines = {12: 3, 48: 6}[points]
    touched = _grid(points // lines, lines)
    whole = _grid(45, 27) / 0.9
    xy = np.concatenate([touched, whole])
    a, turn = rng.uniform(0, 2 * np.pi, (2, parts, 24, 1))
    along = np.stack([np.cos(a), np.sin(a)], -1) @ xy.T
    waves = np.cos(2 * np.pi / WAVE * along[..., 0, :] + turn).sum(1)
    spread = np.ptp(waves[:, len(touched) :], axis=1, keepdims=True)
    z = form_mm * waves / spread
    surface = np.concatenate([np.broadcast_to(xy, (parts, *xy.shape)), z[..., None]], -1)
    return surface[:, : len(touched)].copy(), surface[:, len(touched) :]


def _row(
    rng: np.random.Generator, measured: Array, dense: Array, name: str, draws: int, noise: float, way: str
) -> dict[str, float]:
    sd = np.full(len(measured), noise)
    if way == "residuals":
        left = fit_plane(measured, toward=_UP).residuals_mm
        sd = np.sqrt((left**2).sum(1) / (left.shape[1] - 3))
    drawn = np.repeat(measured[:, None], draws, axis=1)
    drawn[..., 2] += sd[:, None, None] * rng.normal(size=drawn.shape[:3])
    low, high = np.quantile(_asked(drawn, name), [0.025, 0.975], axis=1)
    truth, found = _asked(dense, name), _asked(measured, name)
    inside = ((low <= truth) & (truth <= high)).mean(0)
    off = (found - truth).mean(0)
    middle = (0.5 * (low + high) - truth).mean(0)
    return {
        "covers_height": float(inside[0]), "covers_slope": float(inside[1]), "value_off_um": float(off[0]),
        "draws_off_um": float(middle[0]), "width_um": float((high - low)[:, 0].mean()),
    }  # fmt: skip


def _asked(points: Array, name: str) -> Array:
    """Height over the corner, um, and slope along the length, um per 100 mm: (..., 2)."""
    if name == "least squares":
        found = fit_plane(points, toward=_UP)
        at, normal = found.point_mm, found.normal
    else:
        touching = tangent_plane(points, outward=_UP, norm=name)
        at, normal = touching.point_mm, touching.normal
    if at is None or normal is None:
        raise ValueError("a plane has a point and a normal")
    slope = -normal[..., :2] / normal[..., 2:]
    corner = np.array([LENGTH, WIDTH]) / 2
    height = at[..., 2] + ((corner - at[..., :2]) * slope).sum(-1)
    return np.stack([1000 * height, 1e5 * slope[..., 0]], -1)
