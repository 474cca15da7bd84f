"""Set-ups: an arm reaches what it touches and shares nests with its neighbour; trackers stand where the job says."""

import numpy as np
import pytest
from choose_jobs import BAR, block_job, job_of

from trysquare.choose.arm_places import NESTS, arm_places
from trysquare.choose.case import case_of
from trysquare.choose.conditions import Conditions, touches_of
from trysquare.choose.places import nearer_by
from trysquare.instruments.arm import SHOULDER_MM
from trysquare.instruments.catalogue import classes

_ARM = classes()["articulated arm"]


@pytest.fixture(scope="module")
def block(tmp_path_factory):
    return block_job(tmp_path_factory.mktemp("block"))


@pytest.fixture(scope="module")
def bar(tmp_path_factory):
    return job_of(BAR, tmp_path_factory.mktemp("bar"))


@pytest.fixture(scope="module")
def places(block):
    seen = {name: touches_of(f, _ARM, Conditions()) for name, f in block.features.items()}
    return seen, arm_places(seen, least_mm=_ARM.least_mm, reach_mm=_ARM.reach_mm, shoulder_mm=SHOULDER_MM)


def test_every_point_is_within_reach_of_its_set_up(places):
    seen, found = places
    for name, touches in seen.items():
        assert (found.by[name] >= 0).all()
        d = np.linalg.norm(found.shoulders_mm[found.by[name]] - touches.points_mm, axis=-1)
        assert (d < _ARM.reach_mm).all()
        assert (d > _ARM.least_mm).all()


def test_set_ups_hang_together_by_nests_that_both_reach(places):
    _, found = places
    together = {0}
    for k, nests in enumerate(found.nests):
        d = np.linalg.norm(np.array(list(nests.values())) - found.shoulders_mm[k], axis=-1)
        assert (d < _ARM.reach_mm).all()
        assert (d > _ARM.least_mm).all()
    for _ in found.nests:
        for k, nests in enumerate(found.nests):
            for other in list(together):
                shared = set(nests) & set(found.nests[other])
                if len(shared) == NESTS:
                    together.add(k)
                    spread = np.linalg.svd(np.ptp([nests[n] - nests[min(shared)] for n in shared], axis=0)[None])[1]
                    assert spread[0] > 200.0
    assert together == set(range(len(found.nests)))


def test_a_small_part_takes_one_set_up_and_a_far_feature_is_out_of_reach(block):
    one = {"bore": touches_of(block.features["bore"], _ARM, Conditions())}
    found = arm_places(one, least_mm=250.0, reach_mm=1200.0, shoulder_mm=SHOULDER_MM)
    assert len(found.shoulders_mm) == 1
    assert found.nests == ({},)
    short = arm_places(one, least_mm=60.0, reach_mm=70.0, shoulder_mm=SHOULDER_MM)  # cannot even span the bore
    assert (short.by["bore"] < 0).any()


def test_trackers_stand_at_the_stations_of_the_job(block):
    tracker = classes()["laser tracker"]
    case = case_of(block, tracker, known=classes())
    assert [list(s.at_mm) for s in case.job.stations] == [[200, -2600, 900], [900, 3000, 900]]
    assert set(case.job.ties) == set(block.ties)
    middle = np.array([500.0, 200.0, 300.0])
    near = case_of(block, tracker, Conditions(nearer=0.5, faces=(1, 2)), known=classes())
    for a, b in zip(case.job.stations, near.job.stations):
        ratio = np.linalg.norm(b.at_mm - middle) / np.linalg.norm(a.at_mm - middle)
        assert ratio == pytest.approx(0.5, abs=0.05)
        assert len(b.readings) == 2 * len(a.readings) - len(block.ties) * 2  # ties are read in both faces already


def test_without_a_tracker_in_the_job_two_are_set_up_and_tied(bar):
    case = case_of(bar, classes()["laser tracker"], known=classes())
    assert len(case.job.stations) == 2
    assert len(case.job.ties) == 6
    assert "opposite corners" in case.how
    assert [s.instrument for s in case.job.stations] == ["laser tracker"] * 2


def test_stations_come_no_nearer_than_three_metres():
    assert nearer_by(3.5, 3.0) == 1.0
    assert nearer_by(4.0, 3.0) == pytest.approx(0.75)
    assert nearer_by(20.0, 3.0) == 0.5
    assert nearer_by(8.0, 7.0) == 1.0  # a large part: half-way would be inside it


def test_scanners_read_more_places_and_a_laboratory_is_at_twenty_degrees(bar):
    scan = case_of(bar, classes()["hand-held scanner"], known=classes())
    touch = case_of(bar, classes()["tracked probe"], known=classes())
    assert len(scan.job.stations[0].readings) == 2 * len(touch.job.stations[0].readings)
    lab = case_of(bar, classes()["lab measuring machine"], known=classes())
    assert lab.job.zones["bar"].temperature_degC == 20.0
    assert lab.job.zones["bar"].u_temperature == pytest.approx(0.2 / np.sqrt(3))
    assert touch.job.zones["bar"].u_temperature == 0.3
