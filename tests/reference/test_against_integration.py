"""Decisions and risks against independent integration: SciPy's adaptive quadrature, Owen's T, statistics of SciPy.

Every expected value here is an independent computation unless it says otherwise. The rules are those of ISO 14253-1
and JCGM 106:2012.
"""

import itertools
import math

import numpy as np
import pytest
from scipy import integrate, optimize, special, stats

from trysquare.chance.decision import judge_statement
from trysquare.chance.law import Law
from trysquare.chance.normal_decision import Prior, equal_guard, p_beyond, tails
from trysquare.chance.population import Population, Process
from trysquare.chance.quadrature import grades, panels
from trysquare.chance.risk import cheapest_guard, expected_cost, guard_for_risk
from trysquare.chance.statement import from_samples

INF = math.inf


def error_law(u: float, df: float) -> object:
    return stats.norm(0, u) if math.isinf(df) else stats.t(df, 0, u)


# ---- one part


@pytest.mark.parametrize("df", [INF, 3.0, 16.7])
@pytest.mark.parametrize(("lower", "upper"), [(None, 1.0), (-1.0, None), (-1.0, 1.0), (0.1, 1.0)])
def test_confidence_beyond_the_limits(df: float, lower: float | None, upper: float | None) -> None:
    law = error_law(0.4, df)
    for value in (-3.0, -0.7, 0.0, 0.55, 1.2):
        low, high = tails(value, Law(0.4, df), lower, upper)
        inside, _ = integrate.quad(
            lambda x: law.pdf(x - value),  # type: ignore[attr-defined] # noqa: B023
            -INF if lower is None else lower, INF if upper is None else upper, epsabs=1e-12, epsrel=1e-12,
        )  # fmt: skip
        assert 1 - low - high == pytest.approx(inside, abs=1e-9)


@pytest.mark.parametrize("df", [INF, 4.0])
@pytest.mark.parametrize("prove", ["conformity", "non-conformity"])
@pytest.mark.parametrize("probability", [0.9, 0.95, 0.999])
def test_guard_bands(df: float, prove: str, probability: float) -> None:
    law, alpha = error_law(0.03, df), 1 - probability if prove == "conformity" else probability
    for width in (0.3, 0.5, 4.0):

        def excess(g: float) -> float:
            return law.cdf(-g) + law.sf(width - g) - alpha  # type: ignore[attr-defined] # noqa: B023

        guard = equal_guard(Law(0.03, df), 5.0, 5.0 + width, prove=prove, probability=probability)
        if excess(width / 2) > 0:
            assert guard is None
        else:
            assert guard == pytest.approx(optimize.brentq(excess, -9, width / 2, xtol=1e-15), abs=1e-9)
    one = equal_guard(Law(0.03, df), None, 1.0, prove=prove, probability=probability)
    assert one == pytest.approx(law.isf(alpha), abs=1e-12)  # type: ignore[attr-defined]


@pytest.mark.parametrize("df", [INF, 2.5, 30.0])
@pytest.mark.parametrize(("mean", "sd"), [(0.0, 0.3), (0.9, 0.05), (-2.0, 4.0), (6.0, 0.2)])
def test_probability_of_conformity_with_a_prior(df: float, mean: float, sd: float) -> None:
    value, u, lower, upper = 0.8, 0.25, -1.0, 1.0
    law = error_law(u, df)

    def joint(x: float) -> float:
        return stats.norm.pdf(x, mean, sd) * law.pdf(value - x)  # type: ignore[attr-defined]

    cuts = sorted({min(mean, value) - 15 * sd, lower, value, upper, mean, max(mean, value) + 15 * sd})
    pieces = {
        (a, b): integrate.quad(joint, a, b, epsabs=0, epsrel=1e-12, limit=400)[0] for a, b in itertools.pairwise(cuts)
    }
    beyond = sum(p for (a, b), p in pieces.items() if b <= lower or a >= upper) / sum(pieces.values())
    assert p_beyond(value, Law(u, df), lower, upper, Prior(mean, sd)) == pytest.approx(beyond, abs=1e-9, rel=1e-7)


