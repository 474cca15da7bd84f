"""Any crooked part, measured without errors from any two stations, comes back as it is. Expected: the truth put in."""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parents[1] / "unit"))
from simulated_job import block, round_the_block

from trysquare.jobs.chain import Chain
from trysquare.jobs.simulated.simulate import simulate
from trysquare.jobs.simulated.true_shape import Shape, Truth

offset = st.floats(-0.2, 0.2)
turn = st.floats(-3e-4, 3e-4)


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    return block(tmp_path_factory.mktemp("block"))


@settings(derandomize=True, max_examples=15, deadline=None)
@given(seed=st.integers(0, 10**6).filter(lambda seed: seed != 7), size=offset, shift=offset, lean=turn,
       x=st.floats(-800, 1800), y=st.floats(-6000, -1500), z=st.floats(-500, 3000))  # fmt: skip
def test_what_goes_in_comes_out(planned, seed, size, shift, lean, x, y, z):
    job, instruments = planned
    shapes = {
        "bore": Shape((0.0, 0.0, 0.0), (lean, 0.0, 0.0), size),
        "boss": Shape((shift, 0.0, -shift), (0.0, 0.0, 0.0), -size),
        "rear": Shape((0.0, shift, 0.0)),
    }
    moved = replace(job.stations[0], at_mm=np.array([x, y, z]))
    moved = replace(job, stations=(moved, job.stations[1]))
    taken = simulate(moved, instruments, Truth(seed, shapes), round_the_block(), exact=True)
    found = Chain(taken, instruments).run()
    assert found["size"].vectors[0][0] == pytest.approx(120.0 + size, abs=1e-6)
    assert found["boss"].vectors[0][0] == pytest.approx(90.0 - size, abs=1e-6)
    assert found["depth"].vectors[0][0] == pytest.approx(400.0 + shift, abs=1e-5)  # along a normal that placing leans
    axis = np.linalg.norm(found["axis"].vectors[0])
    assert axis == pytest.approx(abs(np.tan(lean)) * 60.0, abs=1e-6)
