"""What a report may say: advice, confidence, and no probability without its prior."""

import re

import pytest
from report_sample import sample

from trysquare.jobs.result import Next
from trysquare.report import facts, words
from trysquare.report.html import page
from trysquare.report.terminal import summary

RESULT = sample()
BY_ID = {j.id: j for j in RESULT.requirements}


def advice(ident: str, **changes: object) -> str:
    return words.as_text(words.advice(BY_ID[ident].model_copy(update=changes)))


def test_most_urgent_first() -> None:
    order = [j.id for j in words.by_urgency(RESULT)]
    assert order[:5] == ["80", "50", "61", "93", "94"]
    verdicts = [BY_ID[i].verdict for i in order]
    assert verdicts == sorted(verdicts, key=["reject", "undecided", "accept"].index)
    assert len(order) == len(set(order)) == 40


def test_advice_names_the_source_the_step_and_what_it_brings() -> None:
    assert advice("36") == (
        "61 % of this uncertainty is station 2: angles at 8 m. Move station 2 within 5 m. "
        "Predicted U: 0.082 → 0.062 mm; if the value stays, the interval is 0.279 to 0.403."
    )


def test_advice_says_when_the_predicted_interval_lies_inside_the_zone() -> None:
    step = Next(text="Touch 12 more points", predicted_U=0.02, predicted_interval=(0.321, 0.361))
    assert advice("36", next=step).endswith(
        "Predicted U: 0.082 → 0.020 mm; if the value stays, the whole interval lies inside the zone."
    )


def test_a_reject_is_told_with_its_excess() -> None:
    assert advice("61").startswith("Proven not to conform: 0.079 mm below the lower limit. ")
    assert advice("80").startswith("Proven not to conform: 2.58 mm above the upper limit. ")


def test_a_step_that_says_it_all_is_not_said_twice() -> None:
    whole = (
        "66 % of this uncertainty is ball-38: radius. Use a ball with a tighter certificate: predicted U 0.0070 → "
        "0.0049 mm; if the value stays, it stays undecided."
    )
    pieces = words.advice(BY_ID["36"].model_copy(update={"next": Next(text=whole, predicted_U=0.0049)}))
    assert words.as_text(pieces) == whole
    assert [p.text for p in pieces if p.strong] == ["66 %", "ball-38: radius", "0.0049 mm"]
    again = BY_ID["93"].model_copy(update={"next": Next(text=str(BY_ID["93"].reason))})
    assert words.as_text(words.advice(again)) == BY_ID["93"].reason


def test_a_refusal_gives_its_reason_and_the_way_out() -> None:
    assert advice("93") == (
        "Cannot be stated for defects under twice the spacing of 24 mm; 25 points would do. "
        "Measure at least 25 points, no further apart than 12 mm. Predicted U: 0.030 mm."
    )
    assert advice("94") == "No reading lands on this requirement."


@pytest.mark.parametrize(
    ("ident", "text"),
    [
        ("36", "accept up to 0.333"),
        ("90", "accept from 13.51 up"),
        ("92", "accept up to 2539.77"),
        ("30", "accept from 144.993 to 145.067"),
        ("93", ""),
    ],
)
def test_between_which_values_it_would_be_accepted(ident: str, text: str) -> None:
    assert words.acceptance_text(BY_ID[ident]) == text


def test_no_value_is_accepted_where_the_uncertainty_fills_the_zone() -> None:
    j = BY_ID["30"].model_copy(update={"acceptance": (None, None), "guard": (None, None)})
    assert words.acceptance_text(j) == "no value would be accepted"


def test_confidence_never_claims_more_than_the_draws_carry() -> None:
    assert words.beyond_text(BY_ID["11"], RESULT.belief_at) == "Confidence that it lies beyond a limit: at most 0.05 %."
    assert "at least 99.95 %" in words.beyond_text(BY_ID["80"], RESULT.belief_at)
    assert words.beyond_text(BY_ID["93"], RESULT.belief_at) == ""


def test_a_probability_is_printed_only_with_its_prior() -> None:
    text = page(RESULT).decode()
    spoken = re.findall(r"probability[^<]*", text)
    assert spoken
    assert all("prior: process history, 60 parts" in words for words in spoken)
    without = [j.model_copy(update={"p_conform": None}) for j in RESULT.requirements]
    bare = RESULT.model_copy(update={"requirements": without})
    assert "robability" not in page(bare).decode()
    assert "robability" not in summary(bare)


def test_grains_are_named_for_what_they_are() -> None:
    text = words.grains_text(BY_ID["36"], RESULT)
    assert text.startswith("Each is a twentieth of the confidence distribution.")
    assert "allows 5 % beyond, about one grain" in text
    rule = RESULT.rule.model_copy(update={"prove": "non-conformity"})
    other = words.grains_text(BY_ID["36"], RESULT.model_copy(update={"rule": rule}))
    assert "Rejected when at least 95 % lie beyond" in other


def test_the_legend_follows_the_rule() -> None:
    assert "in the hatch: undecided" in facts.legend(RESULT)
    rule = RESULT.rule.model_copy(update={"prove": "non-conformity"})
    assert "up to the end of the hatch: accept" in facts.legend(RESULT.model_copy(update={"rule": rule}))


def test_shares_that_do_not_add_up_are_said() -> None:
    assert words.remainder_text(BY_ID["36"]) == "2 % of the variance is not traced to one source."
    over = BY_ID["36"].model_copy(update={"remainder": -0.14})
    assert words.remainder_text(over) == "The shares add up to 114 %: sources act together here."


def test_a_title_does_not_say_the_characteristic_twice() -> None:
    assert words.title(BY_ID["36"]) == "Dowel hole 3, position"
    assert words.title(BY_ID["36"].model_copy(update={"name": "Dowel hole 3, position"})) == "Dowel hole 3, position"


def test_stations_agree_only_where_chance_explains_their_residuals() -> None:
    assert facts.tie_text(RESULT).startswith("The stations agree: chi-square 31.2 on 30")
    assert RESULT.tie is not None
    poor = RESULT.model_copy(update={"tie": RESULT.tie.model_copy(update={"chi_square": 90.0, "p": 7.6e-8})})
    assert facts.tie_text(poor).startswith("The stations agree less well than the noise of their readings explains")


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("residuals above", "Residuals above."),
        ("job.toml:18: the air", "job.toml:18: the air."),
        ("station-1.csv:4: the range", "station-1.csv:4: the range."),
        ("tomlike words.", "Tomlike words."),
    ],
)
def test_a_sentence_leaves_the_name_of_a_file_as_it_is(given: str, said: str) -> None:
    assert words.sentence(given) == said