def test_prior_far_from_the_value_with_many_degrees_of_freedom_is_nearly_normal() -> None:
    """The posterior then lies between the two, far from both; analytic limit: the conjugate normal."""
    near = p_beyond(40.0, Law(1.0, 1e9), None, 20.5, Prior(0.0, 1.0))
    assert near == pytest.approx(p_beyond(40.0, Law(1.0), None, 20.5, Prior(0.0, 1.0)), abs=1e-5)


def test_zener_diode_of_jcgm_106() -> None:
    """JCGM 106:2012, 7 (example, from memory): -5.47 V, u = 0.05 V, upper limit -5.40 V: p_c = Phi(1.40) = 0.92."""
    conforms = 1 - p_beyond(-5.47, Law(0.05), None, -5.40, Prior())
    assert conforms == pytest.approx(0.5 * math.erfc(-1.4 / math.sqrt(2)), abs=1e-12)
    assert round(conforms, 2) == 0.92


def test_guard_factors_of_iso_14253_1() -> None:
    """Published (common tables): 1.64 to 1.65 at 95 %, 2.33 at 99 %, one-sided; the two-sided 1.96 would be wrong."""
    assert equal_guard(Law(1.0), None, 9.0) == pytest.approx(1.645, abs=5e-4)
    assert equal_guard(Law(1.0), None, 9.0, probability=0.99) == pytest.approx(2.326, abs=5e-4)


def test_statement_from_draws_against_the_closed_form() -> None:
    """Monte Carlo quantiles of 200 000 draws: the guard to 1 %, the risk to 0.2 points."""
    draws = stats.norm.rvs(9.8, 0.1, 200_000, random_state=3)
    found = judge_statement(from_samples("smooth", 9.8, draws), 9.0, 10.0)
    assert found.guard == pytest.approx((0.16449, 0.16449), rel=0.01)
    assert found.risk == pytest.approx(stats.norm.sf(2), abs=2e-3)


# ---- all parts


def bivariate(h: float, k: float, rho: float) -> float:
    """P(X <= h, Y <= k) of standard normals with correlation rho, by Owen's T (Owen 1956); h, k not zero."""
    c = math.sqrt(1 - rho * rho)
    t = special.owens_t(h, (k - rho * h) / (h * c)) + special.owens_t(k, (h - rho * k) / (k * c))
    return 0.5 * (special.ndtr(h) + special.ndtr(k) - (0 if h * k > 0 else 1)) - t


def risks_by_owen(population: Population, low: float, high: float) -> tuple[float, float]:
    """Global risks of a normal process with normal readings."""
    process, u = population.process, population.law.u
    total = math.hypot(process.spread, u)

    def both(x: float, y: float) -> float:
        return bivariate((x - process.centre) / process.spread, (y - process.centre) / total, process.spread / total)

    def box(x: tuple[float, float], y: tuple[float, float]) -> float:
        return both(x[1], y[1]) - both(x[0], y[1]) - both(x[1], y[0]) + both(x[0], y[0])

    inside, accepted, far = (population.lower, population.upper), (low, high), (-1e3, 1e3)
    correct = box(inside, accepted)
    return box(far, accepted) - correct, box(inside, far) - correct


