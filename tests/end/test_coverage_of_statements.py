"""Do the stated intervals hold the truth, from simulated readings through the whole chain to the statements?

A plate seen from one station: a size and a distance (smooth), positions of a ball and an axis and squareness of axes
(magnitudes), exactly perfect and not. Nominal coverage 95 %. Each requirement must lie within the binomial band of its
measurements (0.1 % either side), the position of an axis only above its lower end: of its two ends the worse counts,
each answers for its share of the doubt, and together they hold more than 95 %. All others together must lie within the
2.5 % band of one of them, which is wide for a mean of several. Negative twin: the truth errs twice as much as declared.
"""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binom

from trysquare.chance.sources import Draws
from trysquare.jobs.chain import Chain
from trysquare.jobs.instruments import instruments_of
from trysquare.jobs.loading.load import load
from trysquare.jobs.simulated.simulate import simulate
from trysquare.jobs.simulated.survey import Survey, Visit
from trysquare.jobs.simulated.true_shape import Shape, Truth
from trysquare.jobs.simulated.true_values import true_values
from trysquare.jobs.stating import state

pytestmark = pytest.mark.statistics
DRAWS, TRUTHS, TWINS = 300, 150, 40
TEXT = """
format = "trysquare-job/1"
title = "Plate"
units = "mm"
standard = "ISO 8015:2011"
seed = 3
[part]
name = "Plate"
[[part.zone]]
name = "plate"
material = "steel"
temperature = { value = 23, u = 0.5 }
anchor = [400, 0, 300]
[place]
name = "Hall"
[place.air]
temperature = { value = 23, u = 1 }
pressure = { value = "100 kPa", u = "100 Pa" }
humidity = { value = 45, u = 10 }
[target.ball]
diameter = 38.1
u_radius = "1.5 um"
centring = "2 um"
[instrument.tracker-1]
class = "laser tracker"
[feature.front]
plane = { point = [400, 0, 300], normal = [0, -1, 0], size = [800, 600], along = [1, 0, 0] }
[feature.first]
cylinder = { point = [100, 30, 100], axis = [0, 1, 0], diameter = 100, length = 60, inside = true }
[feature.second]
cylinder = { point = [700, 30, 500], axis = [0, 1, 0], diameter = 100, length = 60, inside = true }
[feature.third]
cylinder = { point = [400, 30, 300], axis = [0, 1, 0], diameter = 120, length = 60, inside = true }
[feature.fourth]
cylinder = { point = [200, 30, 500], axis = [0, 1, 0], diameter = 90, length = 60, inside = true }
[feature.ball]
sphere = { point = [600, -60, 150], diameter = 60, inside = false }
[feature.knob]
sphere = { point = [150, -60, 350], diameter = 60, inside = false }
[datum]
A = "front"
B = "first"
C = "second"
[[requirement]]
id = "size"
on = "third"
size = { nominal = 120, lower = 0, upper = 0.05, operator = "least-squares" }
[[requirement]]
id = "apart"
on = ["first", "second"]
distance = { nominal = 721.1103, lower = -0.1, upper = 0.1 }
[[requirement]]
id = "exact place"
on = "ball"
position = { zone = "diameter 0.2", datums = ["A", "B", "C"] }
[[requirement]]
id = "place"
on = "knob"
position = { zone = "diameter 0.2", datums = ["A", "B", "C"] }
[[requirement]]
id = "axis"
on = "fourth"
position = { zone = "diameter 0.2", datums = ["A", "B", "C"] }
[[requirement]]
id = "exact square"
on = "third"
perpendicularity = { zone = "diameter 0.05", datums = ["A"] }
[[requirement]]
id = "square"
on = "second"
perpendicularity = { zone = "diameter 0.05", datums = ["A"] }
[[station]]
name = "1"
instrument = "tracker-1"
at = [300, -3000, 900]
"""
SHAPES = {
    "second": Shape(turn_rad=(2e-4, 0.0, 0.0)), "third": Shape(size_mm=0.02), "fourth": Shape((0.01, 0.0, -0.015)),
    "knob": Shape((0.02, 0.0, 0.01)),
}  # fmt: skip
FEATURES = ("front", "first", "second", "third", "fourth", "ball", "knob")
SURVEY = Survey(tuple(Visit("1", name, "ball", count=8) for name in FEATURES))


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    folder = tmp_path_factory.mktemp("plate")
    (folder / "job.toml").write_text(TEXT, encoding="utf-8")
    job = load(folder, measured=False)
    return job, instruments_of(job)


def held(planned, truths, *, errs=1.0):
    """Share of the truths that each requirement's interval holds; true errors are `errs` times what is declared."""
    job, instruments = planned
    erring, tools = louder(job, instruments, errs)
    true = true_values(job, Truth(0, SHAPES), SURVEY)
    count = dict.fromkeys(true, 0)
    for seed in range(5000, 5000 + truths):
        taken = simulate(erring, tools, Truth(seed, SHAPES), SURVEY)
        chain = Chain(replace(job, stations=taken.stations), instruments)
        value, drawn = chain.run(), chain.run(Draws(job.seed, 0, DRAWS))
        for requirement in job.requirements:
            stated = state(requirement, value[requirement.id], drawn[requirement.id], job.seed)
            assert stated.kind == ("smooth" if requirement.id in ("size", "apart") else "magnitude")
            count[requirement.id] += stated.interval[0] <= true[requirement.id].value <= stated.interval[1]
    return {id_: n / truths for id_, n in count.items()}


def louder(job, instruments, factor):
    """The same job with every error of instruments and balls `factor` times its size."""
    tools = {
        name: replace(tool, parameters={key: replace(p, u=factor * p.u) for key, p in tool.parameters.items()})
        for name, tool in instruments.items()
    }
    balls = {
        name: replace(t, u_radius_mm=factor * t.u_radius_mm, centring_mm=factor * t.centring_mm)
        for name, t in job.targets.items()
    }
    return replace(job, targets=balls), tools


def test_the_truths_are_what_they_were_made(planned):
    """Analytic: a shift counts twice in a position, a turn over the length of the bore in squareness."""
    job, _ = planned
    true = true_values(job, Truth(0, SHAPES), SURVEY)
    expected = {
        "size": 120.02, "apart": np.hypot(600, 400), "exact place": 0.0, "place": 2 * np.hypot(0.02, 0.01),
        "axis": 2 * np.hypot(0.01, 0.015), "exact square": 0.0, "square": 2e-4 * 60,
    }  # fmt: skip
    for id_, value in expected.items():
        assert true[id_].value == pytest.approx(value, abs=1e-4), id_


def test_smooth_and_magnitude_intervals_hold_the_truth(planned):
    shares = held(planned, TRUTHS)
    low, high = binom.ppf([0.001, 0.999], TRUTHS, 0.95) / TRUTHS
    assert shares.pop("axis") >= low
    assert all(low <= share <= high for share in shares.values()), shares
    low, high = binom.ppf([0.025, 0.975], TRUTHS, 0.95) / TRUTHS
    assert low <= np.mean(list(shares.values())) <= high, shares


def test_a_truth_that_errs_twice_as_much_is_noticed(planned):
    shares = held(planned, TWINS, errs=2.0)
    assert np.mean([shares[id_] for id_ in ("size", "apart")]) < 0.85, shares
    assert np.mean([shares[id_] for id_ in ("exact place", "place", "exact square", "square")]) < 0.85, shares
