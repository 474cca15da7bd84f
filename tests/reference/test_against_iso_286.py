"""Sizes by code against the published tables of ISO 286.

Sources: ISO 286-1 in two public tabulations (see `iso_286_rows`; label: independent computation, facts of the
standard); limits of ISO 286-2 as workshop tables have them (label: certified by the standard, from memory); the
formulas of ISO 286-1:1988 (label: analytic, from memory).
"""

import math
import re
from itertools import pairwise

import pytest
from iso_286_rows import DELTAS, LETTERS, MISPRINTS, ROWS, TOLERANCES

from trysquare.core.errors import InputError
from trysquare.tolerances.limits_and_fits import LETTERS as HOLES
from trysquare.tolerances.limits_and_fits import limits, standard_tolerance_mm

FINE_ROWS = [line.split() for line in ROWS.split("\n") if line]
STEPS = [line.split() for line in TOLERANCES.split("\n") if line]


def um(nominal, code):
    found = limits(nominal, code)
    return round(1000 * found.lower_mm, 3), round(1000 * found.upper_mm, 3)


@pytest.mark.parametrize("row", FINE_ROWS, ids=lambda row: row[0])
def test_fundamental_deviations_of_shafts(row):
    """Source: second tabulation. Both the end of a step and a size just over its start."""
    ends = [0.0, *(float(r[0]) for r in FINE_ROWS)]
    end = float(row[0])
    for size in (end, max(ends[ends.index(end) - 1] + 0.01, 1.01)):
        for letter, printed in zip(LETTERS, row[1:], strict=True):
            if printed == "-":
                with pytest.raises(InputError):
                    limits(size, f"{letter}6")
            else:
                lower, upper = um(size, f"{letter}6")
                assert (-upper if letter in "abcdefg" else lower) == float(printed), (size, letter)


@pytest.mark.parametrize("row", STEPS, ids=lambda row: row[0])
def test_standard_tolerances(row):
    for grade, printed in enumerate(row[1:], 1):
        assert standard_tolerance_mm(float(row[0]), str(grade)) == pytest.approx(float(printed) / 1000, abs=1e-12)


def test_delta_is_as_printed():
    """R of grade 3 to 7 and K of grade 8 against the same letter in a grade without delta."""
    for line in (line.split() for line in DELTAS.split("\n") if line):
        size = float(line[0])
        for grade, printed in zip(range(3, 8), line[1:6], strict=True):
            assert um(size, f"R{grade}")[1] - um(size, "R8")[1] == pytest.approx(float(printed)), (size, grade)
        assert um(size, "M8")[1] - um(size, "M9")[1] == pytest.approx(float(line[6])), size


#: ISO 286-2:2010 as workshop tables print it, um: lower, upper. From memory.
PUBLISHED = [
    (62, "H7", 0, 30), (40, "g6", -25, -9), (30, "P7", -35, -14), (25, "h9", -52, 0), (25, "H11", 0, 130),
    (50, "f7", -50, -25), (50, "k6", 2, 18), (50, "K7", -18, 7), (50, "M7", -25, 0), (50, "N7", -33, -8),
    (50, "N9", -62, 0), (50, "P7", -42, -17), (50, "p6", 26, 42), (50, "r6", 34, 50), (50, "s6", 43, 59),
    (10, "j6", -2, 7), (10, "J7", -7, 8), (80, "j6", -7, 12), (80, "J6", -6, 13), (80, "E9", 60, 134),
    (80, "D10", 100, 220), (120, "F8", 36, 90), (120, "c11", -400, -180), (300, "M6", -41, -9), (260, "M7", -52, 0),
    (3, "K7", -10, 0), (3, "N9", -29, -4), (2, "k6", 0, 6), (6, "m6", 4, 12), (18, "H6", 0, 11), (180, "e8", -148, -85),
    (250, "u6", 284, 313), (500, "H8", 0, 97), (12, "JS9", -21.5, 21.5), (25, "js8", -16.5, 16.5),
    (180, "zc8", 1000, 1063),
    (630, "H7", 0, 70), (800, "g6", -74, -24), (1000, "h11", -560, 0), (8, "P9", -51, -15), (14, "P9", -61, -18),
]  # fmt: skip


@pytest.mark.parametrize(("nominal", "code", "lower", "upper"), PUBLISHED)
def test_limits_as_published(nominal, code, lower, upper):
    assert um(nominal, code) == (lower, upper)


#: PN-EN ISO 286-1:2011 in a third tabulation (repository isoFits, file odchylki.py, read 2026-11), um: up to (mm),
#: CD, EF, FG; J6, J7, J8; k of grades 4 to 7; j6, j7.
SMALL = """
3 34 10 4 2 4 6 0 2 4
6 46 14 6 5 6 10 1 2 4
10 56 18 8 5 8 12 1 2 5
18 70 23 10 6 10 15 1 3 6
30 85 28 12 8 12 20 2 4 8
50 100 35 15 10 14 24 2 5 10
80 - - - 13 18 28 2 7 12
120 - - - 16 22 34 3 9 15
180 - - - 18 26 41 3 11 18
250 - - - 22 30 47 4 13 21
315 - - - 25 36 55 4 16 26
400 - - - 29 39 60 4 18 28
500 - - - 33 43 66 5 20 32
"""


