"""`trysquare air`: the JSON that others rely on, the text, the errors."""

import json
import math

import pytest

from trysquare.cli.main import main


def _json(capsys, *arguments: str) -> dict:
    assert main(["air", *arguments, "--json"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return json.loads(out)


def _error(capsys, *arguments: str) -> dict:
    assert main(["air", *arguments, "--json"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    return json.loads(err)["error"]


def test_keys_and_a_published_value(capsys):
    """Published: 40 degC, 75 %, 120 kPa, 633 nm (Stone and Zimmerman, NIST): 1.000299418."""
    answer = _json(capsys, "--t", "40", "--p", "120000", "--rh", "75", "--co2", "450", "--wavelength", "633")
    assert {"n", "refractivity", "method", "u", "sensitivity"} <= set(answer)
    assert set(answer["sensitivity"]) == {"per_K", "per_Pa", "per_percent_rh"}
    assert answer["method"] == "Ciddor"
    assert abs(answer["n"] - 1.000299418) < 5.5e-10
    assert math.isclose(answer["refractivity"], answer["n"] - 1, rel_tol=1e-11)
    assert 1e-8 < answer["u"] < 1e-7
    assert answer["sensitivity"]["per_K"] < 0 < answer["sensitivity"]["per_Pa"]
    assert answer["sensitivity"]["per_percent_rh"] < 0
    assert "correction_mm" not in answer


def test_units_make_no_difference(capsys):
    plain = _json(capsys, "--t", "20", "--p", "101325", "--rh", "50", "--wavelength", "633")
    other = _json(capsys, "--t", "68 degF", "--p", "101.325 kPa", "--rh", "50 %", "--wavelength", "0.633 um")
    assert math.isclose(plain["refractivity"], other["refractivity"], rel_tol=1e-12)


def test_vapour_pressure_instead_of_humidity(capsys):
    """Published (IAPWS-IF97): saturation at 20 degC is 2339.2 Pa."""
    by_rh = _json(capsys, "--t", "20", "--p", "101325", "--rh", "50")
    by_vapour = _json(capsys, "--t", "20", "--p", "101325", "--vapour-pressure", "1169.6")
    assert abs(by_rh["refractivity"] - by_vapour["refractivity"]) < 5e-11
    assert _json(capsys, "--t", "20", "--p", "101325")["refractivity"] > by_rh["refractivity"]  # dry by default


def test_group_and_method(capsys):
    air = ["--t", "20", "--p", "101325", "--wavelength", "780"]
    phase, group = _json(capsys, *air), _json(capsys, *air, "--group")
    assert 4e-6 < group["refractivity"] - phase["refractivity"] < 6e-6
    edlen = _json(capsys, *air, "--method", "Edlen")
    assert edlen["method"] == "Edlen"
    assert 0 < abs(edlen["refractivity"] - phase["refractivity"]) < 2e-8


def test_distance(capsys):
    answer = _json(capsys, "--t", "20", "--p", "101325", "--distance", "10 m", "--u-t", "0.5")
    assert math.isclose(answer["correction_mm"], 10_000 / answer["n"] - 10_000, rel_tol=1e-9)
    assert math.isclose(answer["u_correction_mm"], 10_000 * answer["u"], rel_tol=1e-9)


def test_uncertainty_of_the_inputs_comes_in(capsys):
    air = ["--t", "24", "--p", "98.4 kPa", "--rh", "45"]
    formula = _json(capsys, *air)
    answer = _json(capsys, *air, "--u-t", "0.5", "--u-p", "50", "--u-rh", "10", "--u-co2", "50")
    assert formula["u"] == formula["u_formula"]
    s = answer["sensitivity"]
    parts = [s["per_K"] * 0.5, s["per_Pa"] * 50, s["per_percent_rh"] * 10, 1.4e-10 * 50, answer["u_formula"]]
    assert math.isclose(answer["u"], math.hypot(*parts), rel_tol=1e-2)


def test_text_fits_a_terminal(capsys):
    arguments = ["air", "--t", "45", "--p", "101.3 kPa", "--rh", "50", "--distance", "12500"]
    assert main(arguments) == 0
    out, _ = capsys.readouterr()
    assert max(len(line) for line in out.splitlines()) <= 80
    assert "1.000" in out
    assert "Note: temperature outside 0 to 40 degC" in out


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["--t", "20"], "--p"),
        (["--t", "20", "--p", "1013"], "pressure"),
        (["--t", "20", "--p", "101,3 kPa"], "decimal"),
        (["--t", "20", "--p", "101.3 kpa"], "kPa"),
        (["--t", "20", "--p", "101325", "--rh", "140"], "humidity"),
        (["--t", "20", "--p", "101325", "--rh", "40", "--vapour-pressure", "900"], "not allowed"),
        (["--t", "20", "--p", "101325", "--vapour-pressure", "900", "--u-rh", "5"], "--u-vapour-pressure"),
        (["--t", "20", "--p", "101325", "--wavelenght", "633"], "--wavelength"),
        (["--t", "warm", "--p", "101325"], "--t"),
        (["--t", "20", "--p", "101325", "--method", "Owens"], "Ciddor"),
    ],
)
def test_bad_input_has_place_rule_found_and_way_out(capsys, arguments, word):
    error = _error(capsys, *arguments)
    assert set(error) == {"where", "what", "rule", "found", "way_out"}
    assert word in " ".join(error.values())
    assert all(error.values())
