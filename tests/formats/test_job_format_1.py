"""A job folder of format 1, frozen: it must load for ever, to the same numbers.

Expected values: read off the files of tests/formats/job-1 by hand (analytic), units converted by their definitions.
"""

import hashlib
import math
from pathlib import Path

import numpy as np
import pytest

from trysquare.jobs.loading.load import load, problems

FOLDER = Path(__file__).parent / "job-1"
#: The frozen bytes: whoever changes a file of the folder breaks this on purpose.
FROZEN = {
    "job.toml": "01f273bca0505a0909599a082b5be9941ad1825b2a7095722eb5f1f53092c972",
    "calliper-1.toml": "a80c882b42f5a0e1f0cf991d000371a350e9aadd141f2ccc8009058cfbb79383",
    "station-1.csv": "5a5a510fcc6dbb11520eab85a7dce9b0dfb8e7a7df02e0c6314339f4c43b255a",
    "station-2.csv": "1c1d384b51050bf4ce4a009f5919e16191f1140a67e870d39ebd15153a061786",
    "bores.csv": "c1a952d1a4d22721d5e2ee8372a37252534c9ab36bc5a0d7a810f322214e627e",
    "widths.csv": "dea26584474c60e831d86c964cd6cd3f6ddfc524d98c9641e3b69fc6ada22aea",
}


@pytest.fixture(scope="module")
def job():
    return load(FOLDER)


def test_the_folder_is_frozen():
    assert {name: hashlib.sha256((FOLDER / name).read_bytes()).hexdigest() for name in FROZEN} == FROZEN


def test_it_has_no_problem():
    assert problems(FOLDER) == []


def test_inputs_carry_their_hashes(job):
    assert {source.file: source.sha256 for source in job.inputs} == FROZEN
    assert [source.bytes for source in job.inputs] == [(FOLDER / source.file).stat().st_size for source in job.inputs]


def test_head_and_part(job):
    assert (job.title, job.standard, job.seed, job.draws) == (
        "Bearing bracket, after milling", "ISO 8015:2011", 7, 1000,
    )  # fmt: skip
    assert (job.part.name, job.part.state, job.part.safety_critical) == ("Bearing bracket", "free", False)
    assert (job.decision.who_proves, job.decision.prove, job.decision.probability) == ("supplier", "conformity", 0.95)
    assert job.warnings == ()
    assert job.ties == ("T1", "T2", "T3", "T4")


def test_surroundings(job):
    zone = job.zones["body"]
    assert (zone.alpha, zone.temperature_degC, zone.u_temperature) == (pytest.approx(23.2e-6), 20.8, 0.3)
    assert zone.gradient == pytest.approx([0, 0, 0.0005])
    air = job.place.air
    assert (job.place.altitude_m, air.pressure_Pa, air.u_pressure) == (250.0, pytest.approx(98400.0), 50.0)
    assert (air.temperature_degC, air.humidity_percent, air.co2_ppm) == (21.0, pytest.approx(45), pytest.approx(450))
    assert not air.assumed


def test_drawing(job):
    assert {name: f.nominal.kind for name, f in job.features.items()} == {
        "top": "plane", "left": "plane", "front": "plane", "bore-1": "cylinder", "bore-2": "cylinder",
        "right": "plane",
    }  # fmt: skip
    assert job.datums == {"A": "top", "B": "left", "C": "front"}
    bore = job.features["bore-1"].nominal
    assert (bore.diameter_mm, bore.length_mm, bore.inside) == (50.0, 40.0, True)
    top = job.features["top"]
    assert (top.nominal.size_mm, top.form_expected_mm, top.form_wavelength_mm, top.zone) == (
        (400.0, 300.0), 0.02, 80.0, "body",
    )  # fmt: skip


def test_requirements(job):
    size, position, apart, corner = (job.requirements[i] for i in (1, 2, 3, 5))
    assert (size.nominal, size.lower, size.upper, size.operator) == (50, 50, pytest.approx(50.039), "two-point")
    assert (size.sheet, size.grid, size.critical, size.line) == ("1", "B3", True, 74)
    assert (position.lower, position.upper, position.nominal, position.diameter_zone) == (0.0, 0.1, None, True)
    assert position.datums == ("A", "B", "C")
    assert (apart.lower, apart.upper) == (pytest.approx(180 - 0.0508), pytest.approx(180 + 0.0508))
    assert corner.nominal == pytest.approx(math.pi / 2)
    assert corner.upper - corner.nominal == pytest.approx(0.05 * math.pi / 180)


def test_readings(job):
    first = job.stations[0].readings
    assert len(first) == 22
    assert first.obs[0] == pytest.approx([math.radians(37.593601), math.radians(-29.764188), 2397.1018], rel=1e-15)
    assert (first.ids[0], first.aims[0], first.on[0], first.lines[0]) == ("1:3", "T1/1", "T1", 3)
    assert first.face[:4].tolist() == [1, 2, 1, 2]
    assert first.polar
    assert set(first.targets) == {"ball-12"}
    assert job.targets["ball-12"].radius_mm == pytest.approx(6.35)


def test_hand_readings(job):
    hand, calliper = job.hand
    assert calliper.value_mm == pytest.approx([400.00936, 400.02968], rel=1e-12)
    assert calliper.lines.tolist() == [3, 4]
    assert hand.value_mm.tolist() == [50.013, 50.015, 50.018]
    assert hand.place == ("top", "top", "bottom")
    assert np.isnan(hand.temperature_degC).tolist() == [False, True, False]


def test_instruments(job):
    tracker, calliper = job.instruments["tracker-1"], job.instruments["calliper-1"]
    assert (calliper.class_name, calliper.serial, calliper.file) == ("calliper", "C-4", "calliper-1.toml")
    assert (tracker.class_name, tracker.serial, tracker.file) == ("laser tracker", "T-1", None)
    assert tracker.overrides["range_constant"] == {"u": "1 um", "origin": "certificate 118, 2026-02", "dof": 20}


def test_prior_and_nest(job):
    prior = job.requirements[6].prior
    assert (prior.mean, prior.sd, prior.origin) == (0.0, pytest.approx(0.04), "process history, 60 parts")
    assert [requirement.prior for requirement in job.requirements[:6]] == [None] * 6
    nest = job.nests["pin-8"]
    assert (nest.takes_mm, nest.height_mm, nest.u_height_mm) == (38.1, 25.0, pytest.approx(0.005))