@pytest.mark.parametrize("line", SMALL.strip().split("\n"), ids=lambda line: line.split()[0])
def test_the_letters_between_and_those_about_the_nominal(line):
    size, *printed = line.split()
    codes = (("CD8", 0), ("EF8", 0), ("FG8", 0), ("J6", 1), ("J7", 1), ("J8", 1), ("k6", 0), ("j6", 0), ("j7", 0))
    for (code, end), figure in zip(codes, printed, strict=True):
        if figure == "-":
            with pytest.raises(InputError):
                limits(float(size), code)
        else:
            assert um(float(size), code)[end] == (-1 if code[0] == "j" else 1) * float(figure), code


def test_a_wrong_digit_would_be_seen():
    """Negative twin: what the second tabulation misprints is not what the code has."""
    for (letter, end), (misprint, used, _) in MISPRINTS.items():
        found = -um(float(end), f"{letter}6")[1]
        assert found == used
        assert found != misprint


#: Letters with a formula of the table "Formulae for fundamental deviations" of ISO 286-1:1988, D up to 500 mm, um.
FORMULA = {
    "d": lambda d, it: 16 * d**0.44, "e": lambda d, it: 11 * d**0.41, "f": lambda d, it: 5.5 * d**0.41,
    "g": lambda d, it: 2.5 * d**0.34, "m": lambda d, it: it["7"] - it["6"], "n": lambda d, it: 5 * d**0.34,
}  # fmt: skip


def test_tables_follow_their_formulas_within_rounding():
    """Analytic: the geometric mean of a step in the published formula; the tables round it, so a few per cent."""
    for low, high in pairwise([3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500]):
        mean = math.sqrt(low * high)
        it = {g: 1000 * standard_tolerance_mm(high, g) for g in ("6", "7")}
        for letter, formula in FORMULA.items():
            lower, upper = um(high, f"{letter}6")
            found = -upper if letter in "defg" else lower
            assert found == pytest.approx(formula(mean, it), rel=0.04, abs=0.6), (high, letter)


def test_between_letters_are_geometric_means():
    """Analytic: cd, ef and fg are the geometric means of their neighbours up to 50 mm (ISO 286-1:1988, formulas)."""
    for size in (3, 6, 10, 14, 18, 24, 30, 40):
        for pair in ("CD", "EF", "FG"):
            apart = [um(size, f"{letter}8")[0] for letter in pair]
            assert um(size, f"{pair}8")[0] == pytest.approx(math.sqrt(apart[0] * apart[1]), abs=2.1), (size, pair)


@pytest.mark.parametrize(
    ("nominal", "code", "words"),
    [
        (62, "Q7", "fundamental deviation"), (62, "H19", "grade"), (62, "62 H7", "nominal"), (62, "H7/g6", "fit"),
        (62, "Js7", "fundamental deviation"), (3150.1, "H7", "3150 mm"), (0, "H7", "above 0"), (600, "h01", "600 mm"),
        (20, "t6", "20 mm"), (14, "v7", "14 mm"), (18, "y7", "18 mm"), (50.1, "cd8", "50.1 mm"), (600, "a9", "600 mm"),
        (600, "z8", "600 mm"), (1, "a9", "1 mm"), (50, "K9", "50 mm"), (50, "P2", "50 mm"), (5, "j8", "5 mm"),
        (50, "J9", "50 mm"), (1, "N9", "1 mm"), (25, "ef7", "25 mm"), (62, "H7 E", "envelope"),
        (float("nan"), "H7", "nan"),
    ],
)  # fmt: skip
def test_what_the_standard_does_not_have(nominal, code, words):
    with pytest.raises(InputError) as refused:
        limits(nominal, code)
    assert re.search(words, str(refused.value))
    assert refused.value.way_out


def test_all_letters_are_there():
    """28 of each kind (ISO 286-1:2010, 4.2)."""
    assert len(HOLES) == 28
    for letter in HOLES:
        size = 40 if letter != "J" else 30
        assert limits(size, f"{letter}7").hole


#: Grades 01 and 0 of the third tabulation, um, up to 500 mm.
FINEST = [(3, 0.3, 0.5), (6, 0.4, 0.6), (10, 0.4, 0.6), (18, 0.5, 0.8), (30, 0.6, 1), (50, 0.6, 1), (80, 0.8, 1.2),
          (120, 1, 1.5), (180, 1.2, 2), (250, 2, 3), (315, 2.5, 4), (400, 3, 5), (500, 4, 6)]  # fmt: skip


def test_the_finest_grades():
    for size, *printed in FINEST:
        assert [round(1000 * standard_tolerance_mm(size, grade), 3) for grade in ("01", "0")] == printed