@pytest.mark.parametrize("u", [1e-5, 0.01, 0.04, 0.3])
@pytest.mark.parametrize("centre", [0.013, 0.17, -0.5])
def test_global_risks_of_a_normal_process_against_owen(u: float, centre: float) -> None:
    population = Population(Process(centre, 0.12), Law(u), -0.2, 0.2)
    for low, high in ((-0.2, 0.2), (-0.13, 0.13), (-0.3, 0.25), (-0.05, 0.31)):
        found, expected = population.risks(low, high), risks_by_owen(population, low, high)
        assert (found.consumer, found.producer) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    "process", [Process(0.05, 0.02), Process(0.03, 0.45, lognormal=True), Process(1e-3, 2.0, True)]
)
@pytest.mark.parametrize("df", [INF, 3.0])
@pytest.mark.parametrize("limits", [(None, 0.08), (0.02, 0.08), (0.01, None)])
def test_global_risks_against_adaptive_quadrature(
    process: Process, df: float, limits: tuple[float | None, float | None]
) -> None:
    u, guard = 0.004, 0.005
    lower, upper = (-INF if limits[0] is None else limits[0]), (INF if limits[1] is None else limits[1])
    low, high = lower + guard, upper - guard
    law = error_law(u, df)
    parts = (
        stats.lognorm(process.spread, 0, process.centre) if process.lognormal
        else stats.norm(process.centre, process.spread)
    )  # fmt: skip

    def integral(a: float, b: float, accepted: bool) -> float:
        """Over the share q of parts below x, so that no part of the population is passed over."""

        def f(q: float) -> float:
            x = float(np.clip(parts.ppf(q), -1e9, 1e9))
            p = law.cdf(high - x) - law.cdf(low - x)  # type: ignore[attr-defined]
            return p if accepted else 1 - p

        steps = [parts.cdf(e + u * k) for e in (low, high) for k in (-50, -10, -3, -1, 0, 1, 3, 10, 50)]
        start, stop = parts.cdf(a), parts.cdf(b)
        cuts = sorted({start, *(s for s in steps if start < s < stop), stop})
        return sum(
            integrate.quad(f, p, q, epsabs=1e-12, epsrel=1e-10, limit=200)[0] for p, q in itertools.pairwise(cuts)
        )

    found = Population(process, Law(u, df), lower, upper).risks(low, high)
    consumer = integral(-INF, lower, True) + integral(upper, INF, True)
    assert found.consumer == pytest.approx(consumer, abs=1e-9)
    assert found.producer == pytest.approx(integral(lower, upper, False), abs=1e-9)
    assert found.conforming == pytest.approx(parts.cdf(upper) - parts.cdf(lower), abs=1e-11)


def test_resistors_as_in_jcgm_106() -> None:
    """JCGM 106:2012, 9 (data of the example from memory): 1500 ohm, limits 0.2, process 0.12, readings 0.04.

    Expected by a simulation of a million parts: an independent computation of another kind.
    """
    population = Population(Process(1500.0, 0.12), Law(0.04), 1499.8, 1500.2)
    rng = np.random.default_rng(5)
    x = 1500.0 + 0.12 * rng.standard_normal(1_000_000)
    y = x + 0.04 * rng.standard_normal(x.size)
    conforms, accepted = np.abs(x - 1500) <= 0.2, np.abs(y - 1500) <= 0.16
    found = population.risks(1499.84, 1500.16)
    for p, share in ((found.consumer, accepted & ~conforms), (found.producer, ~accepted & conforms)):
        assert p == pytest.approx(share.mean(), abs=4 * math.sqrt(p / x.size))
    wide = population.risks(1499.8, 1500.2)
    assert wide.consumer > 4 * found.consumer  # the twin: without a guard band four times as many slip through


@pytest.mark.parametrize(("lower", "upper"), [(-0.2, 0.2), (-INF, 0.2), (-0.1, INF)])
@pytest.mark.parametrize("target", [0.05, 1e-3, 1e-6])
def test_guard_for_a_target_risk(lower: float, upper: float, target: float) -> None:
    population = Population(Process(0.02, 0.12), Law(0.04), lower, upper)
    guard = guard_for_risk(population, target)
    assert guard is not None
    low, high = population.guarded(guard)
    consumer, _ = risks_by_owen(
        Population(population.process, population.law, max(lower, -999), min(upper, 999)),
        max(low, -998),
        min(high, 998),
    )
    assert consumer == pytest.approx(target, abs=1e-9)


