"""The sentences on top: what holds, what goes to the laboratory, what holds only if, what nobody holds."""

import re

import pytest
from choose_jobs import TEXT, job_of, sharper

from trysquare.choose.conclude import money
from trysquare.choose.matrix import choose
from trysquare.choose.result import Cost
from trysquare.choose.text import summary

#: The block with tighter zones, and a name for one requirement.
_TIGHT = (
    TEXT.replace("lower = -0.1, upper = 0.1", "lower = -0.03, upper = 0.03")
    .replace("zone = 0.05", "zone = 0.02")
    .replace('"diameter 0.2"', '"diameter 0.06"')
    .replace('id = "axes"', 'id = "9"\nname = "Axes apart"')
)


@pytest.fixture(scope="module")
def tight(tmp_path_factory):
    return job_of(_TIGHT, tmp_path_factory.mktemp("tight"))


def test_the_rest_goes_to_the_lab(tight):
    found = choose(tight, known=sharper(1.0, "bore gauge", "laser tracker", "lab measuring machine"), draws=200)
    held = {c.requirement for c in found.matrix if c.word == "holds" and c.instrument != "lab measuring machine"}
    assert found.conclusion.startswith(f"Bore gauge and laser tracker hold {len(held)} of 13 for ")
    assert f" {13 - len(held)} more go to the lab for " in found.conclusion
    assert "here the best instrument would eat at least " in found.conclusion
    assert {x.requirement for x in found.lab} == {r.id for r in tight.requirements} - held
    assert all(x.holds == "lab measuring machine" for x in found.lab)
    chosen = next(s for s in found.sets if s.chosen)
    assert chosen.covers == 13
    assert {i for i, name in chosen.by.items() if name == "lab measuring machine"} == {x.requirement for x in found.lab}
    alone = next(s for s in found.sets if s.instruments == ["lab measuring machine"])
    assert ("alone would hold 13" in found.conclusion) == (alone.cost.middle < chosen.cost.middle)


def test_without_a_lab_there_are_actions_and_nobody(tight):
    found = choose(tight, known=sharper(1.0, "laser tracker"), draws=200)
    assert "only with an action named" in found.conclusion
    assert "Nobody here holds" in found.conclusion
    assert all(x.holds is None for x in found.lab)
    axes = next(x for x in found.lab if x.requirement == "9")
    assert axes.name == "Axes apart"
    assert axes.best == "laser tracker"
    assert axes.why.startswith("Here the best choice, the laser tracker, would eat ")
    text = summary(found)
    assert "9 Axes apart" in text
    assert not re.search(r"\d\n *(%|EUR|mm)", text)


def test_the_lab_by_itself(tight):
    found = choose(tight, known=sharper(1.0, "lab measuring machine"), draws=200)
    assert found.conclusion.startswith("Lab measuring machine holds 13 of 13 for ")


def test_money_is_said_to_the_nearest_ten():
    assert money(Cost(low=1234.0, high=2866.0)) == "1230 to 2870 EUR"
    assert money(Cost(low=21.0, high=22.0)) == "20 EUR"
