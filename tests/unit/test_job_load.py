"""What loading makes of the tables: defaults, assumptions, priors, stations' own air. Expected values: analytic."""

import math

import numpy as np
import pytest
from job_folder import job_with

from trysquare.core.errors import FormatError
from trysquare.jobs.loading.load import examine, load
from trysquare.surroundings.atmosphere import standard_pressure

TOML = "job.toml"
AIR = (
    'temperature = { value = 21.0, u = 0.5 }\npressure = { value = "98.4 kPa", u = "50 Pa" }\n'
    "humidity = { value = 45, u = 10 }\nco2 = { value = 450, u = 50 }\n"
)


def test_the_customer_proves_non_conformity_unless_told_otherwise(tmp_path):
    """ISO 14253-1:2017: the party that proves has the uncertainty against it."""
    job = load(job_with(tmp_path, (TOML, '"supplier"', '"customer"')))
    assert (job.decision.who_proves, job.decision.prove) == ("customer", "non-conformity")
    told = (TOML, 'who_proves = "supplier"', 'who_proves = "customer"\nprove = "conformity"')
    assert load(job_with(tmp_path / "told", told)).decision.prove == "conformity"


def test_decision_has_defaults(tmp_path):
    job = load(job_with(tmp_path, (TOML, '[decision]\nwho_proves = "supplier"\nprobability = 0.95\n', "")))
    assert (job.decision.rule, job.decision.prove, job.decision.probability, job.decision.prior) == (
        "ISO 14253-1", "conformity", 0.95, None,
    )  # fmt: skip


def test_the_prior_of_the_decision_serves_lengths_that_name_none(tmp_path):
    prior = 'probability = 0.95\nprior = { mean = 0.01, sd = "30 um", from = "process history" }'
    job = load(job_with(tmp_path, (TOML, "probability = 0.95", prior)))
    assert [r.prior.origin if r.prior else None for r in job.requirements] == [
        "process history", "process history", "process history", "process history", "process history", None,
        "process history, 60 parts",
    ]  # fmt: skip
    assert (job.requirements[0].prior.mean, job.requirements[0].prior.sd) == (0.01, pytest.approx(0.03))


def test_the_prior_of_an_angle_is_an_angle(tmp_path):
    angle = 'angle = { nominal = "90 deg", lower = "-0.05 deg", upper = "0.05 deg" }'
    prior = '\n[requirement.prior]\nmean = 0\nsd = "0.01 deg"\nfrom = "history"'
    job = load(job_with(tmp_path, (TOML, angle, angle + prior)))
    assert job.requirements[5].prior.sd == pytest.approx(math.radians(0.01))
    with pytest.raises(FormatError, match=r"requirement \"6\": prior.sd must be an angle with its unit; got a length"):
        load(job_with(tmp_path / "bad", (TOML, angle, angle + prior.replace('"0.01 deg"', "0.01"))))


def test_missing_air_is_that_of_the_altitude(tmp_path):
    """ISO 2533 pressure at 250 m; without an altitude, the middle of 0 to 1000 m and its spread."""
    air = load(job_with(tmp_path, (TOML, AIR, ""))).place.air
    assert (air.temperature_degC, air.u_temperature, air.assumed) == (20.0, 5.0, True)
    assert (air.pressure_Pa, air.u_pressure) == (float(standard_pressure(250)), 1000.0)
    nowhere = load(job_with(tmp_path / "nowhere", (TOML, AIR, ""), (TOML, 'altitude = "250 m"\n', ""))).place.air
    low, high = float(standard_pressure(1000)), 101325.0
    assert nowhere.pressure_Pa == pytest.approx((low + high) / 2)
    assert nowhere.u_pressure == pytest.approx(math.hypot(1000, (high - low) / math.sqrt(12)))


def test_air_without_carbon_dioxide_is_no_assumed_air(tmp_path):
    found = examine(job_with(tmp_path, (TOML, "co2 = { value = 450, u = 50 }\n", "")))
    assert (found.job.place.air.assumed, found.job.place.air.u_co2) == (False, 100.0)
    assert "450 ppm with u = 100 ppm" in found.warnings[0].way_out


def test_a_station_may_have_air_of_its_own(tmp_path):
    own = '[station.air]\ntemperature = { value = "86 degF", u = 1 }\npressure = { value = "29.2 inHg", u = 50 }\n'
    own += 'humidity = { value = "60 %", u = 5 }\nco2 = { value = 500, u = 50 }\n'
    job = load(job_with(tmp_path, (TOML, "at = [-1500, -2000, 1200]\n", own)))
    first, second = (station.air for station in job.stations)
    assert first.temperature_degC == pytest.approx(30.0)
    assert first.pressure_Pa == pytest.approx(98882.5588, rel=1e-9)  # 29.2 x 3386.389
    assert (first.humidity_percent, second.temperature_degC) == (pytest.approx(60), 21.0)


def test_hand_tools_alone_need_no_air(tmp_path):
    text = (job_with(tmp_path) / TOML).read_text()
    start, stop = text.index("[[station]]"), text.index("[[hand]]")
    folder = job_with(tmp_path / "hand", (TOML, text[start:stop], ""), (TOML, AIR, ""))
    found = examine(folder)
    assert found.errors == ()
    assert {warning.where.partition(":")[0] for warning in found.warnings} == {TOML}
    assert not [warning for warning in found.warnings if warning.what == "the air"]


def test_an_expansion_of_ones_own_replaces_the_table(tmp_path):
    own = 'material = "our alloy"\nexpansion = { value = "12.1 ppm/K", u = "0.2 ppm/K" }'
    zone = load(job_with(tmp_path, (TOML, 'material = "aluminium 6061"', own))).zones["body"]
    assert (zone.alpha, zone.u_alpha) == (pytest.approx(12.1e-6), pytest.approx(0.2e-6))
    assert (zone.material, zone.alpha_origin) == ("our alloy", "declared in the job")


def test_directions_are_unit_vectors_and_read_only(tmp_path):
    job = load(job_with(tmp_path, (TOML, "normal = [-1, 0, 0]", "normal = [-3, 0, 0]")))
    nominal = job.features["left"].nominal
    assert nominal.direction.tolist() == [-1, 0, 0]
    for array in (nominal.direction, nominal.point_mm, job.stations[0].at_mm, job.zones["body"].gradient):
        assert not array.flags.writeable


def test_readings_may_lie_in_another_folder(tmp_path):
    folder = job_with(tmp_path)
    other = tmp_path / "tuesday"
    other.mkdir()
    for file in folder.glob("*.csv"):
        file.rename(other / file.name)
    job = load(folder, readings=other)
    assert [len(station.readings) for station in job.stations] == [22, 22]
    assert [source.file for source in job.inputs] == [
        "job.toml", "station-1.csv", "station-2.csv", "bores.csv", "calliper-1.toml", "widths.csv",
    ]  # fmt: skip
    with pytest.raises(FormatError, match="name a file that is there"):
        load(folder)


def test_loading_twice_gives_the_same(tmp_path):
    folder = job_with(tmp_path)
    one, two = load(folder), load(folder)
    assert one.inputs == two.inputs
    assert all(np.array_equal(a.readings.obs, b.readings.obs) for a, b in zip(one.stations, two.stations, strict=True))
