"""Scales of the pictures of fits: round steps and magnifications, and how many decimals a figure needs."""

import math

from .format import figure

#: Form below this share of the extent is not magnified: it is rounding.
NOTHING = 1e-13


def step_below(x: float) -> float:
    """The largest of 1, 2, 5 times a power of ten that is no larger than x > 0."""
    power = 10.0 ** math.floor(math.log10(x) + 1e-12)
    return max(m for m in (1, 2, 5) if m * power <= x * (1 + 1e-9)) * power


def step_above(x: float) -> float:
    """The smallest of 1, 1.5, 2, 3, 4, 5, 6, 8 times a power of ten that is no smaller than x > 0."""
    power = 10.0 ** math.floor(math.log10(x) + 1e-12)
    return min(m for m in (1, 1.5, 2, 3, 4, 5, 6, 8, 10) if m * power >= x * (1 - 1e-9)) * power


def magnified(form: float, shape_px_per_mm: float, room_px: float, extent: float) -> tuple[float, float]:
    """The round magnification at which `form` mm takes no more than `room_px`, and pixels for a mm of residual.

    Where there is nothing but rounding (or nothing to compare it with) the magnification is 1.
    """
    if not form > NOTHING * extent or not shape_px_per_mm > 0:
        return 1.0, shape_px_per_mm if shape_px_per_mm > 0 else 1.0
    factor = step_below(room_px / (form * shape_px_per_mm))
    return factor, factor * shape_px_per_mm


def places(x: float, figures: int = 4) -> int:
    """Decimals that show `figures` figures of x, 0 to 9."""
    return 6 if not (math.isfinite(x) and x > 0) else min(9, max(0, figures - 1 - math.floor(math.log10(x))))


def signed_mm(x: float, decimals: int) -> str:
    """A residual with its sign, to `decimals`."""
    text = figure(x, decimals)
    if not any(c in "123456789" for c in text):
        return "0"
    return f"+{text}" if x > 0 else text


def times(factor: float) -> str:
    """A magnification in words of a drawing: 500 times, 1 000 000 times, 0.5 times."""
    text = f"{factor:,.0f}".replace(",", "\u00a0") if factor >= 1 else f"{factor:g}"
    return f"{text} times"
