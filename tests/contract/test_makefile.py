"""make from nothing, from a half-made environment and from one that has lost its Python; a stub stands for Python."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
#: Makes an environment whose pip notes that it ran; as `.venv/bin/python` it just runs.
STUB = """#!/bin/sh
if [ "$1" = -m ] && [ "$2" = venv ]; then
  test ! -e "$3" || { echo "half an environment was left" >&2; exit 3; }
  mkdir -p "$3/bin" && cp "$0" "$3/bin/python"
  printf '#!/bin/sh\\necho "$@" >> pip.log\\n' > "$3/bin/pip" && chmod +x "$3/bin/pip"
fi
"""
pytestmark = pytest.mark.skipif(shutil.which("make") is None, reason="no make on this machine")


@pytest.fixture
def clone(tmp_path):
    (tmp_path / "requirements").mkdir()
    for name in ("Makefile", "pyproject.toml", "requirements/core.txt"):
        shutil.copy(ROOT / name, tmp_path / name)
    (tmp_path / "stub").write_text(STUB)
    (tmp_path / "stub").chmod(0o755)
    return tmp_path


def made(clone):
    """What make printed, and how often pip ran."""
    environment = {k: v for k, v in os.environ.items() if not k.startswith("MAKE")}
    command = ["make", ".venv/.core", f"PYTHON={clone / 'stub'}", "UV="]
    done = subprocess.run(command, cwd=clone, env=environment, capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stderr
    log = clone / "pip.log"
    count = len(log.read_text().splitlines()) if log.exists() else 0
    log.unlink(missing_ok=True)
    return done.stdout, count


def test_the_first_make_says_that_it_fetches_and_the_next_does_nothing(clone):
    said, count = made(clone)
    assert said.count("Fetching the libraries, once") == 1
    assert said.index("Fetching") < said.index("pip install")
    assert count == 2
    said, count = made(clone)
    assert "Fetching" not in said
    assert count == 0


@pytest.mark.parametrize("left", [["lib"], ["bin/python"]])
def test_a_half_made_environment_is_made_anew(left, clone):
    for name in left:
        file = clone / ".venv" / name / "half"
        file.parent.mkdir(parents=True)
        file.touch()
    assert made(clone)[1] == 2
    assert (clone / ".venv" / "bin" / "python").is_file()
    assert made(clone)[1] == 0


def test_an_environment_that_lost_its_python_is_made_anew(clone):
    made(clone)
    python = clone / ".venv" / "bin" / "python"
    python.unlink()
    python.symlink_to(clone / "gone")
    assert made(clone)[1] == 2
    assert made(clone)[1] == 0


def test_libraries_that_were_interrupted_are_fetched_again_into_the_same_environment(clone):
    made(clone)
    (clone / ".venv" / ".core").unlink()
    kept = clone / ".venv" / "kept"
    kept.touch()
    assert made(clone)[1] == 2
    assert kept.exists()
