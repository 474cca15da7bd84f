"""How datums are laid: named in the job, checked, printed; touching datums show a value and are undecided.

The face has its second of four rows 0.02 mm high. Along x the datum plane is z = 0.02 + s (x + 10) where it touches
that row, so that every association has a slope s by hand: minimax 0; squares -0.8 / 1400; sum down to the facet over
the middle, -0.02 / 30; least squares -0.2 / 1000. An axis of 40 mm leans by 40 s.
"""

from dataclasses import replace

import pytest
from shaft_job import shaft_job

from trysquare.chance.sources import Draws
from trysquare.core.errors import InputError
from trysquare.jobs.chain import Chain
from trysquare.jobs.instruments import instruments_of
from trysquare.jobs.judge import judge
from trysquare.jobs.loading.load import examine, load

HIGH = ((-20.0, 0.0), (-10.0, 0.02), (10.0, 0.0), (20.0, 0.0))
SQUARE = (
    'position = { zone = "diameter 0.1", datums = ["A-B"] }',
    'perpendicularity = { zone = "diameter 0.1", datums = ["C"] }',
)
ASME = ('standard = "ISO 8015:2011"', 'standard = "ASME Y14.5-2018"')
LEANS = {
    "least squares": 40 * 0.2 / 1000, "outer minimax": 0.0, "outer squares": 40 * 0.8 / 1400,
    "outer sum": 40 * 0.02 / 30, "ISO 5459:2011": 0.0, "ASME Y14.5.1-2019": 40 * 0.8 / 1400,
}  # fmt: skip


def _named(association, *edits):
    return ("[datum]", f'[association]\nall = "{association}"\n[datum]'), *edits


@pytest.mark.parametrize("association", LEANS)
def test_every_association_has_its_own_slope(tmp_path, association):
    """Analytic."""
    edits = _named(association, SQUARE, *([ASME] if "ASME" in association else []))
    result = judge(load(shaft_job(tmp_path, {}, *edits, rows_mm=HIGH)))
    judged = result.requirements[0]
    assert judged.value == pytest.approx(LEANS[association], abs=1e-6)
    assert result.datum_systems[0].datums[0].association == association
    said = next(i.text for i in result.interpretations if i.about == "datum system C")
    if association == "least squares":
        assert judged.verdict == "accept"
        assert judged.interval is not None
        assert "least squares" in said
        return
    assert judged.verdict == "undecided"
    assert judged.interval is None
    assert "touch" in judged.reason
    assert any("least squares" in note and "0.0080 mm" in note for note in judged.notes)
    assert "outside the material" in said
    assert ("from memory" in said) == (association in ("ISO 5459:2011", "ASME Y14.5.1-2019"))


def test_without_a_word_datums_are_least_squares(tmp_path):
    """Frozen behaviour: jobs written before the table [association] keep their numbers."""
    result = judge(load(shaft_job(tmp_path, {}, SQUARE, rows_mm=HIGH)))
    assert result.requirements[0].value == pytest.approx(LEANS["least squares"], abs=1e-6)
    assert result.requirements[0].verdict == "accept"


def test_one_letter_may_differ_from_the_rest(tmp_path):
    edits = ("[datum]", '[association]\nall = "outer minimax"\nC = "least squares"\n[datum]')
    job = load(shaft_job(tmp_path, {}, edits, SQUARE, rows_mm=HIGH))
    assert job.associations == {"A": "outer minimax", "B": "outer minimax"}
    assert judge(job).requirements[0].verdict == "accept"


def test_draws_run_for_what_has_an_interval_only(tmp_path):
    """A requirement whose datums touch has a value and no draws, whatever the draws."""
    job = load(shaft_job(tmp_path, {}, *_named("outer minimax", SQUARE), rows_mm=HIGH))
    chain = Chain(job, instruments_of(job))
    assert list(chain.run()) == ["1"]
    assert chain.run(Draws(1, 0, 50)) == {}
    free = Chain(replace(job, associations={}), instruments_of(job))
    assert list(free.run(Draws(1, 0, 50))) == ["1"]


@pytest.mark.parametrize(
    ("edits", "rule"),
    [
        ((("[datum]", '[association]\nD = "outer sum"\n[datum]'),), "be a letter of [datum]"),
        (_named("ASME Y14.5.1-2019"), "be one that the standard of the drawing has"),
        (_named("ISO 5459:2011", ASME), "be one that the standard of the drawing has"),
        (_named("ISO 5459:2024"), 'be "least squares"'),
        ((("[datum]", '[association]\nA = "outer sum"\n[datum]'),), "be laid in one way"),
        (_named("outer minimax"), "be one that this version can lay"),
    ],
    ids=["letter", "asme on iso", "iso on asme", "unconfirmed edition", "mixed", "two journals"],
)
def test_faults_are_refused(tmp_path, edits, rule):
    """Negative twins. What ISO 5459:2024 has as its default is not confirmed here, so it is no name of one."""
    with pytest.raises((InputError, ExceptionGroup)) as caught:
        load(shaft_job(tmp_path, {}, *edits))
    errors = caught.value.exceptions if isinstance(caught.value, ExceptionGroup) else [caught.value]
    assert any(rule in str(error) for error in errors), [str(e) for e in errors]


def test_check_says_beforehand_what_will_be_undecided(tmp_path):
    found = examine(shaft_job(tmp_path, {}, *_named("outer minimax", SQUARE)) / "job.toml")
    assert not found.errors
    assert any("1 will show a value and be undecided" in str(w) for w in found.warnings)
