"""Simulated measurements: without errors the chain returns the truth; with them, one realisation of its sources.

Expected values: analytic (the truth that went in) unless a test says otherwise.
"""

from dataclasses import replace

import numpy as np
import pytest
from simulated_job import TIES, block, round_the_block

from trysquare.chance.sources import Draws
from trysquare.core.errors import InputError
from trysquare.geometry import flatness
from trysquare.instruments.hand import HandTool
from trysquare.jobs.chain import Chain
from trysquare.jobs.simulated.simulate import simulate
from trysquare.jobs.simulated.simulate_hand import display_step
from trysquare.jobs.simulated.survey import Survey, Visit, default_survey, touched
from trysquare.jobs.simulated.true_shape import Shape, TrueFeature, Truth
from trysquare.jobs.simulated.true_values import single, true_values
from trysquare.tolerances.features import associate

CROOKED = {
    "rear": Shape((0.0, 0.03, 0.0), (4e-5, 0.0, 0.0)),
    "side": Shape(turn_rad=(0.0, 0.0, 5e-5)),
    "bore": Shape((0.0, 0.0, 0.0), (3e-4, 0.0, 0.0), 0.02),
    "boss": Shape((0.1, 0.0, -0.1), (0.0, 0.0, 1e-4), -0.03),
    "hole": Shape((0.04, 0.0, -0.03), (0.0, 0.0, 0.0), 0.01),
}


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    return block(tmp_path_factory.mktemp("block"))


def measured(planned, truth, survey=None, *, exact=False):
    job, instruments = planned
    return Chain(simulate(job, instruments, truth, survey or round_the_block(), exact=exact), instruments)


def values(chain):
    return {id_: np.atleast_1d(single(m) if m.kind != "smooth" else m.vectors[0]) for id_, m in chain.run().items()}


def test_a_perfect_part_measured_without_errors_is_nominal(planned):
    job, _ = planned
    found = values(measured(planned, Truth(99), exact=True))
    assert found.keys() == {r.id for r in job.requirements}
    for requirement in job.requirements:
        nominal = 0.0 if requirement.nominal is None else requirement.nominal
        if requirement.id == "axes":
            nominal = np.hypot(300.0, 150.0)
        np.testing.assert_allclose(found[requirement.id], nominal, atol=1e-6, err_msg=requirement.id)


def test_a_crooked_part_measured_without_errors_gives_its_truth(planned):
    job, _ = planned
    truth = Truth(99, CROOKED)
    true = true_values(job, truth, round_the_block())
    found = values(measured(planned, truth, exact=True))
    for id_ in found.keys() - {"gauged", "local", "parallel", "square", "flat"}:
        np.testing.assert_allclose(found[id_], true[id_].value, atol=2e-6, err_msg=id_)
    assert (
        true["gauged"].value in found["gauged"].round(9) or np.abs(found["gauged"] - true["gauged"].value).min() < 1e-6
    )


def test_the_truth_of_a_crooked_part(planned):
    """Analytic: a turn times an extent, twice an offset, a size as made."""
    job, _ = planned
    true = true_values(job, Truth(99, CROOKED), round_the_block())
    expected = {
        "size": 120.02, "boss": 89.97, "local": 80.01, "depth": 400.03, "parallel": 4e-5 * 600, "square": 5e-5 * 400,
        "axis": 3e-4 * 60, "flat": 0.0, "position": 2 * 0.05, "span": 400.03, "angle": np.pi / 2 - 5e-5,
    }  # fmt: skip
    for id_, value in expected.items():
        assert true[id_].value == pytest.approx(value, abs=2e-5), id_
    assert true["size"].conforms
    assert not true_values(job, Truth(99, {"bore": Shape(size_mm=0.06)}), round_the_block())["size"].conforms


def test_the_round_trip_can_fail(planned):
    """Negative twin: a chain that is told another ball misses the size by twice the difference."""
    job, instruments = planned
    taken = simulate(job, instruments, Truth(99), round_the_block(), exact=True)
    ball = replace(job.targets["ball"], radius_mm=job.targets["ball"].radius_mm + 0.01)
    found = values(Chain(replace(taken, targets={"ball": ball}), instruments))
    assert found["size"] == pytest.approx(120.02, abs=1e-4)


def test_the_warm_part_is_larger_than_the_drawing(planned):
    """Negative twin of the correction to 20 degC: without it the depth is off by alpha (T - 20) L, about."""
    job, instruments = planned
    taken = simulate(job, instruments, Truth(99), round_the_block(), exact=True)
    cold = replace(job.zones["body"], temperature_degC=20.0, gradient=np.zeros(3))
    found = values(Chain(replace(taken, zones={"body": cold}), instruments))
    assert found["depth"] - 400.0 == pytest.approx(400 * 10.5e-6 * (5.5 + 0.45), rel=0.02)


