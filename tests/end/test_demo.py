"""The demo once, with few draws: what it writes, what it says, and that its folder is a sound job."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from trysquare.core.errors import InputError
from trysquare.demo.run import measured, run_demo
from trysquare.demo.scenario import FILES, FOLDER, SHAPES, TRUTH_SEED, survey
from trysquare.jobs.loading.load import load, problems

DRAWS = "200"


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """The demo as a command: its folder and what it printed."""
    out = tmp_path_factory.mktemp("demo")
    command = [sys.executable, "-m", "trysquare", "demo", "--out", str(out), "--draws", DRAWS, "--json"]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""  # no terminal, no progress
    return out, json.loads(done.stdout)


def test_job_and_report_are_there(made):
    out, document = made
    assert document["job"] == str(out / "job")
    assert [Path(path).name for path in document["report"]] == [
        "result.json", "requirements.csv", "report.html", "report.pdf",
    ]  # fmt: skip
    assert all(Path(path).stat().st_size > 1000 for path in document["report"])
    assert json.loads((out / "report" / "result.json").read_text()) == document["result"]
    assert [Path(path).name for path in document["choice"]] == ["choice.json", "choice.html"]
    assert json.loads((out / "choice" / "choice.json").read_text())["conclusion"] == document["conclusion"]


def test_the_document_has_its_keys(made):
    _, document = made
    assert set(document) == {"job", "report", "choice", "conclusion", "seed", "truth", "result"}
    assert set(document["truth"]) == {
        "requirements", "truly_beyond", "decided", "agree", "undecided", "wrong_accepts", "wrong_rejects", "intervals",
        "held", "expected", "missed",
    }  # fmt: skip
    assert document["result"]["format"] == "trysquare-result/1"


def test_the_folder_is_a_sound_job(made):
    out, _ = made
    assert problems(out / "job") == []
    job = load(out / "job")
    assert len(job.requirements) == 40
    assert {r.characteristic for r in job.requirements} == {
        "size", "distance", "angle", "flatness", "parallelism", "perpendicularity", "position",
    }  # fmt: skip
    readings = sum(len(s.readings) for s in job.stations) + sum(len(h.value_mm) for h in job.hand)
    assert 900 <= readings <= 1100
    assert {r.datums for r in job.requirements} >= {("A", "B", "C"), ("A", "D", "E")}
    assert job.part.safety_critical
    assert job.part.sign_off


def test_the_truth_lies_beside_the_job_and_is_counted(made):
    out, document = made
    truth = json.loads((out / "job" / "truth.json").read_text())
    assert truth["seed"] == TRUTH_SEED != truth["judging_seed"]
    beyond = {r["id"] for r in truth["requirements"] if not r["conforms"]}
    assert beyond == {"5", "20", "28"}  # by design: the top's form, the rear seat and one bolt hole out of place
    counted, judged = document["truth"], {j["id"]: j for j in document["result"]["requirements"]}
    accepted = {id_ for id_, j in judged.items() if j["verdict"] == "accept"}
    rejected = {id_ for id_, j in judged.items() if j["verdict"] == "reject"}
    assert set(counted["wrong_accepts"]) == accepted & beyond
    assert set(counted["wrong_rejects"]) == rejected - beyond
    assert counted["agree"] == len(accepted - beyond) + len(rejected & beyond)
    assert counted["undecided"] == 40 - len(accepted) - len(rejected)
    assert counted["held"] == counted["intervals"] - len(counted["missed"])


def test_a_true_value_counts_where_it_was_judged(made):
    """Recounted here from the files: single numbers, whose place leaves no doubt."""
    out, document = made
    true = {r["id"]: r["value"] for r in json.loads((out / "job" / "truth.json").read_text())["requirements"]}
    places = {r["id"]: len(r["places"]) for r in json.loads((out / "job" / "truth.json").read_text())["requirements"]}
    single = [j for j in document["result"]["requirements"] if places[j["id"]] == 1 and j["interval"]]
    missed = {j["id"] for j in single if not j["interval"][0] <= true[j["id"]] <= j["interval"][1]}
    assert missed == {id_ for id_ in document["truth"]["missed"] if places[id_] == 1}
    assert len(single) > 30


def test_it_says_so_in_eighty_columns(made, capsys):
    from trysquare.cli.main import main

    out, document = made
    assert main(["demo", "--out", str(out / "again"), "--draws", DRAWS, "--no-pdf"]) == 0
    said = capsys.readouterr().out
    assert max(map(len, said.splitlines())) <= 80 or str(out) in max(said.splitlines(), key=len)
    assert f"{document['truth']['agree']} of {document['truth']['decided']} decided verdicts agree" in said
    assert "simulated" in said
    assert str(out / "again" / "job") in said.replace("\n", "")
    assert (out / "again" / "report" / "result.json").read_bytes() == (out / "report" / "result.json").read_bytes()


def test_the_same_seed_makes_the_same_files():
    once, again, other = measured(3)[0], measured(3)[0], measured(4)[0]
    assert once == again
    assert all(once[name] != other[name] for name in once if name.endswith(".csv"))


def test_the_seed_of_the_judging_is_refused(tmp_path):
    with pytest.raises(InputError, match="differ from the seed of the judging"):
        run_demo(tmp_path, seed=load(FOLDER, measured=False).seed)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_cannot_be_written_is_an_error_with_a_way_out(tmp_path, capsys):
    from trysquare.cli.main import main

    (tmp_path / "file").write_text("in the way")
    assert main(["demo", "--out", str(tmp_path / "file"), "--draws", DRAWS, "--no-pdf"]) == 2
    assert "--out" in capsys.readouterr().err


def test_the_scenario_is_whole():
    """Every feature that is touched or shaped is on the drawing; every requirement is measured."""
    job = load(FOLDER, measured=False)
    plan = survey()
    touched = {visit.on for visit in plan.visits}
    assert touched <= job.features.keys()
    assert SHAPES.keys() <= job.features.keys()
    by_hand = {visit.requirement for visit in plan.hand}
    for requirement in job.requirements:
        needed = {*requirement.on, *(job.datums[letter] for letter in requirement.datums)}
        assert requirement.id in by_hand or needed <= touched
    assert plan.ties_mm.keys() == set(job.ties)
    assert all((FOLDER / name).is_file() for name in FILES)
