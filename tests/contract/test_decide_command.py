"""The command `decide`: keys, JSON, lists, exit codes, the shape of errors."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from trysquare.cli.main import main

ALWAYS = {
    "verdict", "proven", "side", "text", "rule", "interval_mm", "coverage", "guard_mm", "acceptance_mm", "accepts",
    "consumer_risk", "producer_risk", "risk_kind", "risk_basis",
}  # fmt: skip
GLOBAL = ALWAYS | {"conforming_fraction", "accepted_fraction"}
VALUE = ["--value", "9.9", "--u", "0.1", "--lower", "9", "--upper", "10"]
PROCESS = ["--process-mean", "25.001", "--process-sd", "0.004", "--u", "0.002", "--lower", "24.99", "--upper", "25.01"]
LOGNORMAL = [
    "--process-distribution",
    "lognormal",
    "--process-median",
    "0.02",
    "--process-log-sd",
    "0.5",
    "--u",
    "0.002",
    "--upper",
    "0.05",
]


def call(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(["decide", *words])
    out, err = capsys.readouterr()
    return code, out, err


def document(capsys: pytest.CaptureFixture[str], *words: str) -> dict:
    code, out, err = call(capsys, *words, "--json")
    assert (code, err) == (0, "")
    assert out.count("\n") == 1
    return json.loads(out)


def error(capsys: pytest.CaptureFixture[str], *words: str) -> dict:
    code, out, err = call(capsys, *words, "--json")
    assert (code, out) == (2, "")
    found = json.loads(err)
    assert set(found) == {"error"}
    assert set(found["error"]) == {"where", "what", "rule", "found", "way_out"}
    assert all(isinstance(text, str) and text for text in found["error"].values())
    return found["error"]


def test_keys_of_a_value(capsys: pytest.CaptureFixture[str]) -> None:
    found = document(capsys, *VALUE)
    assert set(found) == ALWAYS
    assert found["verdict"] == "undecided"
    assert found["interval_mm"] == pytest.approx([9.9 - 0.1959964, 9.9 + 0.1959964])
    assert found["guard_mm"] == pytest.approx([0.1644854, 0.1644854])
    assert found["acceptance_mm"] == pytest.approx([9.1644854, 9.8355146])
    assert (found["consumer_risk"], found["producer_risk"]) == pytest.approx((0.1586553, 0.8413447))
    assert (found["risk_kind"], found["coverage"], found["side"]) == ("specific", 0.95, 1)


@pytest.mark.parametrize(
    ("words", "p", "prior"),
    [
        (["--prior", "flat"], 0.8413447, "flat"),
        (["--prior-mean", "9.5", "--prior-sd", "0.2"], 0.9779143, "normal, mean 9.5 mm, sd 0.2 mm"),
    ],
)
def test_a_probability_comes_with_its_prior(
    capsys: pytest.CaptureFixture[str], words: list[str], p: float, prior: str
) -> None:
    """Expected: analytic (Phi(1); Phi of the conjugate mean 9.82, sd 0.0894427 less the other tail)."""
    found = document(capsys, *VALUE, *words)
    assert set(found) == ALWAYS | {"p_conform"}
    assert found["p_conform"] == {"value": pytest.approx(p, abs=1e-7), "prior": prior}
    assert found["consumer_risk"] == pytest.approx(1 - p, abs=1e-7)


def test_one_limit_has_null_at_the_other(capsys: pytest.CaptureFixture[str]) -> None:
    found = document(capsys, "--value", "9.9", "--u", "0.1", "--upper", "10", "--df", "4", "--probability", "0.99")
    assert found["guard_mm"] == [None, pytest.approx(0.3746947, abs=1e-7)]  # t(4) at 99 %: 3.747, any table
    assert found["acceptance_mm"][0] is None
    assert found["coverage"] == 0.99


def test_no_value_can_be_accepted(capsys: pytest.CaptureFixture[str]) -> None:
    found = document(capsys, "--value", "10", "--u", "0.1", "--lower", "9.9", "--upper", "10.1")
    assert (found["guard_mm"], found["acceptance_mm"]) == ([None, None], [None, None])
    assert (found["accepts"], found["verdict"]) == ("none", "undecided")


def test_who_proves(capsys: pytest.CaptureFixture[str]) -> None:
    found = document(capsys, *VALUE, "--prove", "non-conformity")
    assert (found["verdict"], found["proven"]) == ("accept", None)
    assert found["guard_mm"] == pytest.approx([-0.1644854, -0.1644854])


def test_keys_of_a_process(capsys: pytest.CaptureFixture[str]) -> None:
    found = document(capsys, *PROCESS, "--acceptance-lower", "24.992", "--acceptance-upper", "25.008")
    assert set(found) == GLOBAL
    assert (found["verdict"], found["interval_mm"], found["risk_kind"]) == (None, None, "global")
    assert found["guard_mm"] == pytest.approx([0.002, 0.002])
    assert found["acceptance_mm"] == [24.992, 25.008]
    assert 0 < found["consumer_risk"] < 1 - found["conforming_fraction"]


@pytest.mark.parametrize(
    ("value", "verdict", "side"), [("24.9915", "reject", -1), ("24.993", "accept", 0), ("25.0085", "reject", 1)]
)
def test_a_value_is_judged_by_the_acceptance_limits_given(
    capsys: pytest.CaptureFixture[str], value: str, verdict: str, side: int
) -> None:
    agreed = ("--acceptance-lower", "24.992", "--acceptance-upper", "25.008")
    found = document(capsys, *PROCESS, *agreed, "--value", value)
    assert (found["verdict"], found["side"], found["risk_kind"]) == (verdict, side, "global")


def test_target_and_costs(capsys: pytest.CaptureFixture[str]) -> None:
    found = document(capsys, *PROCESS, "--target-consumer-risk", "0.0005")
    assert found["consumer_risk"] == pytest.approx(0.0005, abs=1e-9)
    assert found["guard_mm"][0] == found["guard_mm"][1] > 0
    costs = ("--cost-wrong-accept", "100", "--cost-wrong-reject", "1")
    cheap = document(capsys, *PROCESS, *costs)
    assert set(cheap) == GLOBAL | {"expected_cost"}
    assert cheap["expected_cost"] == pytest.approx(100 * cheap["consumer_risk"] + cheap["producer_risk"])
    fixed = document(capsys, *PROCESS, *costs, "--acceptance-lower", "24.992", "--acceptance-upper", "25.008")
    assert fixed["expected_cost"] > cheap["expected_cost"]


def test_a_target_above_all_bad_parts_accepts_all(capsys: pytest.CaptureFixture[str]) -> None:
    found = document(capsys, *PROCESS, "--target-consumer-risk", "0.5")
    assert (found["accepts"], found["guard_mm"]) == ("all", [None, None])


def test_lognormal_process_and_a_value_from_it(capsys: pytest.CaptureFixture[str]) -> None:
    found = document(capsys, *LOGNORMAL, "--acceptance-upper", "0.047", "--value", "0.049", "--df", "8")
    assert set(found) == GLOBAL | {"p_conform"}
    assert (found["verdict"], found["side"], found["proven"]) == ("reject", 1, None)
    assert found["p_conform"]["prior"] == "process: lognormal, median 0.02 mm, log sd 0.5"
    by_rule = document(capsys, *LOGNORMAL, "--value", "0.049")
    assert by_rule["verdict"] == "undecided"


def test_units_and_small_negative_numbers(capsys: pytest.CaptureFixture[str]) -> None:
    found = document(capsys, "--value", "-1e-3", "--u", "0.001 in", "--lower", "-.5e-1", "--upper", "50 um")
    assert found["interval_mm"][0] == pytest.approx(-1e-3 - 1.959964 * 0.0254)


def test_a_list_is_answered_in_order_with_errors_in_their_place(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    items = [
        {"value": 9.9, "u": 0.1, "lower": 9, "upper": 10, "prior": None},
        {"value": 9.9, "u": 0, "upper": 10},
        {"valeu": 9.9},
        7,
        {"process_mean": 25.0, "process_sd": 0.004, "u": 0.002, "lower": 24.99, "upper": 25.01},
        {"value": 1, "u": True, "upper": 2},
        {"value": 1e999, "u": 1, "upper": 2},
        {"value": 10**400, "u": 1, "upper": 2},
        {"value": 1, "u": 1, "upper": 2, "df": "4"},
    ]
    file = tmp_path / "list.json"
    file.write_text(json.dumps(items))
    found = document(capsys, "--from", str(file))
    assert set(found) == {"decisions"}
    assert len(found["decisions"]) == len(items)
    assert [i for i, item in enumerate(found["decisions"]) if "error" in item] == [1, 2, 3, 5, 6, 7, 8]
    assert found["decisions"][0] == document(capsys, *VALUE)
    assert found["decisions"][4]["risk_kind"] == "global"
    assert found["decisions"][1]["error"]["where"] == f"{file}, item 2"
    assert found["decisions"][2]["error"]["way_out"] == 'Did you mean "value"?'
    code, out, _ = call(capsys, "--from", str(file))
    assert code == 0
    assert "   2 error" in out
    assert max(map(len, out.splitlines())) <= 80


def test_gate(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    bad = ["--value", "10.3", "--u", "0.1", "--upper", "10"]
    assert call(capsys, *bad)[0] == 0
    assert call(capsys, *bad, "--gate")[0] == 1
    assert call(capsys, *VALUE, "--gate")[0] == 0
    file = tmp_path / "list.json"
    file.write_text('[{"value": 1, "u": 0.1, "upper": 5}, {"value": 9, "u": 0.1, "upper": 5}, {}]')
    assert call(capsys, "--from", str(file), "--gate")[0] == 1
    assert call(capsys, "--from", str(file))[0] == 0


@pytest.mark.parametrize(
    ("words", "what", "found"),
    [
        (["--value", "1", "--upper", "2"], "u", "nothing"),
        (["--value", "1", "--u", "0", "--upper", "2"], "u", "0"),
        (["--value", "1", "--u", "-1", "--upper", "2"], "u", "-1"),
        (["--u", "1", "--upper", "2"], "the question", "neither"),
        (["--value", "1", "--u", "1"], "the limits", "none"),
        (["--value", "1", "--u", "1", "--lower", "3", "--upper", "2"], "the lower limit", "3 and 2"),
        (["--value", "1", "--u", "1", "--lower", "2", "--upper", "2"], "the lower limit", "2 and 2"),
        ([*VALUE, "--probability", "0.5"], "the probability", "0.5"),
        ([*VALUE, "--probability", "1"], "the probability", "1"),
        ([*VALUE, "--probability", "95"], "the probability", "95"),
        ([*VALUE, "--df", "0.5"], "df", "0.5"),
        ([*VALUE, "--df", "nan"], "df", "nan"),
        ([*VALUE, "--prior-mean", "9"], "prior_mean", "one alone"),
        ([*VALUE, "--prior-mean", "9", "--prior-sd", "0"], "prior_sd", "0"),
        ([*VALUE, "--prior", "flat", "--prior-sd", "1"], "prior", "flat and prior_mean or prior_sd"),
        ([*VALUE, "--acceptance-upper", "9.9"], "acceptance_upper", "no process"),
        ([*VALUE, "--cost-wrong-reject", "1"], "cost_wrong_reject", "no process"),
        ([*VALUE, "--process-mean", "9"], "process_mean", "one alone"),
        ([*PROCESS, "--prior", "flat"], "a prior", "no value"),
        ([*PROCESS, "--value", "25", "--prior", "flat"], "what is known of the part", "a prior and a process"),
        ([*PROCESS, "--process-median", "9"], "a normal process", "process_median or process_log_sd"),
        ([*PROCESS, "--acceptance-upper", "25"], "acceptance_lower", "one without the other"),
        ([*PROCESS, "--acceptance-lower", "25", "--acceptance-upper", "24.999"], "acceptance_lower", "25 and 24.999"),
        ([*PROCESS, "--target-consumer-risk", "0"], "the target consumer's risk", "0"),
        ([*PROCESS, "--cost-wrong-accept", "1"], "cost_wrong_accept", "one alone"),
        ([*PROCESS, "--cost-wrong-accept", "0", "--cost-wrong-reject", "0"], "the costs", "0 and 0"),
        ([*PROCESS, "--cost-wrong-accept", "-1", "--cost-wrong-reject", "5"], "the costs", "-1 and 5"),
        ([*LOGNORMAL, "--process-mean", "1"], "a lognormal process", "process_mean or process_sd"),
        ([*LOGNORMAL, "--process-log-sd", "21"], "its log sd", "21"),
        ([*LOGNORMAL, "--process-median", "0"], "process_median", "0"),
        ([*LOGNORMAL, "--value", "9"], "the value", "9"),
        (["--value", "3,4", "--u", "1", "--upper", "9"], "a length", '"3,4"'),
        (["--value", "3 furlong", "--u", "1", "--upper", "9"], "the unit of a length", '"furlong"'),
        (["--value", "nan", "--u", "1", "--upper", "9"], "a length", '"nan"'),
    ],
)  # fmt: skip
def test_bad_options_say_what_and_the_way_out(
    capsys: pytest.CaptureFixture[str], words: list[str], what: str, found: str
) -> None:
    told = error(capsys, *words)
    assert (told["what"], told["found"]) == (what, found)
    assert told["where"].startswith("trysquare decide")
    assert told["way_out"].endswith((".", "?"))


def test_words_outside_the_choices_and_unknown_options(capsys: pytest.CaptureFixture[str]) -> None:
    assert "non-conformity" in error(capsys, *VALUE, "--prove", "both")["rule"]
    assert "--df" in error(capsys, *VALUE, "--dof", "4")["way_out"]


@pytest.mark.parametrize(
    ("content", "rule"),
    [
        (b"{}", "hold a list of objects"), (b"[1,", "be JSON"), (b"", "be JSON"), (b'["\xff"]', "be UTF-8"),
        (b"[" * 100_000, "be JSON"), (None, "be readable"),
    ],
)  # fmt: skip
def test_bad_files(capsys: pytest.CaptureFixture[str], tmp_path: Path, content: bytes | None, rule: str) -> None:
    file = tmp_path / "list.json"
    if content is not None:
        file.write_bytes(content)
    told = error(capsys, "--from", str(file))
    assert told["rule"] == rule
    assert told["where"].startswith(str(file))


def test_options_beside_a_file_are_refused(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert error(capsys, "--from", str(tmp_path / "x.json"), "--u", "1")["found"] == "also u"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (VALUE, ["undecided", "Neither is proven", "0.164 mm inside the limits", "9.164 to 9.836 mm", "84.1 %"]),
        (
            [*VALUE, "--prove", "non-conformity"],
            [
                "accept (not rejected: conformity is not proven)",
                "nor is it proven to conform",
                "0.164 mm outside the limits",
                "not rejected 8.836",
            ],
        ),
        (
            ["--value", "9.5", "--u", "0.1", "--lower", "9", "--upper", "10", "--prove", "non-conformity"],
            ["accept Conformity is proven"],
        ),
        (
            [*PROCESS, "--cost-wrong-accept", "9", "--cost-wrong-reject", "1"],
            ["Of all parts", "expected cost", "a part"],
        ),
        (["--value", "10", "--u", "0.1", "--lower", "9.9", "--upper", "10.1"], ["no value"]),
        ([*LOGNORMAL, "--value", "0.2"], ["reject", "up to 0.0500 mm", "lognormal, median 0.02 mm"]),
    ],
)
def test_text_for_people(capsys: pytest.CaptureFixture[str], words: list[str], said: list[str]) -> None:
    code, out, _ = call(capsys, *words)
    assert code == 0
    assert max(map(len, out.splitlines())) <= 80
    flat = " ".join(out.split())
    for words_said in said:
        assert words_said in flat


def test_as_a_program() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "trysquare", "decide", *VALUE, "--json"], capture_output=True, text=True, check=True
    )
    assert json.loads(done.stdout)["verdict"] == "undecided"
    assert done.stderr == ""
