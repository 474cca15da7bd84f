"""Lines of keys in TOML texts. Every expected line is counted by hand in the text shown (analytic)."""

import tomllib

import pytest

from trysquare.jobs.loading.locate import lines_of, nearest_line

TEXT = '''# a comment with [brackets] and key = 1
title = "a # b [c]"   # 2
tie = [
  "T1", # 4
  "T2",
]
text = """
[not.a.table]
key = 1 \\"""
"""          # 10

[part]
name = 'x = 1'
[[part.zone]]          # 14
name = "body"
temperature = { value = 23.8, gradient = { along = [0, 0, 1], per_m = 0.6 } }
[[part.zone]]
"odd key".inner = 1
[part.zone.deeper]     # 19
when = 2026-11-20 06:40:00
[target."ball 38.1"]
diameter = 38.1
'''


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("title",), 2),
        (("tie",), 3),
        (("tie", 0), 4),
        (("tie", 1), 5),
        (("text",), 7),
        (("part",), 12),
        (("part", "name"), 13),
        (("part", "zone", 0), 14),
        (("part", "zone", 0, "name"), 15),
        (("part", "zone", 0, "temperature", "gradient", "per_m"), 16),
        (("part", "zone", 1), 17),
        (("part", "zone", 1, "odd key", "inner"), 18),
        (("part", "zone", 1, "deeper"), 19),
        (("part", "zone", 1, "deeper", "when"), 20),
        (("target", "ball 38.1", "diameter"), 22),
    ],
)
def test_every_key_has_its_line(path, line):
    tomllib.loads(TEXT)  # the text is valid
    assert lines_of(TEXT)[path] == line


def test_no_key_is_invented():
    assert ("not", "a", "table") not in lines_of(TEXT)
    assert ("key",) not in lines_of(TEXT)


def test_a_missing_key_is_placed_at_what_is_around_it():
    lines = lines_of(TEXT)
    assert nearest_line(lines, ("part", "zone", 0, "material")) == 14
    assert nearest_line(lines, ("absent",)) is None


def test_windows_line_ends_count_once():
    assert lines_of(TEXT.replace("\n", "\r\n")) == lines_of(TEXT)


def test_strings_of_all_kinds_are_stepped_over():
    text = "a = '''\nb = 1'''''\nc = \"\\\"d = 2\"\ne = \"\"\nf = ''\n\"g\\u0041\" = 1\n"
    assert set(tomllib.loads(text)) == {"a", "c", "e", "f", "gA"}
    assert lines_of(text) == {
        ("a",): 1,
        ("c",): 3,
        ("e",): 4,
        ("f",): 5,
        ("gA",): 6,
    }