def test_a_target_above_the_share_of_bad_parts_needs_no_line() -> None:
    population = Population(Process(0.0, 0.1), Law(0.04), -0.3, 0.3)
    assert guard_for_risk(population, 0.003) is None
    assert guard_for_risk(population, 0.002) is not None  # the twin: 0.27 % lie beyond three sigma


@pytest.mark.parametrize("costs", [(100.0, 1.0), (4.0, 1.0), (1.0, 1.0)])
@pytest.mark.parametrize("df", [INF, 4.0])
def test_cheapest_guard_against_direct_minimisation(costs: tuple[float, float], df: float) -> None:
    population = Population(Process(0.03, 0.12), Law(0.05, df), -0.2, 0.25)
    best = cheapest_guard(population, *costs)
    assert best.guard is not None

    def cost(guard: float) -> float:
        return expected_cost(population.risks(*population.guarded(guard)), *costs)

    grid = np.linspace(-0.5, 0.22, 241)
    start = grid[int(np.argmin([cost(g) for g in grid]))]
    direct = optimize.minimize_scalar(
        cost, bounds=(start - 0.003, start + 0.003), method="bounded", options={"xatol": 1e-9}
    )
    assert best.cost <= direct.fun + 1e-12
    assert best.guard == pytest.approx(direct.x, abs=2e-6)


def test_cheapest_guard_of_one_limit_in_closed_form() -> None:
    """Analytic (Bayes): accept while the posterior P(bad | reading) is at most c_reject / (c_accept + c_reject)."""
    process, u, upper = Process(0.0, 0.12), 0.05, 0.2
    best = cheapest_guard(Population(process, Law(u), -INF, upper), 20.0, 1.0)
    w = 0.12**2 / (0.12**2 + u**2)
    reading = (upper - special.ndtri(20 / 21) * math.sqrt(w) * u) / w
    assert best.guard == pytest.approx(upper - reading, abs=1e-9)


def test_where_one_error_costs_nothing_the_line_vanishes() -> None:
    population = Population(Process(0.0, 0.1), Law(0.04), -0.3, 0.3)
    assert (cheapest_guard(population, 0.0, 1.0).accepts, cheapest_guard(population, 1.0, 0.0).accepts) == (
        "all",
        "none",
    )


def test_heavy_tails_may_make_any_rejection_dear() -> None:
    """With Student errors a far reading says little: at 30 to 1 no line in a fine grid beats accepting all."""
    population = Population(Process(0.03, 0.12), Law(0.05, 4), -0.2, 0.25)
    best = cheapest_guard(population, 1.0, 30.0)
    drawn = [expected_cost(population.risks(*population.guarded(g)), 1.0, 30.0) for g in np.linspace(-3, 0.2, 200)]
    assert best.accepts == "all"
    assert best.cost <= min(drawn)
    assert cheapest_guard(Population(population.process, Law(0.05), -0.2, 0.25), 1.0, 30.0).accepts == "some"


def test_quadrature_of_sharp_and_wide_edges() -> None:
    """Analytic: E[Phi(Z / w)] = 1/2 and E[Phi((Z - 1) / w)] = Phi(-1 / sqrt(1 + w^2)) for any width w of the edge."""
    for width in (1e-9, 1e-4, 0.1, 3.0):
        z, w = panels(1.0 + width * grades(30 / width), step=0.5)
        found = (w * stats.norm.pdf(z) * special.ndtr((z - 1) / width)).sum()
        assert found == pytest.approx(special.ndtr(-1 / math.hypot(1, width)), abs=1e-13)
    z, w = panels([], step=0.5)  # the twin: without panels at the edge it is wrong
    assert abs((w * stats.norm.pdf(z) * special.ndtr((z - 1.01) / 1e-4)).sum() - special.ndtr(-1.01)) > 1e-5
