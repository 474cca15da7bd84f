"""The matrix as a whole, on the block: extremes of sharpness, reasons, actions, the same digits."""

import math
from dataclasses import replace

import pytest
from choose_jobs import BAR, TEXT, block_job, job_of, sharper

from trysquare.choose.matrix import choose
from trysquare.choose.text import codes, folded, summary
from trysquare.core.errors import Cancelled, InputError
from trysquare.core.threads import threads
from trysquare.instruments.catalogue import classes

_FEW = ("laser tracker", "articulated arm", "bore gauge", "lab measuring machine")


@pytest.fixture(scope="module")
def block(tmp_path_factory):
    return block_job(tmp_path_factory.mktemp("block"))


@pytest.fixture(scope="module")
def usual(block):
    return choose(block, known=sharper(1.0, *_FEW), draws=200)


def test_perfect_instruments_hold_everything_they_can_measure(tmp_path):
    """With a ball of no doubt either: what is left is the part's temperature and the form between the points."""
    block = job_of(TEXT.replace('"2 um"', '"0.1 um"'), tmp_path)
    found = choose(block, known=sharper(1e-6), draws=200)
    words = {c.word for c in found.matrix}
    assert words == {"holds", None}
    assert sum(c.word == "holds" for c in found.matrix) > 60
    assert found.sets[0].covers == len(block.requirements)
    assert found.lab == []


def test_instruments_a_hundred_times_worse_hold_nothing(block):
    """Negative twin: the same job, the same code."""
    found = choose(block, known=sharper(100.0), draws=200)
    assert "holds" not in {c.word for c in found.matrix}
    assert sum(c.word == "send out" for c in found.matrix) > 60
    assert found.sets == []
    assert len(found.lab) == len(block.requirements)
    assert found.conclusion.startswith("No instrument here holds any of the 13 requirements")


def test_every_cell_has_its_reason(usual, block):
    assert len(usual.matrix) == len(block.requirements) * len(_FEW)
    for cell in usual.matrix:
        assert cell.why.endswith(".")
        assert (cell.predicted_u is None) == (cell.left is None)
        if cell.word is None:
            assert cell.predicted_u is None
        if cell.word == "holds if":
            assert cell.action
        if cell.predicted_u is not None:
            assert cell.predicted_u > 0
            assert f"{100 * cell.left:.0f} %" in cell.why or cell.word == "send out"
            assert cell.largest in cell.why


def test_words_follow_the_share_that_is_left(usual):
    for cell in usual.matrix:
        if cell.left is None:
            continue
        assert (cell.word == "holds") == (cell.left >= 0.6)
        if cell.word == "send out":
            assert cell.left < 0.25
        if cell.action_u is not None:
            assert cell.word == "holds if"
            assert cell.action_u <= cell.target_u < cell.predicted_u


def test_a_remedy_is_tried_out_in_both_faces(block):
    """A tracker whose axes are out of true: both faces bring it back; one face alone does not."""
    tracker = classes()["laser tracker"]
    bad = {k: replace(p, u=25 * p.u) if k == "collimation" else p for k, p in tracker.parameters.items()}
    found = choose(block, known={"laser tracker": replace(tracker, parameters=bad)}, draws=200)
    cell = found.cell("axes", "laser tracker")
    assert cell.largest == "geometry of the axes"
    assert cell.word == "holds if"
    assert cell.action == "measure in both faces"
    assert cell.action_u < 0.5 * cell.predicted_u


def test_temperature_calls_for_a_thermometer(tmp_path):
    """An aluminium bar whose temperature nobody knows well: u = a L u(T), 23 um, falls with the thermometer."""
    text = BAR.replace('"steel"', '"aluminium 6061"').replace("u = 0.3", "u = 1").replace("0.05", "0.12")
    found = choose(job_of(text, tmp_path), known=sharper(1.0, "laser tracker", "lab measuring machine"), draws=300)
    cell = found.cell("length", "laser tracker")
    assert cell.largest == "part temperature"
    assert cell.action == "measure the part's temperature to 0.1 K"
    assert cell.action_u < 0.7 * cell.predicted_u
    assert found.cell("length", "lab measuring machine").word == "holds"
    assert found.lab[0].holds == "lab measuring machine"
    assert [s.instruments for s in found.sets if s.chosen] == [["lab measuring machine"]]
    assert any(text.startswith("Lifting") for text in found.cautions)


def test_the_same_seed_gives_the_same_document_on_one_thread_and_two(block, usual):
    for n in (1, 2):
        with threads(n):
            again = choose(block, known=sharper(1.0, *_FEW), draws=200)
        assert again.as_bytes() == usual.as_bytes()
    other = choose(block, known=sharper(1.0, "laser tracker"), draws=200, seed=99)
    assert other.cell("depth", "laser tracker").predicted_u != usual.cell("depth", "laser tracker").predicted_u


def test_other_classes_change_no_cell(block, usual):
    alone = choose(block, known=sharper(1.0, "laser tracker"), draws=200)
    for r in block.requirements:
        assert alone.cell(r.id, "laser tracker") == usual.cell(r.id, "laser tracker")


def test_progress_reaches_the_end_and_can_cancel(block):
    seen = []
    known = sharper(1.0, "bore gauge", "calliper")
    choose(block, known=known, draws=100, progress=seen.append)
    assert seen == [0.5, 1.0]

    def stop(done):
        raise Cancelled("choosing")

    with pytest.raises(Cancelled):
        choose(block, known=known, draws=100, progress=stop)


def test_bad_questions_are_refused(block):
    with pytest.raises(InputError, match="at least 100"):
        choose(block, draws=50)
    with pytest.raises(InputError, match="have a requirement"):
        choose(replace(block, requirements=()))


def test_the_text_fits_eighty_columns(usual):
    lines = summary(usual).split("\n")
    assert max(len(line) for line in lines) <= 80
    assert lines[3].startswith(usual.conclusion[:20])
    assert any(line.startswith("held of 13") for line in lines)
    assert any("Laser light" in line for line in lines)
    assert sum(len(row.wanted) for row in folded(usual)) == 13


def test_short_names_are_all_different():
    short = codes(list(classes()))
    assert len(set(short.values())) == len(classes())
    assert short["laser tracker"] == "trac"
    assert short["height gauge"] == "heig"
    assert all(len(code) <= 4 for code in codes([f"odd scanner {i}" for i in range(12)]).values())


def test_costs_are_ranges_of_the_class_and_minutes(usual):
    """By hand: one reading with the bore gauge, 1 to 3 minutes at 70 EUR an hour, on top of its range."""
    gauge = next(i for i in usual.instruments if i.name == "bore gauge")
    cost = classes()["bore gauge"].cost
    assert gauge.cost.low == pytest.approx(cost.job_EUR[0] + gauge.holds * cost.minutes_per_feature[0] / 60 * 70)
    assert gauge.cost.high == pytest.approx(cost.job_EUR[1] + gauge.holds * cost.minutes_per_feature[1] / 60 * 70)
    assert math.isfinite(gauge.cost.middle)
