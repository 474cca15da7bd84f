"""Grains, cloud, chain, floor and view: they show what the document says, and no word leaves its drawing."""

import re

import pytest
from report_checks import collisions, lines, overflows
from report_sample import sample

from trysquare.chance.sources import LINKS
from trysquare.jobs.result import Contribution
from trysquare.report.axis import axis_cloud
from trysquare.report.chain import chain, standing_chain
from trysquare.report.floor import floor_plan, view
from trysquare.report.grains import beyond_count, grains
from trysquare.report.threads import UNTRACED, threads
from trysquare.report.where import where_it_is

RESULT = sample()
BY_ID = {j.id: j for j in RESULT.requirements}
LEVELS = RESULT.belief_at
FLOOR = RESULT.floor
assert FLOOR is not None


@pytest.mark.parametrize("j", RESULT.requirements, ids=lambda j: j.id)
def test_no_word_leaves_its_drawing(j) -> None:  # type: ignore[no-untyped-def]
    assert [(svg[:60], overflows(svg)) for svg in every_drawing(j) if overflows(svg)] == []


@pytest.mark.parametrize("j", RESULT.requirements, ids=lambda j: j.id)
def test_no_words_lie_on_each_other(j) -> None:  # type: ignore[no-untyped-def]
    assert [(svg[:60], collisions(svg)) for svg in every_drawing(j) if collisions(svg)] == []


def every_drawing(j) -> list[str]:  # type: ignore[no-untyped-def]
    plans = [floor_plan(FLOOR, j), floor_plan(FLOOR, j, height=205)]
    views = [where_it_is(FLOOR, j), where_it_is(FLOOR, j, height=250)]
    chains = [chain(j), chain(j, width=930, thick=112), chain(j, width=930, thick=40, drop=24), standing_chain(j)]
    return [svg for svg in (grains(j, LEVELS), axis_cloud(j), *chains, *plans, *views) if svg]


def test_the_checks_of_words_can_fail() -> None:
    head = '<svg viewBox="0 0 100 20">'
    word = '<text x="{}" y="12" font-size="12">Bearing bore</text>'
    assert overflows(f"{head}{word.format(2)}</svg>") == []
    assert overflows(f"{head}{word.format(60)}</svg>") == ["Bearing bore"]
    assert collisions(f"{head}{word.format(2)}{word.format(20)}</svg>") == [("Bearing bore", "Bearing bore")]


def test_a_name_too_long_for_the_sheet_is_written_smaller() -> None:
    j = BY_ID["36"]
    seen = j.where[0].model_copy(update={"feature": "a very long name of a hole that nobody would choose " * 2})
    svg = where_it_is(FLOOR, j.model_copy(update={"where": [seen]}))
    assert overflows(svg) == []


@pytest.mark.parametrize(("ident", "count"), [("36", 2), ("11", 0), ("80", 20), ("61", 20), ("43", 1)])
def test_grains_beyond_a_limit(ident: str, count: int) -> None:
    # risks 9.2 %, under 0.1 %, over 99.9 %, 99.8 %, 6.8 %; grains stand at 2.5, 7.5, ... 97.5 % (analytic)
    assert beyond_count(BY_ID[ident], LEVELS) == count
    assert f"{count} beyond a limit" in grains(BY_ID[ident], LEVELS)


def test_every_grain_is_drawn_and_none_lies_across_a_post() -> None:
    svg = grains(BY_ID["36"], LEVELS)
    inside = re.search(r'd="((?:M[-\d.]+ [-\d.]+h0)+)" stroke="var\(--hump\)" stroke-width="([\d.]+)"', svg)
    past = re.search(r'd="((?:M[^"]*?z)+)" fill="var\(--past\)"', svg)
    assert inside is not None
    assert past is not None
    places = [float(x) for x in re.findall(r"M([-\d.]+) ", inside[1])]
    assert len(places) + past[1].count("z") == 20
    assert max(places) + float(inside[2]) / 2 <= 480
    assert min(float(x) for x in re.findall(r"M([-\d.]+) ", past[1])) > 480


