"""docs/first-job.md does what it says: its files are taken from the page, its commands run, its numbers compared.

Expected values: what the page itself states.
"""

import json
import re
from pathlib import Path

import pytest

from trysquare.cli.main import main

PAGE = (Path(__file__).parents[2] / "docs" / "first-job.md").read_text("utf-8")
BLOCKS = re.findall(r"```(toml|csv)\n(.*?)```", PAGE, flags=re.DOTALL)
TOML, BORE, WIDTH, BETTER = (text for _, text in BLOCKS)


@pytest.fixture
def block(tmp_path):
    folder = tmp_path / "my-block"
    folder.mkdir()
    for name, text in (("job.toml", TOML), ("bore.csv", BORE), ("width.csv", WIDTH)):
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def judged(block, capsys):
    assert main(["judge", str(block), "--json"]) == 0
    return {j["id"]: j for j in json.loads(capsys.readouterr().out)["requirements"]}


def test_the_job_is_sound(block, capsys):
    assert main(["check", str(block), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["ok"]


def test_the_calliper_leaves_the_width_undecided(block, capsys):
    found = judged(block, capsys)
    assert found["1"]["verdict"] == "accept"
    assert found["2"]["verdict"] == "undecided"
    assert f"{found['2']['value']:.3f} mm is within its limits" in PAGE
    assert re.search(rf"good to\s+± {found['2']['U']:.3f} mm", PAGE)
    assert found["2"]["next"]["text"]


def test_the_micrometer_decides_it(block, capsys):
    (block / "job.toml").write_text(TOML.replace('class = "calliper"', 'class = "micrometer"'), encoding="utf-8")
    (block / "width.csv").write_text(BETTER, encoding="utf-8")
    found = judged(block, capsys)
    assert found["2"]["verdict"] == "accept"
    assert f"± {found['2']['U']:.3f} mm, and accepted" in PAGE


def test_a_mistake_is_named_with_its_line(block, capsys):
    (block / "job.toml").write_text(TOML.replace('units    = "mm"', 'unit     = "mm"'), encoding="utf-8")
    main(["check", str(block)])
    said = capsys.readouterr().out
    assert "job.toml:3" in said
    assert 'Did you mean "units"?' in said


def test_a_slip_of_a_millimetre_decides_nothing(block, capsys):
    (block / "job.toml").write_text(TOML.replace('class = "calliper"', 'class = "micrometer"'), encoding="utf-8")
    (block / "width.csv").write_text(BETTER.replace("front,140.034", "front,141.034"), encoding="utf-8")
    found = judged(block, capsys)
    assert found["1"]["verdict"] == "accept"
    assert found["2"]["verdict"] == "undecided"
    assert 'the readings of "2, front" (width.csv, lines 2, 3 and 4) contradict each other' in found["2"]["reason"]
    main(["check", str(block)])
    assert "width.csv:3  (warning)" in capsys.readouterr().out


def test_every_command_of_the_page_exists():
    from trysquare.cli.main import COMMANDS

    named = set(re.findall(r"trysquare ([a-z]+)", PAGE)) - {"ties"}
    assert named <= COMMANDS.keys()
    assert {"check", "judge", "demo"} <= named
