"""Folders that cannot be written, a disk that fills up, a process that is killed: files are whole, or as they were."""

import errno
import json
import os
import pty
import resource
import select
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from small_jobs import bench_job, block_job

from trysquare.cli.main import main
from trysquare.core.errors import StoreError
from trysquare.core.files import write_atomic, write_together

FILES = ("result.json", "requirements.csv", "report.html")


def told(capsys) -> dict[str, str]:
    """The error on standard error, in its one shape; nothing on standard output."""
    out, err = capsys.readouterr()
    assert out == ""
    error = json.loads(err)["error"]
    assert set(error) == {"where", "what", "rule", "found", "way_out"}
    assert all(error.values())
    return error


def judged(job: Path, out: Path) -> int:
    return main(["judge", str(job), "--out", str(out), "--no-pdf", "--json"])


def test_a_folder_below_a_file_is_refused_before_the_work(tmp_path, capsys, monkeypatch):
    job, file = bench_job(tmp_path / "job"), tmp_path / "file"
    file.write_text("in the way")
    monkeypatch.setattr("trysquare.jobs.judge.judge", lambda *a, **k: pytest.fail("judged all the same"))
    assert judged(job, file / "report") == 2
    error = told(capsys)
    assert str(file / "report") in error["where"]
    assert "writable" in error["rule"]
    assert "--out" in error["way_out"]
    assert file.read_text() == "in the way"


@pytest.mark.parametrize("at", [1, 2, 3])
def test_a_full_disk_leaves_every_earlier_file(tmp_path, capsys, monkeypatch, at):
    """The disk fills up at the first, second or third file: no space left, as the system says it."""
    job, out = bench_job(tmp_path / "job"), tmp_path / "out"
    assert judged(job, out) == 0
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    assert set(before) == set(FILES)
    capsys.readouterr()
    bench_job(tmp_path / "job", 62.02)
    count = 0

    def full(handle):
        nonlocal count
        count += 1
        if count == at:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    assert judged(job, out) == 2
    error = told(capsys)
    assert FILES[at - 1] in error["where"]
    assert error["found"] == os.strerror(errno.ENOSPC)
    assert "untouched" in error["way_out"]
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before
    monkeypatch.undo()
    assert judged(job, out) == 0  # the twin: with space the same command changes them
    assert {path.name: path.read_bytes() for path in out.iterdir()} != before


def test_a_limit_of_the_system_in_the_middle_of_a_file(tmp_path):
    """No trick of ours: the system refuses to let any file grow beyond 100 kB; the page is larger."""
    job, out = bench_job(tmp_path / "job"), tmp_path / "out"
    command = [sys.executable, "-m", "trysquare", "judge", str(job), "--out", str(out), "--no-pdf", "--json"]
    limit = lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))  # noqa: E731
    done = subprocess.run(command, preexec_fn=limit, capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 2, done.stderr
    error = json.loads(done.stderr)["error"]
    assert "report.html" in error["where"]
    assert error["found"] == os.strerror(errno.EFBIG)
    assert list(out.iterdir()) == []


def test_files_written_together_are_all_new_or_all_old(tmp_path):
    files = [tmp_path / "a", tmp_path / "b", tmp_path / "a" / "below a file"]
    write_together({files[0]: "old", files[1]: "old"})
    with pytest.raises(StoreError, match="below a file"):
        write_together(dict.fromkeys(files, "new"))
    assert [path.read_text() for path in files[:2]] == ["old", "old"]
    assert {path.name for path in tmp_path.iterdir()} == {"a", "b"}


WRITER = """
import sys
from pathlib import Path
from trysquare.core.files import write_atomic
path, size = Path(sys.argv[1]), int(sys.argv[2])
i = 0
while True:
    i += 1
    write_atomic(path, f"{i % 10}".encode() * size)
    if i == 1:
        print("ready", flush=True)
"""


def test_killed_in_the_middle_of_writing(tmp_path):
    """SIGKILL at twenty moments of a process that does nothing but write 2 MB: the file is one content, whole."""
    target, size = tmp_path / "target", 2_000_000
    left = 0
    for i in range(20):
        child = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(target), str(size)], stdout=subprocess.PIPE, text=True
        )
        assert child.stdout.readline() == "ready\n"
        time.sleep(0.003 * i)
        child.kill()
        child.wait(timeout=30)
        child.stdout.close()
        data = target.read_bytes()
        assert len(data) == size
        assert data == data[:1] * size
        unfinished = [path for path in tmp_path.iterdir() if path != target]
        left += len(unfinished)
        for path in unfinished:
            assert path.name.startswith(".target.")  # hidden: no program takes it for a result
            path.unlink()
    assert left > 0  # some kills did fall into the middle of writing, else nothing was tested


def test_killed_writing_in_place_would_show(tmp_path):
    """Negative twin: the same with a plain write is caught half-written."""
    writer = WRITER.replace('write_atomic(path, f"{i % 10}".encode() * size)', 'path.write_bytes(b"1" * size)')
    target, size = tmp_path / "target", 30_000_000
    for i in range(200):
        child = subprocess.Popen(
            [sys.executable, "-c", writer, str(target), str(size)], stdout=subprocess.PIPE, text=True
        )
        assert child.stdout.readline() == "ready\n"
        time.sleep(0.002 * (i % 20))
        child.kill()
        child.wait(timeout=30)
        child.stdout.close()
        if target.stat().st_size < size:
            return
    pytest.fail("never caught in the middle")


def test_an_interrupt_in_the_middle_of_judging(tmp_path):
    """Ctrl-C once the first draws are done, seen from the progress line of a terminal."""
    job, out = block_job(tmp_path / "job"), tmp_path / "out"
    master, slave = pty.openpty()
    command = [sys.executable, "-m", "trysquare", "judge", str(job), "--out", str(out), "--draws", "400000"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=slave, text=True, preexec_fn=_heed_interrupts)
    os.close(slave)
    said = b""
    try:
        while b"%" not in said:
            said += _read(master, 120)
        process.send_signal(signal.SIGINT)
        out_text = process.communicate(timeout=60)[0]
        while chunk := _read(master, 0.2):
            said += chunk
    finally:
        process.kill()
        process.wait()
        os.close(master)
    assert process.returncode == 130
    assert out_text == ""
    assert said.decode().rstrip().endswith("cancelled. Nothing was written.")
    assert b"Traceback" not in said
    assert not out.exists()


def _heed_interrupts() -> None:
    """A shell that runs its jobs in the background has them ignore Ctrl-C, and children inherit that."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def _read(handle: int, seconds: float) -> bytes:
    """What a terminal received, b"" once it is closed or nothing comes."""
    if not select.select([handle], [], [], seconds)[0]:
        assert seconds < 1, "no progress was ever shown"
        return b""
    try:
        return os.read(handle, 4096)
    except OSError:
        return b""


def test_write_atomic_takes_text_and_bytes(tmp_path):
    write_atomic(tmp_path / "new" / "file", "größe")
    assert (tmp_path / "new" / "file").read_text(encoding="utf-8") == "größe"
    assert (tmp_path / "new" / "file").stat().st_mode & 0o777 == 0o644
