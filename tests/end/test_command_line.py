"""Exit codes, the shape of errors, what stands on which stream, help, and the commands that the documents show."""

import json
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from small_jobs import bench_job

from trysquare.cli.main import COMMANDS, main

ROOT = Path(__file__).parents[2]
KEYS = {"where", "what", "rule", "found", "way_out"}


def answered(capsys, *arguments: str) -> tuple[int, str, str]:
    code = main([str(a) for a in arguments])
    out, err = capsys.readouterr()
    return code, out, err


def test_answered_is_0_and_one_document(tmp_path, capsys):
    code, out, err = answered(capsys, "judge", bench_job(tmp_path / "job"), "--json")
    assert (code, err) == (0, "")
    assert json.loads(out)["part"]["verdict"] == "accept"
    assert out.endswith("}\n")
    assert out.count("\n") == 1


@pytest.mark.parametrize(("gate", "expected"), [(True, 1), (False, 0)])
def test_a_reject_is_1_only_with_gate(tmp_path, capsys, gate, expected):
    job = bench_job(tmp_path / "job", 62.06)
    code, out, err = answered(capsys, "judge", job, "--json", *(["--gate"] if gate else []))
    assert (code, err) == (expected, "")
    assert json.loads(out)["part"]["verdict"] == "reject"


@pytest.mark.parametrize("reading", [62.015, 62.03])
def test_accept_and_undecided_pass_the_gate(tmp_path, capsys, reading):
    code, out, _ = answered(capsys, "judge", bench_job(tmp_path / "job", reading), "--json", "--gate")
    assert code == 0
    assert json.loads(out)["part"]["verdict"] == ("accept" if reading < 62.02 else "undecided")


@pytest.mark.parametrize(
    "arguments",
    [
        ["judge", "no such folder"], ["judge"], ["judge", "JOB", "--drows", "5"], ["judge", "JOB", "--draws", "few"],
        ["check"], ["fit", "missing.csv", "--shape", "plane", "--method", "least-squares"], ["frobnicate"],
        ["decide", "--value", "1"], ["air", "--t", "20"], ["choose", "no such folder"], ["demo", "--seed", "x"],
    ],
)  # fmt: skip
def test_bad_input_is_2_and_one_error(tmp_path, capsys, arguments):
    job = bench_job(tmp_path / "job")
    arguments = [str(job) if a == "JOB" else a for a in arguments]
    code, out, err = answered(capsys, *arguments, "--json")
    assert (code, out) == (2, "")
    error = json.loads(err)["error"]
    assert set(error) == KEYS
    assert all(isinstance(x, str) and x for x in error.values())
    code, out, err = answered(capsys, *arguments)
    assert (code, out) == (2, "")
    assert error["way_out"] in err
    assert "Traceback" not in err


def test_the_nearest_option_is_named(tmp_path, capsys):
    _, _, err = answered(capsys, "judge", bench_job(tmp_path / "job"), "--drows", "5")
    assert 'Did you mean "--draws"?' in err


def test_a_fault_of_ours_is_3(tmp_path, capsys, monkeypatch):
    def fault(*arguments, **options):
        raise ZeroDivisionError("a fault put there by the test")

    monkeypatch.setattr("trysquare.jobs.judge.judge", fault)
    job = bench_job(tmp_path / "job")
    code, out, err = answered(capsys, "judge", job, "--json")
    assert (code, out) == (3, "")
    error = json.loads(err)["error"]
    assert set(error) == KEYS
    assert error["found"] == "ZeroDivisionError: a fault put there by the test"
    code, out, err = answered(capsys, "judge", job)
    assert (code, out) == (3, "")
    assert "Traceback" in err
    assert "Please report it" in err


def test_whole_processes_give_the_same_codes(tmp_path):
    """The installed entry point, not only the function."""
    for arguments, code in (
        (["judge", bench_job(tmp_path / "job", 62.06), "--gate", "--json"], 1), (["check", "nowhere", "--json"], 2),
    ):  # fmt: skip
        done = subprocess.run(
            [sys.executable, "-m", "trysquare", *map(str, arguments)], capture_output=True, text=True, check=False
        )
        assert done.returncode == code, done.stderr
        json.loads(done.stdout if code == 1 else done.stderr)


def test_a_closed_pipe_is_no_fault(tmp_path):
    """`trysquare judge JOB --json | head -c 10`: nothing on standard error."""
    job = bench_job(tmp_path / "job")
    child = subprocess.Popen(
        [sys.executable, "-m", "trysquare", "judge", str(job), "--json"], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    child.stdout.close()
    assert child.stderr.read() == b""
    assert child.wait(timeout=60) == 0
    child.stderr.close()


def help_of(command: str, monkeypatch, capsys) -> str:
    monkeypatch.setenv("COLUMNS", "80")
    with pytest.raises(SystemExit) as left:
        main([command, "--help"])
    assert left.value.code == 0
    return capsys.readouterr().out


@pytest.mark.parametrize("command", COMMANDS)
def test_help_of_every_command(command, monkeypatch, capsys):
    said = help_of(command, monkeypatch, capsys)
    assert max(map(len, said.splitlines())) <= 80
    assert "--json" in said
    assert COMMANDS[command].split()[0] in said


def test_help_of_all(capsys):
    code, said, _ = answered(capsys, "--help")
    assert code == 0
    assert max(map(len, said.splitlines())) <= 80
    assert all(f"  {name} " in said for name in COMMANDS)
    assert "--json" in said
    assert answered(capsys)[1] == said


def documents() -> list[Path]:
    return [*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md"), *(ROOT / "bench").glob("*.md")]


def shown() -> list[tuple[str, str]]:
    """(document, command line) of every `trysquare ...` in code, in line or in blocks."""
    found = []
    for path in documents():
        text = path.read_text(encoding="utf-8")
        spans = re.findall(r"```[a-z]*\n(.*?)```", text, flags=re.DOTALL) + re.findall(r"`([^`\n]+)`", text)
        for span in spans:
            for line in span.splitlines():
                match = re.search(r"(?:^|[\s/])trysquare ([a-z-].*)", line.partition(" #")[0])
                if match:
                    found.append((path.name, match[1]))
    return found


def test_documents_show_commands():
    assert {name for name, _ in shown()} >= {"README.md", "first-job.md"}


@pytest.mark.parametrize(("document", "line"), shown())
def test_every_command_in_the_documents_exists(document, line, monkeypatch, capsys):
    words = shlex.split(line)
    if words[0] in ("--help", "--version", "COMMAND"):
        return
    assert words[0] in COMMANDS, f"{document}: trysquare {line}"
    known = set(re.findall(r"--[a-z0-9-]+", help_of(words[0], monkeypatch, capsys)))
    options = {w.partition("=")[0] for w in words if w.startswith("--")}
    assert options <= known, f"{document}: trysquare {line}"
