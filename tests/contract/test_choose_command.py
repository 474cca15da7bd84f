"""`trysquare choose`: the JSON that others rely on, the text, files, errors."""

import json
import re
import shutil
import sys
from pathlib import Path

import jsonschema
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "unit"))
from choose_jobs import BAR

import trysquare.instruments.catalogue as catalogue
from trysquare.choose import schema
from trysquare.cli.main import main

_FILES = ("laser-tracker", "calliper", "height-gauge", "lab-measuring-machine")


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("bar")
    (folder / "job.toml").write_text(BAR, encoding="utf-8")
    mine = folder / "classes"
    mine.mkdir()
    for name in _FILES:
        shutil.copy(Path(catalogue.__file__).parent / f"{name}.toml", mine)
    return folder


def _arguments(folder, *more):
    return ["choose", str(folder), "--instruments", str(folder / "classes"), "--draws", "100", *more]


def _json(capsys, arguments):
    assert main([*arguments, "--json"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return json.loads(out)


def _error(capsys, arguments):
    assert main([*arguments, "--json"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    error = json.loads(err)["error"]
    assert set(error) == {"where", "what", "rule", "found", "way_out"}
    return error


def test_keys(capsys, folder):
    answer = _json(capsys, _arguments(folder))
    jsonschema.validate(answer, schema())
    assert answer["format"] == "trysquare-choice/1"
    assert len(answer["matrix"]) == 4
    for cell in answer["matrix"]:
        assert {"requirement", "instrument", "predicted_u", "target_u", "word", "why", "left", "action"} <= set(cell)
        assert cell["word"] in ("holds", "holds if", "send out", None)
    for each in answer["sets"]:
        assert {"instruments", "cost", "covers", "requirements"} <= set(each)
        assert set(each["cost"]) == {"low", "high", "currency"}
        assert each["covers"] == len(each["requirements"])
    assert isinstance(answer["lab"], list)
    assert answer["conclusion"]
    words = {c["instrument"]: c["word"] for c in answer["matrix"]}
    assert words["calliper"] is None
    assert words["lab measuring machine"] == "holds"


def test_the_same_seed_gives_the_same_answer(capsys, folder):
    first = _json(capsys, _arguments(folder, "--seed", "3", "--threads", "1"))
    assert first == _json(capsys, _arguments(folder, "--seed", "3", "--threads", "2"))
    assert first != _json(capsys, _arguments(folder, "--seed", "4"))


def test_the_text_fits_a_terminal(capsys, folder):
    assert main(_arguments(folder)) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert max(len(line) for line in out.splitlines()) <= 80
    assert "Cheapest sets" in out
    assert "no source" in out


def test_files_are_written_and_the_page_asks_nothing_of_the_network(capsys, folder, tmp_path):
    answer = _json(capsys, _arguments(folder, "--out", str(tmp_path / "out")))
    assert sorted(p.name for p in (tmp_path / "out").iterdir()) == ["choice.html", "choice.json"]
    assert json.loads((tmp_path / "out" / "choice.json").read_text(encoding="utf-8")) == answer
    page = (tmp_path / "out" / "choice.html").read_text(encoding="utf-8")
    assert "What can hold it here" in page
    assert answer["conclusion"].split(" ")[0] in page
    assert not re.search(r'(src|href)="?https?:|@import|url\(["\']?https?:', page)


def test_readings_are_not_needed_nor_looked_at(capsys, folder, tmp_path):
    """A job that names reading files that are not there can be chosen for."""
    text = (
        BAR
        + '[instrument.t]\nclass = "laser tracker"\n[[station]]\nname = "1"\ninstrument = "t"\nreadings = "no.csv"\n'
    )
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    answer = _json(capsys, ["choose", str(tmp_path), *_arguments(folder)[2:]])
    assert len(answer["matrix"]) == 4


@pytest.mark.parametrize(
    ("more", "found"),
    [
        (["--draws", "20"], "20"),
        (["--instruments", "nowhere-at-all"], "none"),
        (["--out", "job.toml"], None),
    ],
)
def test_bad_options_are_told(capsys, folder, monkeypatch, more, found):
    monkeypatch.chdir(folder)
    error = _error(capsys, [*_arguments(folder), *more])
    assert error["way_out"]
    if found is not None:
        assert found in error["found"]


def test_a_class_file_with_a_wrong_key_is_named(capsys, folder, tmp_path):
    text = (folder / "classes" / "calliper.toml").read_text(encoding="utf-8").replace("[source.feel]", "[source.fell]")
    (tmp_path / "calliper.toml").write_text(text, encoding="utf-8")
    error = _error(capsys, ["choose", str(folder), "--instruments", str(tmp_path)])
    assert "calliper.toml" in error["where"]
    assert "feel" in error["way_out"]


def test_help_names_every_option(capsys):
    with pytest.raises(SystemExit) as stop:
        main(["choose", "--help"])
    assert stop.value.code == 0
    out = capsys.readouterr().out
    for option in ("--instruments", "--draws", "--seed", "--out", "--threads", "--json"):
        assert option in out
