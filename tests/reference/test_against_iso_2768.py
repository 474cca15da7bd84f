"""General tolerances against the printed tables of ISO 2768.

Sources: ISO 2768-1:1989 tables 1 to 3 and ISO 2768-2:1989 tables 1 and 2 (label: certified by the standard, from
memory), each figure found again in a public tabulation (repository rf-tolerance, DIN 2768 data: linear dimensions
and radii; a public calculator for ISO 2768, class `iso2768`: linear, flatness and squareness; another one: angles;
read 2026-11). The tabulations err in places, also against each other: squareness of class L up to 100 mm is 0.8 in
one and 0.6 in another, and 0.6 from memory; very coarse linear dimensions are one step off in one of them.
"""

import math

import pytest

from trysquare.core.errors import InputError
from trysquare.tolerances.general import angular, edge, flatness, general, linear, perpendicularity

#: Nominal size at the end of a step, mm; f, m, c, v. None: the standard has no figure.
LINEAR = [
    (3, 0.05, 0.1, 0.2, None), (6, 0.05, 0.1, 0.3, 0.5), (30, 0.1, 0.2, 0.5, 1), (120, 0.15, 0.3, 0.8, 1.5),
    (400, 0.2, 0.5, 1.2, 2.5), (1000, 0.3, 0.8, 2, 4), (2000, 0.5, 1.2, 3, 6), (4000, None, 2, 4, 8),
]  # fmt: skip
EDGES = [(3, 0.2, 0.2, 0.4, 0.4), (6, 0.5, 0.5, 1, 1), (7, 1, 1, 2, 2)]
#: Length of the shorter leg, mm; minutes of arc.
ANGLES = [
    (10, 60, 60, 90, 180),
    (50, 30, 30, 60, 120),
    (120, 20, 20, 30, 60),
    (400, 10, 10, 15, 30),
    (401, 5, 5, 10, 20),
]
FLAT = [(10, 0.02, 0.05, 0.1), (30, 0.05, 0.1, 0.2), (100, 0.1, 0.2, 0.4), (300, 0.2, 0.4, 0.8), (1000, 0.3, 0.6, 1.2),
        (3000, 0.4, 0.8, 1.6)]  # fmt: skip
SQUARE = [(100, 0.2, 0.4, 0.6), (300, 0.3, 0.6, 1), (1000, 0.4, 0.8, 1.5), (3000, 0.5, 1, 2)]


def length(stated, size):
    return linear(stated, size, of_size=True, what="a size")


@pytest.mark.parametrize("row", LINEAR, ids=lambda row: str(row[0]))
def test_linear_dimensions(row):
    size, *printed = row
    for name, figure in zip("fmcv", printed, strict=True):
        if figure is None:
            with pytest.raises(InputError):
                length(general(f"ISO 2768-{name}"), size)
        else:
            assert length(general(f"ISO 2768-{name}"), size) == figure


@pytest.mark.parametrize("row", EDGES, ids=lambda row: str(row[0]))
def test_external_radii(row):
    size, *printed = row
    for name, figure in zip("fmcv", printed, strict=True):
        assert edge(general(f"ISO 2768-{name}"), size, what="a radius") == figure


@pytest.mark.parametrize("row", ANGLES, ids=lambda row: str(row[0]))
def test_angles(row):
    leg, *printed = row
    for name, minutes in zip("fmcv", printed, strict=True):
        assert angular(general(f"ISO 2768-{name}"), leg, what="an angle") == pytest.approx(math.radians(minutes / 60))


@pytest.mark.parametrize(("table", "look_up"), [(FLAT, flatness), (SQUARE, perpendicularity)], ids=["flat", "square"])
def test_features(table, look_up):
    for side, *printed in table:
        for name, figure in zip("HKL", printed, strict=True):
            assert look_up(general(f"ISO 2768-{name}"), side, what="a plane") == figure


def test_steps_hold_their_end_and_not_their_start():
    stated = general("ISO 2768-mK")
    assert (length(stated, 30.0), length(stated, 30.001)) == (0.2, 0.3)
    assert (flatness(stated, 100.0, what="x"), flatness(stated, 100.1, what="x")) == (0.2, 0.4)


@pytest.mark.parametrize(
    ("text", "size"),
    [("ISO 2768-m", 0.49), ("ISO 2768-m", 4001), ("ISO 2768-f", 2001), ("ISO 2768-v", 3), ("ISO 2768-K", 5)],
)
def test_where_the_standard_has_nothing(text, size):
    with pytest.raises(InputError) as refused:
        length(general(text), size)
    assert refused.value.way_out == "Give this requirement a tolerance of its own."


def test_another_class_gives_another_figure():
    """Negative twin: a table read one class or one step off would be seen."""
    assert length(general("ISO 2768-m"), 50) != length(general("ISO 2768-c"), 50)
    assert length(general("ISO 2768-m"), 50) != length(general("ISO 2768-m"), 150)
