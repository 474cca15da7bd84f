"""Sizes by code, general tolerances, radii and attributes in a job file.

Expected figures: ISO 286-2 and ISO 2768 as printed (certified by the standards, from memory, second sources in
tests/reference); texts of errors are frozen behaviour.
"""

import math

import pytest
from job_folder import job_with

from trysquare.core.errors import FormatError
from trysquare.jobs.interpret import interpretations
from trysquare.jobs.judge import judge
from trysquare.jobs.loading.load import examine, load

TOML = "job.toml"
SIZE = "size = { nominal = 50, lower = 0, upper = 0.039 }"
WIDTH = "distance = { nominal = 400, lower = -0.2, upper = 0.2 }"
APART = 'distance = { nominal = 180, lower = "-0.002 in", upper = "0.002 in" }'
CORNER = 'angle = { nominal = "90 deg", lower = "-0.05 deg", upper = "0.05 deg" }'
SQUARE = 'perpendicularity = { zone = "diameter 0.05", datums = ["A"] }'
STATION = '[[station]]\nname = "1"'
LEFT = "plane = { point = [0, 150, 30], normal = [-1, 0, 0] }"
SIZED_LEFT = "plane = { point = [0, 150, 30], normal = [-1, 0, 0], size = [300, 60], along = [0, 1, 0] }"
FRONT = "plane = { point = [200, 0, 30], normal = [0, -1, 0] }"
SIZED_FRONT = "plane = { point = [200, 0, 30], normal = [0, -1, 0], size = [400, 60], along = [1, 0, 0] }"
ATTRIBUTE = '[[attribute]]\nid = "90"\nwhat = "thread"\ndemand = "M20 - 6H, go and no-go gauge"\n'
HEAD = "attribute,result,by,when,note\n"


def general(text):
    return TOML, "seed = 7", f"general = {text}\nseed = 7"


def more(text):
    return TOML, STATION, f"{text}\n{STATION}"


def planned(tmp_path, *edits):
    return load(job_with(tmp_path, *edits), measured=False)


def asked(job, id_):
    return next(r for r in job.requirements if r.id == id_)


def said(job, id_):
    return " ".join(i.text for i in interpretations(job, set()) if i.about == f"requirement {id_}")


def limits(job, id_):
    r = asked(job, id_)
    return tuple(x if x is None else round(x - (r.nominal or 0.0), 9) for x in (r.lower, r.upper))


def bad(tmp_path, *edits):
    found = examine(job_with(tmp_path, *edits), measured=False)
    assert found.errors, "nothing was refused"
    return found.errors[0]


def test_a_size_by_code(tmp_path):
    job = planned(tmp_path, (TOML, SIZE, 'size = { nominal = 50, code = "H8" }'))
    assert limits(job, "2") == (0.0, 0.039)
    assert asked(job, "2").code == "H8"
    assert "50 H8 is 50 +0 / +0.039 mm (ISO 286-1:2010" in said(job, "2")


def test_a_width_by_code_knows_outside_from_inside(tmp_path):
    job = planned(tmp_path, (TOML, WIDTH, 'distance = { nominal = 400, code = "h13" }'))
    assert limits(job, "7") == (-0.89, 0.0)
    error = bad(tmp_path / "other", (TOML, WIDTH, 'distance = { nominal = 400, code = "H13" }'))
    assert "small letters on a shaft" in error.rule


def test_the_note_of_an_odd_half_is_printed(tmp_path):
    job = planned(tmp_path, (TOML, SIZE, 'size = { nominal = 50, code = "JS8" }'))
    assert limits(job, "2") == (-0.0195, 0.0195)
    assert "older than 2010" in said(job, "2")


