"""A sound small job (tests/formats/job-1) in a folder of its own, with one thing changed."""

import shutil
from pathlib import Path

JOB = Path(__file__).parents[1] / "formats" / "job-1"


def job_with(folder: Path, *edits: tuple[str, str, str]) -> Path:
    """Copy the job to `folder` and replace in files: (file, old text, new text), each old text found exactly once.

    An old text of "" stands for the whole file; "<<" before the first table of a TOML file.
    """
    target = folder / "job"
    shutil.copytree(JOB, target)
    for file, old, new in edits:
        path = target / file
        if old == "":
            path.write_text(new, encoding="utf-8")
            continue
        text = path.read_text(encoding="utf-8")
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in {file}"
        path.write_text(text.replace(old, new), encoding="utf-8")
    return target
