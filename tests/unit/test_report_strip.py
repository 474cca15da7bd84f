"""The tolerance strip: posts in line, the hump cut at the limits, every kind of zone."""

import re

import pytest
from report_checks import overflows
from report_sample import sample
from scipy.stats import norm

from trysquare.report.format import kind_of
from trysquare.report.strip import scale, strip

RESULT = sample()
BY_ID = {j.id: j for j in RESULT.requirements}
LEVELS = RESULT.belief_at


def drawn(ident: str, **changes: object) -> str:
    return strip(BY_ID[ident].model_copy(update=changes), LEVELS, key=ident)


@pytest.mark.parametrize("j", RESULT.requirements, ids=lambda j: j.id)
def test_posts_stand_at_the_same_place_in_every_row(j) -> None:  # type: ignore[no-untyped-def]
    svg, kind = strip(j, LEVELS, key=j.id), kind_of(j)
    posts = re.findall(r'<path d="M(\d+) 0V38" stroke="var\(--post\)"', svg)
    wall = '<path d="M113 1h7v35h-7z" fill="var(--post)"/>' in svg
    assert posts == {"both": ["120", "480"], "zero": ["480"], "least": ["120"], "most": ["480"]}[kind]
    assert wall == (kind == "zero")


@pytest.mark.parametrize("j", RESULT.requirements, ids=lambda j: j.id)
def test_no_word_leaves_the_strip(j) -> None:  # type: ignore[no-untyped-def]
    assert overflows(strip(j, LEVELS, axis=True, height=76, key=j.id)) == []


def test_limits_and_value_are_to_scale() -> None:
    x = scale(BY_ID["30"])  # 144.98 to 145.08
    assert (x(144.98), x(145.08)) == pytest.approx((120.0, 480.0))
    assert x(145.03) == pytest.approx(300.0)
    assert scale(BY_ID["36"])(0.0) == 120.0


def hatched(svg: str) -> tuple[float, float]:
    data = re.search(r'<path d="([^"]*)" stroke="var\(--doubt\)"', svg)
    assert data is not None
    numbers = [float(n) for n in re.findall(r"-?[\d.]+", data[1])]
    return min(numbers[::2]), max(numbers[::2])


def test_the_hatch_is_the_guard_band() -> None:
    # 1.645 u each side of the limit, the 95 % point of the normal distribution (independent computation: scipy)
    j = BY_ID["92"]
    reach = norm.ppf(0.95) * j.u * (480 - 120) / max(1.5 * abs(2540 - j.value), 10 * j.u)
    assert hatched(strip(j, LEVELS)) == pytest.approx((480 - reach, 480 + reach), abs=1.0)


def test_where_non_conformity_is_proven_the_hatch_lies_outside() -> None:
    low, high = hatched(drawn("36", guard=(None, -0.05)))
    assert low == pytest.approx(480, abs=0.5)
    assert high == pytest.approx(525, abs=0.5)


def test_a_zone_in_which_no_value_is_accepted_is_hatched_whole() -> None:
    assert hatched(drawn("30", guard=(None, None))) == pytest.approx((120, 480), abs=1.0)


def areas(svg: str, fill: str) -> list[tuple[float, float]]:
    spans = []
    for data in re.findall(rf'<path d="M([^"]*)Z" fill="var\(--{fill}\)"', svg):
        numbers = [float(n) for n in re.findall(r"-?[\d.]+", data)]
        spans.append((min(numbers[::2]), max(numbers[::2])))
    return spans


def test_the_hump_turns_oxide_exactly_at_the_limit() -> None:
    svg = drawn("36")
    (inside,), (past,) = areas(svg, "hump"), areas(svg, "past")
    assert inside[1] == past[0] == 480.0
    assert areas(drawn("11"), "past") == []  # well inside: nothing beyond


def test_beyond_the_low_limit_too() -> None:
    past = areas(drawn("91"), "past")
    assert [span[1] for span in past] == [120.0]


def test_off_the_scale_an_arrow_tells_the_excess() -> None:
    svg = drawn("80")
    assert "+2.58" in svg
    assert areas(svg, "hump") == []
    assert "−" in drawn("30", value=140.0)


def test_without_an_interval_the_notch_is_hollow_on_a_dotted_line() -> None:
    svg = drawn("93")
    assert 'stroke-dasharray="3 7"' in svg
    assert 'fill="var(--sheet)" stroke="var(--ink)"' in svg
    assert "var(--doubt)" not in svg
    assert areas(svg, "hump") == []


def test_without_a_value_the_ground_is_hatched_as_unseen() -> None:
    svg = drawn("94")
    assert "var(--unseen-line)" in svg
    assert "var(--zone)" not in svg


def test_an_interval_that_leaves_the_strip_ends_in_arrows() -> None:
    assert "l-7 6 7 6z" in drawn("36", interval=(-5.0, 0.35))
    assert "l-7 6 7 6z" not in drawn("36")


def test_the_label_speaks_value_zone_and_verdict() -> None:
    label = re.search(r'aria-label="([^"]*)"', drawn("36"))
    assert label is not None
    assert label[1] == (
        "Dowel hole 3, position: 0.341 mm plus or minus 0.082, zone 0 to 0.4, Undecided. "
        "Confidence that it lies beyond a limit: 9.2 %."
    )
    assert "cannot be stated" in drawn("93").lower()
    assert "no value, zone 6 ± 0.1, Undecided" in drawn("94")


def test_names_inside_drawings_differ_between_rows() -> None:
    names = [re.search(r'linearGradient id="([^"]*)"', drawn(i)) for i in ("90", "91")]
    assert names[0] is not None
    assert names[1] is not None
    assert names[0][1] != names[1][1]
    assert f"url(#{names[0][1]})" in drawn("90")
