"""The runner of the benchmarks: listing, table, whole files, the kind of machine, and nothing that tells which one."""

import json
import platform
import sys
import types
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[2]))  # bench/ stands beside src/, it is not installed
from bench import __main__ as runner

ROWS = [{"what": "ours", "time_s": 0.12345678, "error_mm": None}, {"what": "rival", "time_s": 2.0, "ratio": 16.2}]


@pytest.fixture
def sample(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    (tmp_path / "sample.py").write_text('"""A sample.\n\nMore."""\n')
    (tmp_path / "_hidden.py").write_text("")
    monkeypatch.setattr(runner, "HERE", tmp_path)
    module = types.ModuleType("bench.sample")
    module.run = lambda quick=False: {"about": "a sample", "quick": quick, "rows": ROWS}  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "bench.sample", module)
    return tmp_path / "results" / "sample.json"


def test_without_a_name_it_lists(sample: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert runner.main([]) == 0
    assert capsys.readouterr().out == "  sample  A sample.\n"
    assert not sample.exists()


def test_a_run_is_printed_and_kept(sample: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert runner.main(["sample"]) == 0
    out = capsys.readouterr().out
    assert "about: a sample." in out
    assert "ours   0.1235  -         -" in out
    kept = json.loads(sample.read_text())
    assert kept["rows"] == ROWS
    what = {"processor", "processors", "architecture", "python", "numpy", "scipy", "numba", "date"}
    assert set(kept["machine"]) == what
    assert platform.node() not in json.dumps(kept["machine"])
    assert "/" not in json.dumps(kept["machine"])


def test_a_quick_run_keeps_nothing(sample: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sample.parent.mkdir()
    sample.write_text("full figures")
    assert runner.main(["all", "--quick"]) == 0
    assert "sample (quick)" in capsys.readouterr().out
    assert sample.read_text() == "full figures"


def test_wide_rows_become_blocks() -> None:
    wide = [{"a name that is long " + str(i): 1.0 for i in range(8)}]
    assert "a name that is long 7  1" in runner.table(wide)
    assert max(map(len, runner.table(wide).splitlines())) < 40


def test_unknown_names_and_empty_results_are_refused(
    sample: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert runner.main(["smaple"]) == 2
    assert "be one of sample" in capsys.readouterr().err
    monkeypatch.setattr(sys.modules["bench.sample"], "run", lambda quick=False: {"rows": []})
    assert runner.main(["sample"]) == 2
    assert not sample.exists()


def test_every_benchmark_here_has_a_summary() -> None:
    known = runner.names()
    assert known
    assert all(known.values())
