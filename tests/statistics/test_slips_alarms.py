"""Slips: no wolf cried over healthy simulated jobs, and a slip of 0.15 mm found in nearly every one.

Truth and readings from the same sources, with the doubt about each declared figure drawn anew in every truth (own
simulation, seeded). A good job is named in one of 1000 by the limit's own figure: of 60 none or one.
"""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "unit"))
from simulated_job import block, round_the_block

from trysquare.chance.outlying import disagreement
from trysquare.jobs.simulated.simulate import simulate
from trysquare.jobs.simulated.true_shape import Truth
from trysquare.jobs.slips import slips

TRUTHS = 60


@pytest.fixture(scope="module")
def taken(tmp_path_factory):
    job, instruments = block(tmp_path_factory.mktemp("block"))
    survey = round_the_block(faces=(1, 2))
    return instruments, [simulate(job, instruments, Truth(seed, {}), survey) for seed in range(500, 500 + TRUTHS)]


def slipped(job, row, mm):
    """The job with one reading of the first station too far by `mm`."""
    station = job.stations[0]
    obs = station.readings.obs.copy()
    obs[row, 2] += mm
    return replace(job, stations=(replace(station, readings=replace(station.readings, obs=obs)), *job.stations[1:]))


@pytest.mark.statistics
def test_healthy_jobs_say_nothing(taken):
    instruments, jobs = taken
    assert sum(bool(slips(job, instruments)) for job in jobs) <= 1


@pytest.mark.statistics
def test_a_slip_is_found_and_named(taken):
    """Negative twin."""
    instruments, jobs = taken
    found = 0
    for k, job in enumerate(jobs[:20]):
        row = 7 * k % len(job.stations[0].readings)
        line = int(job.stations[0].readings.lines[row])
        each = slips(slipped(job, row, 0.15), instruments)
        found += any(line in (s.line, *s.others) and s.gross for s in each)
        assert len(each) <= 1
    assert found >= 19


def test_readings_that_are_all_wrong_do_not_excuse_each_other():
    """Every pair 1 mm apart under errors of 2 um (analytic: some 350 standard uncertainties of a difference)."""
    rng = np.random.default_rng(8)
    group = np.repeat(np.arange(40), 2)
    values = rng.normal(0, 0.002, (80, 3)) + np.where(np.arange(80) % 2, 1.0, 0.0)[:, None] * [1, 0, 0]
    found = disagreement(values, values + rng.normal(0, 0.002, (300, 80, 3)), group, among=80)
    assert (found.times > 10 * found.limit).all()
    assert (found.times < 354 * 1.1).all()


def test_three_repeats_name_the_wrong_one():
    values = np.array([[0.0, 0, 0], [0.001, 0, 0], [0.1, 0, 0]])
    rng = np.random.default_rng(9)
    found = disagreement(values, values + rng.normal(0, 0.002, (300, 3, 3)), [4, 4, 4], among=3)
    assert int(np.argmax(found.times)) == 2
    assert found.off_mm[2, 0] == pytest.approx(0.0995)


def test_noise_of_all_readings_larger_than_declared_is_no_slip():
    """Twice the declared noise everywhere alike, as a declaration with 8 degrees of freedom allows; three times, where
    the declaration knows no doubt, is named (negative twin)."""
    rng = np.random.default_rng(10)
    group = np.repeat(np.arange(60), 2)
    values = rng.normal(0, 0.004, (120, 3))
    firm = rng.normal(0, 0.002, (300, 120, 3))
    doubtful = np.sqrt(8 / rng.chisquare(8, 300))[:, None, None] * firm
    by_doubtful = disagreement(values, values + doubtful, group, among=120)
    by_firm = disagreement(1.5 * values, 1.5 * values + firm, group, among=120)
    assert by_doubtful.times.max() < by_doubtful.limit
    assert by_firm.times.max() > by_firm.limit


def common_and_own(rng, n=40):
    """Pairs whose second readings share an error that turns with the row, of size 0.02; their own noise is 0.001."""
    wave = np.sin(np.arange(2 * n) / 7.0)[:, None] * np.where(np.arange(2 * n) % 2, 1.0, 0.0)[:, None] * [1.0, 0.5, 0.0]
    shared = 0.02 * rng.normal(size=(300, 1, 1)) * wave
    return wave, shared, rng.normal(0, 0.001, (300, 2 * n, 3)), np.repeat(np.arange(n), 2)


def test_a_slip_does_not_hide_behind_what_all_readings_have_in_common():
    rng = np.random.default_rng(11)
    wave, shared, own, group = common_and_own(rng)
    values = 0.04 * wave + rng.normal(0, 0.001, own.shape[1:])
    told = {"among": len(values)}
    healthy = disagreement(values, values + shared + own, group, common_mm=values + shared, **told)
    assert healthy.times.max() < healthy.limit
    values[22, 0] += 0.02
    blind = disagreement(values, values + shared + own, group, **told)
    seeing = disagreement(values, values + shared + own, group, common_mm=values + shared, **told)
    assert blind.times.max() < blind.limit
    assert (seeing.times > seeing.limit).nonzero()[0].tolist() == [22, 23]


def test_what_all_repeats_share_alike_drops_out():
    """Repeats in one face: errors that are the same in both leave no trace, and change nothing."""
    rng = np.random.default_rng(12)
    values, own = rng.normal(0, 0.002, (6, 3)), rng.normal(0, 0.002, (300, 6, 3))
    group = [0, 0, 1, 1, 2, 2]
    alone = disagreement(values, values + own, group, among=6)
    alike = rng.normal(0, 0.5, (300, 1, 3)) + np.zeros((1, 6, 1))
    for shared in (np.zeros((300, 6, 3)), alike):
        with_them = disagreement(values, values + own + shared, group, among=6, common_mm=values + shared)
        assert with_them.times == pytest.approx(alone.times, rel=1e-6)
