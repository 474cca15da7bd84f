"""The reader of points: what it takes, and what it says of what it does not."""

from pathlib import Path

import numpy as np
import pytest

from trysquare.core.errors import FormatError, InputError
from trysquare.jobs.loading.points_csv import read_columns, read_points


def write(tmp_path: Path, content: str | bytes) -> Path:
    path = tmp_path / "points.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


def test_units_order_comments_and_other_columns(tmp_path: Path) -> None:
    path = write(tmp_path, "# from the floor\n\nid, y [m], x [in], Z\nP1, 0.5, 1, -2e0\n# a pause\nP2, -.25, 2, 3\n")
    assert np.allclose(read_points(path), [[25.4, 500, -2], [50.8, -250, 3]], rtol=0, atol=1e-12)


def test_in_a_plane_with_a_mark_and_line_ends_of_another_system(tmp_path: Path) -> None:
    assert read_points(write(tmp_path, "\ufeffx,y\r\n1,2\r\n3,4\r\n")).tolist() == [[1, 2], [3, 4]]


@pytest.mark.parametrize(
    ("content", "line", "words"),
    [
        ('x,y,z\n1,2,3\n"1,5",2,3\n', 3, ["no comma", '"1,5"', 'Write "1.5"']),
        ("x,y,z\n1,5,2,3\n", 2, ["3 columns", "got 4", "point as decimal sign"]),
        ("x,y,z\n1,2,3\n1,2,nan\n", 3, ["z must be finite", '"nan"']),
        ("x,y,z\n1,2,three\n", 2, ["z must be a number", '"three"']),
        ("x,y,z\n1,,3\n", 2, ["y must be a number", '""']),
        ("x,y,z\n1,2\n", 2, ["3 columns", "got 2", "Fill in"]),
        ("x,y,z\n1_0,2,3\n", 2, ["must be a number"]),
        ("x,z\n1,2\n", 1, ["the header", "without y"]),
        ("1,2,3\n4,5,6\n", 1, ["the header", "without x and y"]),
        ("x,x,y\n1,2,3\n", 1, ["column x must stand once"]),
        ("x,y,z\n", 1, ["points below its header"]),
        (b"x,y,z\n1,2,3\n1,2,\xff\n", 3, ["UTF-8", "0xff"]),
    ],
)
def test_file_and_line(tmp_path: Path, content: str | bytes, line: int, words: list[str]) -> None:
    path = write(tmp_path, content)
    with pytest.raises(FormatError) as info:
        read_points(path)
    assert info.value.line == line
    assert str(info.value).startswith(f"{path}:{line}: ")
    for word in words:
        assert word in str(info.value)


def test_empty_missing_and_a_strange_unit(tmp_path: Path) -> None:
    with pytest.raises(FormatError, match="empty file"):
        read_points(write(tmp_path, "# nothing\n"))
    with pytest.raises(FormatError, match="must be there to read"):
        read_points(tmp_path / "other.csv")
    with pytest.raises(InputError, match=r"points.csv:1: column x.*furlong"):
        read_points(write(tmp_path, "x [furlong],y\n1,2\n"))


def test_one_more_column_by_its_name(tmp_path: Path) -> None:
    path = write(tmp_path, "id,x,y,z,Area [mm2]\nP1,1,2,3,0.5\nP2,4,5,6,2\n")
    points, area = read_columns(path, "area")
    assert points.tolist() == [[1, 2, 3], [4, 5, 6]]
    assert area.tolist() == [0.5, 2]
    with pytest.raises(FormatError, match='one column "weight"'):
        read_columns(path, "weight")


@pytest.mark.parametrize("cell", ["1", " 1.25 ", "+.5", "-2e-3", "1e-320", "12345678901234567890", "0.1", '"7"'])
def test_quick_and_careful_reading_agree_to_the_last_bit(cell: str, tmp_path: Path) -> None:
    """A quoted name in a column of its own sends the whole file the careful way."""
    quick = read_points(write(tmp_path, f"x,y,id\n{cell},3,a\n"))
    careful = read_points(write(tmp_path, f'x,y,id\n{cell},3,"a,b"\n'))
    assert quick.tobytes() == careful.tobytes()
