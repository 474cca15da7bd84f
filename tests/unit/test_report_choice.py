"""The choice: cells, chosen set, cost against requirements held."""

import re

import pytest
from choice_sample import sample_choice
from report_checks import collisions, overflows

from trysquare.report.choice import Cell, Group, Need, cell_picture, doubt, held, matrix
from trysquare.report.choice_page import choice_page
from trysquare.report.costs import cost_plot, frontier

CHOICE = sample_choice()


def test_doubt_is_the_guard_band_as_a_share_of_the_zone() -> None:
    cell = Cell(0.036, 0.08, "holds")
    assert doubt(Need("1", "n", "position", "", 0.4), cell) == pytest.approx(1.645 * 0.036 / 0.4)
    assert doubt(Need("1", "n", "size", "", 0.04, limits="both"), cell) == 0.5  # two bands fill the zone
    assert doubt(Need("1", "n", "size", "", 0.04), Cell()) == 0.0


@pytest.mark.parametrize("limits", ["both", "zero", "least", "most"])
def test_the_bar_is_what_doubt_leaves(limits: str) -> None:
    need = Need("1", "n", "size", "", 0.4, limits=limits)  # type: ignore[arg-type]
    svg = cell_picture(need, Cell(0.05, 0.08, "holds"))
    bar = re.search(r"M([\d.]+) 20\.5H([\d.]+)", svg)
    assert bar is not None
    share = 1.645 * 0.05 / 0.4
    low = 3 + (112 * share if limits in ("both", "least") else 0)
    high = 115 - (112 * share if limits != "least" else 0)
    assert (float(bar[1]) - 1, float(bar[2])) == pytest.approx((low, high), abs=0.06)


def test_words_of_a_cell() -> None:
    need = Need("1", "n", "position", "", 0.4)
    assert "stroke-dasharray" in cell_picture(need, Cell(0.05, 0.08, "holds if"))
    assert "20.5H" not in cell_picture(need, Cell(0.2, 0.08, "send out"))
    assert "cannot measure it" in cell_picture(need, Cell())


def test_the_matrix_has_every_pair_the_chosen_ones_framed() -> None:
    table = matrix(CHOICE)
    assert table.count("<td class=") == len(CHOICE.needs) * len(CHOICE.devices)
    assert table.count(" pick") == len([p for p in CHOICE.picks if p is not None])
    assert [held(CHOICE, k) for k in range(7)] == [5, 30, 3, 6, 30, 3, 40]


def test_a_dominated_set_is_not_on_the_front() -> None:
    names = [g.name for g in frontier(CHOICE.groups)]
    assert names == ["hand tools", "+ tracker", "+ scanner", "+ lab for one"]
    assert frontier([Group("a", 5, 3), Group("b", 5, 4)]) == [Group("b", 5, 4)]


def test_names_on_the_plot_stay_inside_and_apart() -> None:
    svg = cost_plot(CHOICE)
    assert overflows(svg) == []
    assert collisions(svg) == []
    assert "+ lab for one, 40 of 40" in svg


def test_the_page_stands_alone() -> None:
    text = choice_page(CHOICE).decode()
    assert re.findall(r"https?://", text) == []
    assert choice_page(CHOICE).decode() == text
    assert "What can hold it here" in text