def test_the_cloud_counts_what_lies_beyond() -> None:
    j = BY_ID["36"]
    assert j.axis is not None
    beyond = sum(x * x + y * y > j.axis.radius**2 for x, y in j.axis.draws[:200])
    svg = axis_cloud(j)
    assert 0 < beyond < 200
    assert f"{beyond} of 200 draws lie beyond" in svg
    assert svg.count("h0") == 200 - beyond


def test_between_two_planes_only_the_first_direction_counts() -> None:
    j = BY_ID["14"]
    assert j.axis is not None
    far = j.axis.model_copy(update={"draws": [(0.0, 9.0), (9.0, 0.0)]})
    assert "1 of 2 draws lie beyond" in axis_cloud(j.model_copy(update={"axis": far}))


def widths(svg: str) -> list[float]:
    return [float(w) for w in re.findall(r'H[\d.]+" fill="none" stroke="var\(--[\w-]+\)" stroke-width="([\d.]+)"', svg)]


def test_threads_are_as_wide_as_their_shares() -> None:
    j = BY_ID["36"]
    drawn = widths(chain(j, thick=150))
    shares = [t.share for t in threads(j.contributions, j.remainder)]
    assert sum(shares) == pytest.approx(1.0, abs=0.001)
    wide = [(w, s) for w, s in zip(drawn, shares, strict=True) if s > 0.05]
    ratios = [(w + 1.1) / s for w, s in wide]
    assert max(ratios) - min(ratios) < 0.02 * max(ratios)


def test_a_rope_of_one_source_still_fits_its_column() -> None:
    one = [Contribution(source="air", link="corrected reading", share=1.0)]
    svg = chain(BY_ID["36"].model_copy(update={"contributions": one, "remainder": 0.0}))
    assert widths(svg)[0] == pytest.approx(190, abs=1.5)  # the whole rope, in a column that made room for it
    assert overflows(svg) == []


def test_the_remainder_is_a_thread_of_its_own_and_never_scaled_away() -> None:
    parts = threads([Contribution(source="air", link="reading", share=0.9)], 0.1)
    assert [(t.name, t.share) for t in parts] == [("air", 0.9), (UNTRACED, 0.1)]
    assert [t.name for t in threads([Contribution(source="air", link="reading", share=1.2)], -0.2)] == ["air"]


def test_small_sources_at_one_link_go_together_and_lose_nothing() -> None:
    many = [Contribution(source=f"s{i}", link="reading", share=0.004) for i in range(5)]
    (together,) = threads(many, None)
    assert together.name == "5 smaller ones"
    assert together.share == pytest.approx(0.02)


def test_many_sources_at_one_link_are_still_readable() -> None:
    many = [Contribution(source=f"micrometer-{i}: reading the display", link="reading", share=0.1) for i in range(9)]
    crowded = BY_ID["36"].model_copy(update={"contributions": many, "remainder": 0.1})
    assert [t.name for t in threads(many, 0.1)][-2:] == ["4 smaller ones", UNTRACED]
    for svg in (chain(crowded), chain(crowded, width=930, thick=40, drop=24), standing_chain(crowded)):
        assert overflows(svg) == []
        assert collisions(svg) == []


def test_the_chain_names_all_seven_links() -> None:
    words = " ".join(line.words for line in lines(chain(BY_ID["36"])))
    assert all(link.split()[0].capitalize() in words for link in LINKS)


def test_the_floor_is_to_scale() -> None:
    v = view(FLOOR)
    (xa, ya), (xb, yb) = v.at((0.0, 0.0, 0.0)), v.at((1000.0, 500.0, 0.0))
    assert (xb - xa, ya - yb) == pytest.approx((1000 * v.scale, 500 * v.scale))
    svg = floor_plan(FLOOR, BY_ID["36"])
    bar = re.search(r"v8M[\d.]+ [\d.]+v8M[\d.]+ [\d.]+h([\d.]+)", svg)
    assert bar is not None
    assert float(bar[1]) == pytest.approx(2000 * v.scale, abs=0.06)
    assert ">2 m<" in svg
    assert "3.9 m" in svg  # station 1 to the third dowel hole: (1830, 3320, 900) mm, length 3896 mm (by hand)