#: new text of requirement 2, 4 or 7: old, new, then parts of what, rule, found, way out.
BAD_CODES = {
    "no such letter": (SIZE, 'size = { nominal = 50, code = "Q7" }', "size.code", "fundamental", '"Q7"', "drawing"),
    "no such grade": (SIZE, 'size = { nominal = 50, code = "H19" }', "size.code", "grade", '"H19"', "drawing"),
    "with the number": (SIZE, 'size = { nominal = 50, code = "50 H7" }', "size.code", "as in", '"50 H7"', "nominal"),
    "a fit": (SIZE, 'size = { nominal = 50, code = "H7/g6" }', "size.code", "as in H7", "H7/g6", "this part"),
    "a shaft's letter on a hole": (
        SIZE, 'size = { nominal = 50, code = "h8" }', "size.code", "capital letters on a hole", '"h8"', 'Write "H8"',
    ),
    "not in the table": (SIZE, 'size = { nominal = 50, code = "K9" }', "size.code", "50 mm", '"K9"', "lower and upper"),
    "beside numbers": (
        SIZE, 'size = { nominal = 50, code = "H8", upper = 0.1 }', "size.code", "stand without", "both", "Drop one",
    ),
    "a centre distance": (
        APART, 'distance = { nominal = 180, code = "JS9" }', "distance.code", "feature of size", "another distance",
        "give lower and upper",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD_CODES)
def test_a_bad_code_is_named(name, tmp_path):
    old, new, what, rule, found, way_out = BAD_CODES[name]
    error = bad(tmp_path, (TOML, old, new))
    assert isinstance(error, FormatError)
    assert error.line is not None
    for part, text in ((what, error.what), (rule, error.rule), (found, error.found), (way_out, error.way_out)):
        assert part in text


def test_general_tolerances_of_dimensions(tmp_path):
    """ISO 2768-1, class m: over 30 to 120: 0.3; over 120 to 400: 0.5; angles by the shorter leg, 60 mm: 20 minutes."""
    job = planned(
        tmp_path, general('"ISO 2768-mK"'), (TOML, SIZE, "size = { nominal = 50 }"),
        (TOML, WIDTH, "distance = { nominal = 400 }"), (TOML, CORNER, 'angle = { nominal = "90 deg" }'),
        (TOML, LEFT, SIZED_LEFT.replace("size = [300, 60]", "size = [60, 300]")), (TOML, FRONT, SIZED_FRONT),
    )  # fmt: skip
    assert limits(job, "2") == (-0.3, 0.3)
    assert limits(job, "7") == (-0.5, 0.5)
    assert limits(job, "6") == pytest.approx((-math.radians(1 / 3), math.radians(1 / 3)), abs=1e-9)
    assert limits(job, "4")[1] == pytest.approx(0.0508)  # has its own
    assert "50 ± 0.3 mm by its general tolerance ISO 2768-mK (ISO 2768-1:1989)" in said(job, "2")
    assert "no tolerance of its own" not in said(job, "4")


def test_general_tolerances_of_features(tmp_path):
    """ISO 2768-2, class K: flatness over 300 to 1000: 0.6; squareness by the shorter side, over 100 to 300: 0.6."""
    square = '[[requirement]]\nid = "S"\non = "left"\nperpendicularity = { datums = ["A"] }\n'
    sized = SIZED_LEFT.replace("size = [300, 60]", "size = [300, 160]")
    job = planned(
        tmp_path, general('"ISO 2768-mK"'), (TOML, "flatness = { zone = 0.05 }", "flatness = {}"), more(square),
        (TOML, LEFT, sized),
    )  # fmt: skip
    assert (asked(job, "1").lower, asked(job, "1").upper) == (0.0, 0.6)
    assert (asked(job, "S").upper, asked(job, "S").diameter_zone) == (0.6, False)
    assert "withdrawn in 2021" in said(job, "1")
    whole = next(i.text for i in interpretations(job, set()) if i.about == "general tolerances")
    assert "not to be refused for that alone" in whole


def test_iso_22081_by_its_values(tmp_path):
    stated = '{ standard = "ISO 22081", linear = 0.1, angular = "0.5 deg" }'
    job = planned(
        tmp_path, general(stated), (TOML, SIZE, "size = { nominal = 50 }"),
        (TOML, WIDTH, "distance = { nominal = 400 }"), (TOML, CORNER, 'angle = { nominal = "90 deg" }'),
    )  # fmt: skip
    assert limits(job, "2") == limits(job, "7") == (-0.1, 0.1)
    assert limits(job, "6")[1] == pytest.approx(math.radians(0.5), abs=1e-9)
    error = bad(tmp_path / "step", general(stated), (TOML, APART, "distance = { nominal = 180 }"))
    assert "sizes only" in error.rule


BAD_GENERAL = {
    "no such class": ('"ISO 2768-xK"', [], "general", "classes of ISO 2768", "f, m, c, v"),
    "another standard": ('"DIN 7168"', [], "general", "ISO 2768 with its classes", "ISO 2768-mK"),
    "with envelope": ('"ISO 2768-mK-E"', [], "general", "ISO 2768 with its classes", "not judged in this edition"),
    "no value": ('"ISO 22081"', [], "general", "state its values", "linear = 0.1"),
    "values beside classes": ('{ standard = "ISO 2768-m", linear = 0.1 }', [], "general", "no values beside", "Drop"),
    "no class for features": (
        '"ISO 2768-m"', [(TOML, "flatness = { zone = 0.05 }", "flatness = {}")], "flatness", "H, K or L", "of its own",
    ),
    "parallelism": (
        '"ISO 2768-mK"', [(TOML, SQUARE, 'parallelism = { datums = ["A"] }')], "parallelism", "zone of its own",
        "zone =",
    ),
    "an axis": (
        '"ISO 2768-mK"', [(TOML, SQUARE, 'perpendicularity = { datums = ["A"] }')], "perpendicularity",
        "between two planes", "Give zone",
    ),
    "no length": (
        '"ISO 2768-mK"', [(TOML, CORNER, 'angle = { nominal = "90 deg" }')], "angle", "how long the sides are", "size",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD_GENERAL)
def test_a_bad_general_tolerance_is_named(name, tmp_path):
    stated, edits, what, rule, way_out = BAD_GENERAL[name]
    error = bad(tmp_path, general(stated), *edits)
    assert what in error.what
    assert rule in error.rule
    assert way_out in error.way_out


def test_without_a_general_tolerance_each_needs_its_own(tmp_path):
    assert "general" in bad(tmp_path, (TOML, SIZE, "size = { nominal = 50 }")).way_out
    assert "general" in bad(tmp_path / "f", (TOML, "flatness = { zone = 0.05 }", "flatness = {}")).way_out


def test_a_radius_is_asked_of_a_round_feature(tmp_path):
    ask = '[[requirement]]\nid = "R"\non = "%s"\nradius = { nominal = %s, upper = 0.1 }\n'
    job = planned(tmp_path, more(ask % ("bore-2", 25)))
    assert (asked(job, "R").nominal, asked(job, "R").lower, asked(job, "R").upper) == (25.0, None, 25.1)
    assert "which give 25 mm" in bad(tmp_path / "d", more(ask % ("bore-2", 50))).rule
    assert "cylinder, circle, sphere" in bad(tmp_path / "p", more(ask % ("top", 25))).rule


def test_external_radii_have_their_own_general_tolerance(tmp_path):
    """ISO 2768-1, class m: broken edges over 6: 1 mm; a radius inside is a linear dimension, over 6 to 30: 0.2."""
    ask = '[[requirement]]\nid = "R"\non = "bore-2"\nradius = { nominal = 25 }\n'
    bore = "cylinder = { point = [300, 80, 40], axis = [0, 0, 1], diameter = 50, length = 40, inside = true }"
    assert limits(planned(tmp_path, general('"ISO 2768-m"'), more(ask)), "R") == (-0.2, 0.2)
    outside = (TOML, bore, bore.replace("true", "false"))
    assert limits(planned(tmp_path / "o", general('"ISO 2768-m"'), more(ask), outside), "R") == (-1.0, 1.0)


def test_a_radius_is_half_the_least_squares_size_in_value_and_doubt(tmp_path):
    """Analytic: the same points and draws, so half of everything; the negative twin is the other bore."""
    two = "".join(
        f'[[requirement]]\nid = "{id_}"\non = "{on}"\n{what}\n'
        for id_, on, what in (
            ("R", "bore-2", "radius = { nominal = 25, lower = -0.1, upper = 0.1 }"),
            ("D", "bore-2", 'size = { nominal = 50, lower = -0.2, upper = 0.2, operator = "least-squares" }'),
            ("O", "bore-1", 'size = { nominal = 50, lower = -0.2, upper = 0.2, operator = "least-squares" }'),
        )
    )
    found = {j.id: j for j in judge(load(job_with(tmp_path, more(two))), draws=200).requirements}
    radius, size, other = (found[id_] for id_ in "RDO")
    assert radius.kind == "smooth"
    assert (radius.value, radius.u) == pytest.approx((size.value / 2, size.u / 2), rel=1e-9)
    assert radius.interval == pytest.approx([end / 2 for end in size.interval], rel=1e-9)
    assert radius.value != pytest.approx(other.value / 2, rel=1e-9)


def test_a_table_in_another_unit_and_a_text_that_is_none(tmp_path):
    """ISO 22081 with its value in inches (0.004 in is 0.1016 mm, by definition); a number is no general tolerance."""
    stated = general('{ standard = "ISO 22081", linear = "0.004 in" }')
    assert limits(planned(tmp_path, stated, (TOML, SIZE, "size = { nominal = 50 }")), "2") == (-0.1016, 0.1016)
    error = bad(tmp_path / "n", general("5"))
    assert ("general" in error.what, error.rule, error.found) == (True, "be a table", "5")


def test_an_iso_general_tolerance_on_an_asme_drawing_is_warned_of(tmp_path):
    asme = (TOML, 'standard = "ISO 8015:2011"', 'standard = "ASME Y14.5-2018"')
    (warning,) = examine(job_with(tmp_path, general('"ISO 2768-m"'), asme), measured=False).warnings
    assert "title block" in warning.way_out
    assert not examine(job_with(tmp_path / "iso", general('"ISO 2768-m"')), measured=False).warnings
