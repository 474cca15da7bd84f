"""End-gauge calibration: JCGM 100:2008 (GUM), H.1, and its Monte Carlo treatment in JCGM 101:2008, 9.5.

Certified (published, H.1): l = 50.000 838 mm, u_c = 32 nm to first order and 34 nm to second, 16 effective degrees of
freedom, U_99 = 93 nm. From memory (JCGM 101, 9.5): Monte Carlo u = 36 nm. Lengths here are in nm, temperatures in K.
"""

import math

import numpy as np
import pytest

from trysquare.chance.contributions import shares
from trysquare.chance.law import Law
from trysquare.chance.normal_decision import interval
from trysquare.chance.sources import Draws, Source

L_S, D, ALPHA, THETA = 50_000_623.0, 215.0, 11.5e-6, -0.1


def source(name: str, u: float, unit: str, dof: float = math.inf, distribution: str = "normal") -> Source:
    return Source(name, "reading", u, unit, "reading", distribution, dof, origin="GUM H.1")


SOURCES = {
    s.name: s
    for s in (
        source("standard", 25.0, "nm", 18),
        source("repeats", 13.0 / math.sqrt(5), "nm", 24),
        source("comparator, random", 10.0 / 2.571, "nm", 5),
        source("comparator, systematic", 20.0 / 3, "nm", 8),
        source("expansion", 2e-6 / math.sqrt(3), "1/K", distribution="rectangular"),
        source("mean temperature", 0.2, "K"),
        source("cycle", 0.5 / math.sqrt(2), "K", distribution="arcsine"),
        source("expansion difference", 1e-6 / math.sqrt(3), "1/K", 50, "rectangular"),
        source("temperature difference", 0.05 / math.sqrt(3), "K", 2, "rectangular"),
    )
}
FIRST_ORDER = {  # sensitivity (nm per unit); those of expansion and of the two temperatures vanish to first order
    "standard": 1.0, "repeats": 1.0, "comparator, random": 1.0, "comparator, systematic": 1.0,
    "expansion difference": -L_S * THETA, "temperature difference": -L_S * ALPHA,
}  # fmt: skip


def length(draws: Draws, sources: dict[str, Source] = SOURCES) -> np.ndarray:
    """l - 50 mm in nm, (draws,): the model of H.1.2, not linearised."""
    e = {name: draws.of(s, ["it"])[:, 0] for name, s in sources.items()}
    standard = L_S + e["standard"]
    difference = D + e["repeats"] + e["comparator, random"] + e["comparator, systematic"]
    theta = THETA + e["mean temperature"] + e["cycle"]
    heat = e["expansion difference"] * theta + (ALPHA + e["expansion"]) * e["temperature difference"]
    return standard + difference - standard * heat - 50e6


def known(s: Source) -> Source:
    return Source(s.name, s.link, s.u, s.unit, s.scope, s.distribution)


def contributions() -> dict[str, float]:
    return {name: abs(c) * SOURCES[name].u for name, c in FIRST_ORDER.items()}


def test_analytic_first_order_and_expanded() -> None:
    parts = contributions()
    u_c = math.sqrt(sum(x * x for x in parts.values()))
    comparison = math.sqrt(sum(parts[n] ** 2 for n in ("repeats", "comparator, random", "comparator, systematic")))
    assert (round(u_c), round(comparison, 1)) == (32, 9.7)
    dof = u_c**4 / sum(x**4 / SOURCES[n].dof for n, x in parts.items())
    assert int(dof) == 16
    assert round(half_interval(Law(round(u_c), int(dof)))) == 93  # H.1.6 multiplies the rounded u_c
    assert half_interval(Law(u_c, int(dof))) == pytest.approx(92.5, abs=0.1)  # independent computation, not rounded
    assert round(half_interval(Law(round(u_c)))) == 82  # the twin: degrees of freedom forgotten


def half_interval(law: Law) -> float:
    low, high = interval(838.0, law, 0.99)
    return (high - low) / 2


def test_draws_give_the_second_order_result() -> None:
    """All figures taken as exactly known: the model is bilinear, so GUM's second-order u is exact, 33.9 nm."""
    m = 200_000
    l = length(Draws(1, 0, m), {n: known(s) for n, s in SOURCES.items()})  # noqa: E741 - the letter of H.1
    assert abs(l.mean() - 838.0) < 4 * 34 / math.sqrt(m)
    assert round(l.std()) == 34
    first = math.sqrt(sum(x * x for x in contributions().values()))
    second = [L_S * SOURCES[a].u * SOURCES[b].u for a, b in (("expansion", "temperature difference"),)]
    second += [L_S * SOURCES["expansion difference"].u * SOURCES[t].u for t in ("mean temperature", "cycle")]
    exact = math.sqrt(first**2 + sum(x * x for x in second))
    assert abs(l.std() / exact - 1) < 0.006
    assert abs(l.std() / first - 1) > 0.05  # the twin: first order is not enough


def test_draws_with_student_sources_as_in_jcgm_101() -> None:
    """Student inputs for what rests on readings; the limits known to 10 % and 50 % as curvilinear trapezoids there,

    here as rectangles of the same variance (2 a)^2 / 12 + d^2 / 9 with d the doubt of the limits.
    """
    changed = dict(SOURCES)
    for name, a, d in (("expansion difference", 1e-6, 0.1e-6), ("temperature difference", 0.05, 0.025)):
        unit = SOURCES[name].unit
        changed[name] = source(name, math.sqrt((2 * a) ** 2 / 12 + d * d / 9), unit, distribution="rectangular")
    l = length(Draws(2, 0, 200_000), changed)  # noqa: E741
    assert round(l.mean()) == 838
    assert round(l.std()) == 36


def test_contributions_of_the_end_gauge() -> None:
    """Shares one at a time: 25^2, 16.6^2 .. of 33.9^2; two sources act only together, and stay in the remainder."""
    m, sources = 100_000, {n: known(s) for n, s in SOURCES.items()}
    alone = {n: length(Draws(1, 0, m, only={n}), sources) for n in sources}
    ordered, remainder = shares(alone, length(Draws(1, 0, m), sources))
    assert [name for name, _ in ordered[:2]] == ["standard", "temperature difference"]
    total = 33.855**2
    assert dict(ordered)["standard"] == pytest.approx(625 / total, abs=0.01)
    assert dict(ordered)["temperature difference"] == pytest.approx(275.5 / total, abs=0.01)
    assert dict(ordered)["mean temperature"] == 0.0
    assert remainder == pytest.approx((total - 31.71**2) / total, abs=0.01)
