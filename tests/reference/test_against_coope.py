"""Two published circles in a plane. Expected values: independent computation, Newton's method with 40 digits here.

Points: I. D. Coope, "Circle fitting by linear and nonlinear least squares", JOTA 76 (1993); SciPy cookbook, "Least
squares circle". Coope's printed digits are off in the 7th; the root is what holds.
"""

from decimal import Decimal, getcontext

import numpy as np
import pytest

from trysquare.geometry import fit_circle

COOPE = [(0.7, 4), (3.3, 4.7), (5.6, 4), (7.5, 1.3), (6.4, -1.1), (4.4, -3), (0.3, -2.5), (-1.1, 1.3)]
COOKBOOK = [(9, 34), (35, 10), (-13, 6), (10, -14), (23, 27), (0, -10)]


def root(points: list[tuple[float, float]], guess: tuple[str, str]) -> tuple[float, float, float, float]:
    """Centre, radius and sum of squares from the two first-order conditions, to 30 digits or more."""
    getcontext().prec = 45
    P = [(Decimal(str(x)), Decimal(str(y))) for x, y in points]
    n, h = len(P), Decimal("1e-16")

    def gradient(a: Decimal, b: Decimal) -> tuple[Decimal, Decimal]:
        rho = [((x - a) ** 2 + (y - b) ** 2).sqrt() for x, y in P]
        r = sum(rho) / n
        pairs = list(zip(rho, P, strict=True))
        return sum((q - r) * (x - a) / q for q, (x, y) in pairs), sum((q - r) * (y - b) / q for q, (x, y) in pairs)

    a, b = Decimal(guess[0]), Decimal(guess[1])
    for _ in range(12):
        g, ga, gb = gradient(a, b), gradient(a + h, b), gradient(a, b + h)
        j = [[(ga[i] - g[i]) / h, (gb[i] - g[i]) / h] for i in range(2)]
        det = j[0][0] * j[1][1] - j[0][1] * j[1][0]
        a, b = a - (g[0] * j[1][1] - g[1] * j[0][1]) / det, b - (j[0][0] * g[1] - j[1][0] * g[0]) / det
    assert max(map(abs, gradient(a, b))) < Decimal("1e-30")
    rho = [((x - a) ** 2 + (y - b) ** 2).sqrt() for x, y in P]
    r = sum(rho) / n
    return float(a), float(b), float(r), float(sum((q - r) ** 2 for q in rho))


@pytest.mark.parametrize(
    ("points", "guess", "printed"),
    [
        (COOPE, ("3.04", "0.75"), (3.04323825158, 0.74567831346, 4.10585583795)),
        (COOKBOOK, ("10.5", "9.66"), (10.50009, 9.65995, 23.33353)),  # as the cookbook prints it
    ],
)
def test_circle(points: list[tuple[float, float]], guess: tuple[str, str], printed: tuple[float, ...]) -> None:
    a, b, r, squares = root(points, guess)
    fit = fit_circle(points)
    found = [*fit.center_mm, fit.radius_mm]
    assert np.abs(np.array(found) - [a, b, r]).max() < 1e-11
    assert abs(fit.sum_of_squares_mm2 - squares) < 1e-11
    digits = 1e-10 if points is COOPE else 1e-5
    assert np.abs(np.array(found) - printed).max() < digits


def test_circle_in_space_agrees_with_the_plane() -> None:
    """Points without an axial part: the circle in space is the circle in their plane."""
    flat = fit_circle(COOPE)
    fit = fit_circle(np.column_stack([COOPE, np.full(8, 7.0)]), toward=[0, 0, 1])
    assert np.abs(fit.center_mm - [*flat.center_mm, 7.0]).max() < 1e-11
    assert abs(fit.radius_mm - flat.radius_mm) < 1e-11
    assert np.abs(fit.normal - [0, 0, 1]).max() < 1e-12


def test_negative_twin_the_algebraic_circle_is_another() -> None:
    """Kasa's algebraic circle misses the geometric one by far more than the tolerance."""
    P = np.array(COOPE)
    x = np.linalg.lstsq(np.column_stack([2 * P, np.ones(8)]), (P * P).sum(1), rcond=None)[0]
    assert abs(x[0] - fit_circle(COOPE).center_mm[0]) > 1e-3
