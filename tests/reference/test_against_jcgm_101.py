"""Propagation of distributions: JCGM 101:2008, 9.2, the additive model Y = X1 + X2 + X3 + X4.

Certified (published): 95 % half-widths 3.92 (normal inputs) and 3.88 (rectangular inputs of the same variance).
From memory: 9.2.4, X4 with a standard deviation of 10: u = 10.1, half-width 17.0 where the GUM framework gives 19.9.
Analytic beside it: a sum of four rectangles has 97.5 % point 2 sqrt(3) (2 - (3/5)^(1/4)) = 3.8794 (JCGM 101, annex E).
"""

import math

import numpy as np
import pytest

from trysquare.chance.smooth import smooth
from trysquare.chance.sources import Draws, Source

M = 400_000


def half_width(distribution: str, sds: tuple[float, ...]) -> tuple[float, float]:
    """Half the 95 % interval of the sum, through sources, draws and a statement; and its u."""
    draws = Draws(1, 0, M)
    inputs = [Source(f"X{i}", "reading", sd, "1", "reading", distribution) for i, sd in enumerate(sds, 1)]
    total = np.sum([draws.of(x, ["it"])[:, 0] for x in inputs], axis=0)
    statement = smooth(0.0, total)
    assert statement.interval is not None
    assert statement.u is not None
    assert abs(sum(statement.interval)) < 0.05
    return (statement.interval[1] - statement.interval[0]) / 2, statement.u


def test_four_normal_inputs() -> None:
    half, u = half_width("normal", (1.0, 1.0, 1.0, 1.0))
    assert half == pytest.approx(3.92, abs=0.015)
    assert u == pytest.approx(2.0, abs=0.01)


def test_four_rectangular_inputs() -> None:
    half, u = half_width("rectangular", (1.0, 1.0, 1.0, 1.0))
    assert half == pytest.approx(2 * math.sqrt(3) * (2 - 0.6**0.25), abs=0.015)
    assert round(half, 2) == pytest.approx(3.88, abs=0.011)
    assert abs(half - 3.92) > 0.02  # the twin: it is not the normal one
    assert u == pytest.approx(2.0, abs=0.01)


def test_one_rectangular_input_that_rules() -> None:
    half, u = half_width("rectangular", (1.0, 1.0, 1.0, 10.0))
    assert half == pytest.approx(17.0, abs=0.06)
    assert u == pytest.approx(math.sqrt(103), abs=0.03)
    assert 1.96 * u - half > 2.5  # the twin: a normal of the same u would say 19.9