def test_true_errors_are_one_realisation_of_the_sources(planned):
    """Independent of the chain: the readings less the exact ones are the instrument's own errors under that seed."""
    job, instruments = planned
    ball = replace(job.targets["ball"], centring_mm=0.0)
    planned = job, instruments = replace(job, targets={"ball": ball}), instruments
    truth = Truth(1234)
    exact = simulate(job, instruments, truth, round_the_block(), exact=True).stations[0].readings
    erring = simulate(job, instruments, truth, round_the_block()).stations[0].readings
    tie = [i for i, on in enumerate(exact.on) if on in TIES]  # nothing but instrument and air acts on these
    chain = measured(planned, truth, exact=True)
    expected = instruments["tracker-1"].errors(chain.points.setups[0].sighting, Draws(1234, 0, 1))[0]
    difference = erring.obs - exact.obs
    np.testing.assert_allclose(difference[tie, :2], expected[tie, :2], atol=1e-13)
    air = difference[tie, 2] - expected[tie, 2]
    np.testing.assert_allclose(air / exact.obs[tie, 2], (air / exact.obs[tie, 2])[0], rtol=1e-4)
    assert np.abs(expected[tie]).max(axis=0).min() > 0


def test_the_seed_alone_decides(planned):
    once, again, other = (measured(planned, Truth(seed)).job.stations[1].readings.obs for seed in (3, 3, 4))
    np.testing.assert_array_equal(once, again)
    assert np.abs(once - other)[:, 2].min() > 0


def test_the_seed_of_the_judging_is_refused(planned):
    job, instruments = planned
    with pytest.raises(InputError, match="differ from the seed of the judging"):
        simulate(job, instruments, Truth(job.seed), round_the_block())


@pytest.mark.parametrize(
    ("truth", "survey", "found"),
    [
        (Truth(99, {"nose": Shape()}), round_the_block(), "nose"),
        (Truth(99), Survey((Visit("3", "front", "ball"),)), '"3"'),
        (Truth(99), Survey((Visit("1", "nose", "ball"),)), "nose"),
        (Truth(99), replace(round_the_block(), ties_mm={}), '"T1"'),
    ],
)
def test_names_that_are_not_there_are_refused(planned, truth, survey, found):
    job, instruments = planned
    with pytest.raises(InputError, match=found):
        simulate(job, instruments, truth, survey)


def test_stations_stand_as_they_fall(planned):
    """The chain is told neither heading nor place: it finds both."""
    chain = measured(planned, Truth(99), exact=True)
    for name, at in chain.points.station_positions().items():
        place = next(s.at_mm for s in chain.job.stations if s.name == name)
        np.testing.assert_allclose(at, place, atol=0.15)  # its frame is placed on the warm part
    others = [measured(planned, Truth(seed), exact=True).job.stations for seed in (1, 2)]
    headings = [station.readings.obs[0, 0] for stations in others for station in stations]
    assert len(np.unique(np.round(headings, 3))) == 4


def test_both_faces_of_an_aim_meet_one_spot(planned):
    chain = measured(planned, Truth(99), round_the_block(faces=(1, 2)), exact=True)
    readings = chain.job.stations[0].readings
    assert set(readings.face) == {1, 2}
    np.testing.assert_allclose(readings.obs[readings.face == 1], readings.obs[readings.face == 2], atol=1e-9)


def test_a_display_shows_whole_steps(planned):
    job, instruments = planned
    gauge = next(h for h in simulate(job, instruments, Truth(5), round_the_block()).hand if h.instrument == "gauge-1")
    tool = instruments["gauge-1"]
    assert isinstance(tool, HandTool)
    assert display_step(tool) == pytest.approx(0.001)
    np.testing.assert_allclose(gauge.value_mm / 0.001, np.round(gauge.value_mm / 0.001), atol=1e-6)


def test_form_has_the_height_asked_for_and_leaves_the_feature_in_place(planned):
    job, _ = planned
    for name, height in (("front", 0.04), ("bore", 0.01), ("ball", 0.02)):
        nominal = job.features[name].nominal
        dense = TrueFeature(name, nominal, Shape(form_mm=height, wavelength_mm=150.0), Draws(4, 0, 1)).dense()
        assert np.ptp(nominal.distance(dense)) == pytest.approx(height, rel=1e-9)
        fitted = associate(dense, nominal, where=name)
        np.testing.assert_allclose(fitted.representative(), nominal.point_mm, atol=1e-6)
        if fitted.radius_mm is not None:
            assert 2 * fitted.radius_mm == pytest.approx(nominal.diameter_mm, abs=1e-5)
    front = TrueFeature(
        "front", job.features["front"].nominal, Shape(form_mm=0.04, wavelength_mm=150.0), Draws(4, 0, 1)
    )
    assert 0.03 < float(flatness(front.dense())) <= 0.04  # the smallest zone may lie better than the mean plane


def test_the_default_survey_takes_the_station_that_a_feature_faces(planned):
    job, _ = planned
    survey = default_survey(job)
    seen = {visit.on: visit.station for visit in survey.visits}
    assert seen["front"] == "1"
    assert seen["rear"] == "2"
    assert survey.ties_mm.keys() == set(job.ties)
    assert all(visit.target == "ball" for visit in survey.visits)
    found = values(measured((job, planned[1]), Truth(99), survey, exact=True))
    assert found["depth"] == pytest.approx(400.0, abs=1e-6)


def test_points_of_a_feature_can_be_shared_between_stations(planned):
    job, _ = planned
    visits = tuple(Visit(s, "front", "ball", count=10, rows=(i, 2)) for i, s in enumerate(("1", "2")))
    rows = touched(job, replace(round_the_block(), visits=visits))
    labels = [[p for on, p in zip(r.on, r.labels, strict=True) if on == "front"] for r in rows]
    assert labels == [["p1", "p3", "p5", "p7", "p9"], ["p2", "p4", "p6", "p8", "p10"]]
