"""`trysquare check`: the JSON that others rely on, the text, the exit codes."""

import json
import shutil
from pathlib import Path

import pytest

from trysquare.cli.main import main

JOB = Path(__file__).parents[1] / "formats" / "job-1"
KEYS = {"where", "what", "rule", "found", "way_out", "severity"}


ON_TOP = {"datum": "A", "features": ["top"], "association": "least squares",
          "fixes": ["along z", "about x", "about y"]}  # fmt: skip
SYSTEMS = [
    {
        "datums": [
            ON_TOP,
            {"datum": "B", "features": ["left"], "association": "least squares", "fixes": ["along x", "about z"]},
            {"datum": "C", "features": ["front"], "association": "least squares", "fixes": ["along y"]},
        ],
        "open": [], "requirements": ["3"],
    },
    {"datums": [ON_TOP], "open": ["along x", "along y", "about z"], "requirements": ["5"]},
]  # fmt: skip


@pytest.fixture
def job(tmp_path):
    shutil.copytree(JOB, tmp_path / "job")
    return tmp_path / "job"


def change(job, old, new):
    file = job / "job.toml"
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new), encoding="utf-8")


def answer(capsys, *arguments):
    assert main(["check", *map(str, arguments), "--json"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert out.count("\n") == 1
    return json.loads(out)


def test_a_sound_job(job, capsys):
    assert answer(capsys, job) == {
        "ok": True, "problems": [], "errors": 0, "warnings": 0, "notes": 0,
        "requirements": 7, "features": 6, "stations": 2, "readings": 49, "datum_systems": SYSTEMS,
    }  # fmt: skip


def test_the_job_file_may_be_named(job, capsys):
    assert answer(capsys, job / "job.toml")["ok"] is True


def test_problems_have_all_keys_and_answer_with_exit_0(job, capsys):
    change(job, "u_radius", "u_raduis")
    document = answer(capsys, job)
    assert document["ok"] is False
    assert document["problems"] == [
        {
            "where": "job.toml:36", "what": "a key of target.ball-12",
            "rule": "be one of diameter, u_radius, centring, origin", "found": '"u_raduis"',
            "way_out": 'Did you mean "u_radius"?', "severity": "error",
        }
    ]  # fmt: skip
    assert (document["errors"], document["warnings"], document["requirements"]) == (1, 0, None)


def test_warnings_leave_it_ok(job, capsys):
    change(job, "co2 = { value = 450, u = 50 }\n", "")
    document = answer(capsys, job)
    assert document["ok"] is True
    (problem,) = document["problems"]
    assert set(problem) == KEYS
    assert problem["severity"] == "warning"
    assert (document["errors"], document["warnings"]) == (0, 1)


def test_readings_from_another_folder(job, tmp_path, capsys):
    other = tmp_path / "monday"
    other.mkdir()
    for file in job.glob("*.csv"):
        file.rename(other / file.name)
    assert answer(capsys, job, "--readings", other)["ok"] is True
    (other / "bores.csv").unlink()
    assert [p["where"] for p in answer(capsys, job, "--readings", other)["problems"]] == ["job.toml:120"]


def test_a_job_whose_reading_files_are_not_there_yet_is_planned(job, capsys):
    for file in job.glob("*.csv"):
        file.unlink()
    document = answer(capsys, job)
    assert (document["ok"], document["readings"]) == (True, 0)
    (problem,) = document["problems"]
    assert (problem["severity"], problem["found"]) == ("warning", "4 named, none there yet")


@pytest.mark.parametrize("name", ["absent", "."])
def test_no_job_there_is_bad_input(name, tmp_path, capsys):
    assert main(["check", str(tmp_path / name), "--json"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    error = json.loads(err)["error"]
    assert error["rule"] == "be a folder with job.toml in it, or that file"
    assert set(error) == KEYS - {"severity"}


def test_the_text_names_each_problem_and_what_to_do_at_80_columns(job, capsys):
    change(job, "u_radius", "u_raduis")
    change(job, "flatness = { zone = 0.05 }", "flatness = { zone = 0 }")
    assert main(["check", str(job)]) == 0
    out = capsys.readouterr().out
    for text in (" 1  job.toml:36", '    > Did you mean "u_radius"?', " 2  job.toml:72", "    > Write the width"):
        assert text in out
    assert out.rstrip().endswith(f"{job}\n2 errors and no warnings. Mend the errors, then check again.")
    assert max(len(line) for line in out.splitlines() if str(job) not in line) <= 80


def test_the_text_of_a_sound_job_counts_what_it_holds(job, capsys):
    assert main(["check", str(job)]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "Sound, with no warnings. 7 requirements, 6 features, 2 stations, 49 readings." in out


def test_against_an_earlier_revision(job, tmp_path, capsys):
    shutil.copytree(JOB, tmp_path / "old")
    change(job, 'zone = "diameter 0.1"', 'zone = "diameter 0.06"')
    found = answer(capsys, job, "--against", tmp_path / "old")["against"]
    assert set(found) == {
        "old", "new", "added", "dropped", "changed", "unchanged", "at_hand", "to_measure", "features_to_measure",
    }  # fmt: skip
    assert set(found["old"]) == {"source", "drawing", "revision", "standard", "requirements"}
    (one,) = found["changed"]
    assert (one["id"], one["old"]["upper"], one["new"]["upper"], one["new"]["unit"]) == ("3", 0.1, 0.06, "mm")
    assert one["changes"] == [{"what": "limits", "old": "diameter 0 to 0.1", "new": "diameter 0 to 0.06"}]
    assert main(["check", str(job), "--against", str(tmp_path / "old")]) == 0
    assert "Changed\n  3  First bore, position" in capsys.readouterr().out


def test_a_new_job_may_use_the_readings_of_the_old(job, tmp_path, capsys):
    shutil.copytree(JOB, tmp_path / "old")
    for file in job.glob("*.csv"):
        file.unlink()
    found = answer(capsys, job, "--against", tmp_path / "old")["against"]
    assert len(found["to_measure"]) == 7
    found = answer(capsys, job, "--against", tmp_path / "old", "--readings", tmp_path / "old")["against"]
    assert (found["to_measure"], len(found["at_hand"])) == ([], 7)


def test_an_unsound_job_is_not_compared(job, capsys):
    change(job, "flatness = { zone = 0.05 }", "flatness = { zone = 0 }")
    assert answer(capsys, job, "--against", JOB)["against"] is None
    assert main(["check", str(job), "--against", str(JOB)]) == 0
    assert "Not compared: mend the errors first." in capsys.readouterr().out


def test_nothing_to_compare_with_is_bad_input(job, tmp_path, capsys):
    assert main(["check", str(job), "--against", str(tmp_path / "absent"), "--json"]) == 2
    assert json.loads(capsys.readouterr().err)["error"]["what"] == "the job"


def test_the_text_says_who_fixes_which_freedom(job, capsys):
    assert main(["check", str(job)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "A fixes along z, about x, about y; B fixes along x, about z; C fixes along y; nothing stays open." in said
    assert "along x, along y, about z stay open." in said
