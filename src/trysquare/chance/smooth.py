"""Characteristics that follow the readings nearly linearly: sizes, distances, coordinates, angles far from zero."""

import numpy.typing as npt

from .statement import Statement, from_samples


def smooth(value: float, draws: npt.ArrayLike, *, coverage: float = 0.95) -> Statement:
    """Statement from draws (M,) of the characteristic, each perturbed by one draw of every error.

    Percentiles of the draws (JCGM 101:2008, 7.7, probabilistically symmetric), on ranks of M + 1. Right only where
    the characteristic is near linear over the errors; distances from perfect are `magnitude`, worst-of-surface
    characteristics are `extreme`.

    Raises
    ------
    InputError : a draw is not finite, or there are fewer than two.
    """
    return from_samples("smooth", value, draws, coverage=coverage)
