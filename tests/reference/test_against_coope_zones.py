"""The two published circles in the other norms: minimum zone, circumscribed and inscribed circle.

Points: I. D. Coope, JOTA 76 (1993) 381; SciPy cookbook, "Least squares circle". Expected values: independent
computation here, by trying every set of contacts (4 for a zone, 2 or 3 for a touching circle) and keeping the one that
holds all points; the zone's four equations are then solved to 40 digits by Newton's method in `decimal`.
"""

from decimal import Decimal, localcontext
from itertools import combinations, product
from typing import Any

import numpy as np
import pytest

import trysquare.geometry as geometry

COOPE = [(0.7, 4), (3.3, 4.7), (5.6, 4), (7.5, 1.3), (6.4, -1.1), (4.4, -3), (0.3, -2.5), (-1.1, 1.3)]
COOKBOOK = [(9, 34), (35, 10), (-13, 6), (10, -14), (23, 27), (0, -10)]
SETS = {"Coope": COOPE, "cookbook": COOKBOOK}
#: width and centre of the minimum zone (derived before, independently)
ZONES = {"Coope": (0.57115992, 3.121050, 0.875906), "cookbook": (2.92459179, 10.253633, 9.274769)}


def _solve(J: Any, f: Any) -> Any:
    """J x = f by elimination; numbers of any kind."""
    rows = [[*row, value] for row, value in zip(J, f, strict=True)]
    k = len(rows)
    for i in range(k):
        best = max(range(i, k), key=lambda r: abs(rows[r][i]))
        rows[i], rows[best] = rows[best], rows[i]
        for r in range(k):
            if r != i:
                q = rows[r][i] / rows[i][i]
                rows[r] = [a - q * b for a, b in zip(rows[r], rows[i], strict=True)]
    return [rows[i][k] / rows[i][i] for i in range(k)]


def _newton(points: Any, signs: Any, x: list[Any], turns: int) -> list[Any]:
    """Centre a, b, radius r and half-width t with |p - c| = r + s t at the four points."""
    for _ in range(turns):
        a, b, r, t = x
        J, f = [], []
        for (px, py), s in zip(points, signs, strict=True):
            rho = ((px - a) ** 2 + (py - b) ** 2) ** (Decimal("0.5") if isinstance(a, Decimal) else 0.5)
            J.append([(a - px) / rho, (b - py) / rho, -1, -s])
            f.append(rho - r - s * t)
        x = [value - step for value, step in zip(x, _solve(J, f), strict=True)]
    return x


def minimum_zone(points: list[tuple[float, float]]) -> list[Decimal]:
    """Centre, radius and half-width, 40 digits; the narrowest of all zones held by two points on each side."""
    P, best = np.array(points, dtype=float), None
    for four in combinations(range(len(P)), 4):
        for signs in product((1, -1), repeat=4):
            if sum(signs) != 0:
                continue
            with np.errstate(all="ignore"):  # from some contacts it runs away
                x = _newton(P[list(four)], signs, [*P.mean(0), 5.0, 0.1], 40)
            if not np.isfinite(x).all() or x[3] <= 0:
                continue
            residual = np.linalg.norm(P - x[:2], axis=1) - x[2]
            if np.abs(residual).max() < x[3] + 1e-9 and (best is None or x[3] < best[0][3]):
                best = x, four, signs
    x, four, signs = best
    with localcontext() as context:
        context.prec = 60
        exact = [tuple(Decimal(str(v)) for v in points[i]) for i in four]
        done = _newton(exact, signs, [Decimal(float(v)) for v in x], 8)
        again = _newton(exact, signs, done, 1)
        assert max(abs(p - q) for p, q in zip(done, again, strict=True)) < Decimal("1e-40")
        return done


def touching_circle(points: list[tuple[float, float]], inscribed: bool) -> tuple[float, float, float]:
    """Radius and centre: the smallest circle about all points, or the largest empty one with its centre among them."""
    P, best = np.array(points, dtype=float), None
    for chosen in [*combinations(P, 3), *combinations(P, 2)]:
        Q = np.array(chosen)
        rows, middle = 2 * (Q[1:] - Q[0]), ((Q[1:] ** 2).sum(1) - (Q[0] ** 2).sum())
        if len(Q) == 2:  # the circle on a diameter
            c = Q.mean(0)
        elif abs(np.linalg.det(rows)) < 1e-12:
            continue
        else:
            c = np.linalg.solve(rows, middle)
        r, rho = np.linalg.norm(Q[0] - c), np.linalg.norm(P - c, axis=1)
        if not inscribed and rho.max() < r + 1e-9 and (best is None or r < best[0]):
            best = r, *c
        if inscribed and rho.min() > r - 1e-9 and _among(c, P) and (best is None or r > best[0]):
            best = r, *c
    return best


def _among(c: np.ndarray, P: np.ndarray) -> bool:
    """Whether the points surround c: no half plane through it is free of them."""
    angles = np.sort(np.arctan2(*(P - c).T[::-1]))
    return bool(np.diff(angles, append=angles[0] + 2 * np.pi).max() < np.pi)


@pytest.mark.parametrize("name", SETS)
def test_minimum_zone(name: str) -> None:
    a, b, r, t = map(float, minimum_zone(SETS[name]))
    assert np.abs(np.array([2 * t, a, b]) - ZONES[name]).max() < 1e-6
    fit = geometry.zone_circle(SETS[name])
    assert abs(fit.width_mm - 2 * t) < 1e-12
    assert np.abs(fit.center_mm - [a, b]).max() < 1e-11
    assert abs(fit.radius_mm - r) < 1e-11
    assert (fit.certificate.contacts >= 0).sum() == 4
    assert fit.width_mm < geometry.fit_circle(SETS[name]).form_mm  # negative twin: least squares is wider


@pytest.mark.parametrize("name", SETS)
@pytest.mark.parametrize("method", ["circumscribed_circle", "inscribed_circle"])
def test_touching_circle(name: str, method: str) -> None:
    r, a, b = touching_circle(SETS[name], method.startswith("inscribed"))
    fit = getattr(geometry, method)(SETS[name])
    assert abs(fit.radius_mm - r) < 1e-11
    assert np.abs(fit.center_mm - [a, b]).max() < 1e-10
