"""Do intervals hold the truth of simulated jobs? The whole chain over two stations, a small batch, seeded.

Nominal coverage 95 %; the band is the binomial one for the batch. Negative twin: the judging is told that every error
is new at each reading (scopes stripped) and that the ball is perfect, while the truth keeps them shared.
"""

import sys
from dataclasses import replace
from pathlib import Path

import pytest
from scipy.stats import binom

sys.path.insert(0, str(Path(__file__).parents[1] / "unit"))
from simulated_job import block, round_the_block

from trysquare.chance.smooth import smooth
from trysquare.chance.sources import Draws
from trysquare.jobs.chain import Chain
from trysquare.jobs.simulated.simulate import simulate
from trysquare.jobs.simulated.true_shape import Shape, Truth
from trysquare.jobs.simulated.true_values import true_values

DRAWS = 300
ASKED = ("size", "boss", "depth", "axes", "gauged")
#: Without form, so that every seed has one truth and every local size is the size.
SHAPES = {"bore": Shape(size_mm=0.02), "rear": Shape((0.0, 0.03, 0.0))}


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    return block(tmp_path_factory.mktemp("block"))


def held(planned, truths, *, stripped):
    """Share of the truths that each requirement's interval holds."""
    job, instruments = planned
    believed = {name: _stripped(tool) if stripped else tool for name, tool in instruments.items()}
    told = job
    if stripped:
        told = replace(job, targets={"ball": replace(job.targets["ball"], u_radius_mm=0.0)})
    true = true_values(job, Truth(0, SHAPES), round_the_block())
    count = dict.fromkeys(ASKED, 0)
    for seed in range(1000, 1000 + truths):
        taken = simulate(job, instruments, Truth(seed, SHAPES), round_the_block())
        chain = Chain(replace(told, stations=taken.stations, hand=taken.hand), believed)
        value, drawn = chain.run(), chain.run(Draws(job.seed, 0, DRAWS))
        for id_ in ASKED:
            low, high = smooth(float(value[id_].vectors[0][0]), drawn[id_].vectors[0][:, 0]).interval
            count[id_] += low <= true[id_].value <= high
    return {id_: n / truths for id_, n in count.items()}


def _stripped(tool):
    return replace(tool, parameters={k: replace(p, scope="reading") for k, p in tool.parameters.items()})


@pytest.mark.statistics
def test_intervals_hold_the_truth(planned):
    truths = 100
    low, high = (binom.ppf(p, truths, 0.95) / truths for p in (0.001, 0.999))
    shares = held(planned, truths, stripped=False)
    assert all(low <= share <= high for share in shares.values()), shares


@pytest.mark.statistics
def test_without_scopes_they_do_not(planned):
    shares = held(planned, 40, stripped=True)
    assert min(shares.values()) < 0.8, shares
