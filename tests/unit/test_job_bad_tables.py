"""Bad job files: each gives place, rule, found and way out (the texts are frozen behaviour, read here word by word)."""

from pathlib import Path

import pytest
from job_folder import job_with

from trysquare.core.errors import FormatError
from trysquare.jobs.loading.load import examine, load, problems

TOML = "job.toml"
SIZE = "size = { nominal = 50, lower = 0, upper = 0.039 }"

#: name: (edits, where, what, rule, found, way out); each text is a part of the message.
BAD = {
    "unknown key": (
        [(TOML, "u_radius =", "u_raduis =")],
        "job.toml:36", "a key of target.ball-12", "be one of diameter, u_radius, centring, origin", '"u_raduis"',
        'Did you mean "u_radius"?',
    ),
    "unknown key at the top": (
        [(TOML, "draws = 1000", "drawz = 1000")],
        "job.toml:6", "a key of the file", "be one of format, title", '"drawz"', 'Did you mean "draws"?',
    ),
    "top-level key below a table": (
        [(TOML, 'tie = ["T1", "T2", "T3", "T4"]\n', ""),
         (TOML, 'origin = "certificate 2026-03"', 'origin = "x"\ntie = ["T1", "T2", "T3", "T4"]')],
        "job.toml:38", "target.ball-12", "be one of", '"tie"', "move tie above the first [table]",
    ),
    "missing key": (
        [(TOML, 'u_radius = "1.5 um"\n', "")],
        "job.toml:34", "target.ball-12.u_radius", "be given", "nothing", 'Add: u_radius = "1.5 um"',
    ),
    "no format": (
        [(TOML, 'format = "trysquare-job/1"\n', "")],
        "job.toml", "format", "be given", "nothing", 'Begin the file with: format = "trysquare-job/1"',
    ),
    "newer format": (
        [(TOML, "trysquare-job/1", "trysquare-job/2"), (TOML, "seed = 7", 'colour = "a key of the future"')],
        "job.toml:1", "format", 'be "trysquare-job/1" for this version', '"trysquare-job/2", which is newer',
        "Install a newer Trysquare",
    ),
    "another format": (
        [(TOML, "trysquare-job/1", "job/1")],
        "job.toml:1", "format", 'be "trysquare-job/1"', '"job/1"', 'format = "trysquare-job/1"',
    ),
    "wrong unit": (
        [(TOML, '"1.5 um"', '"1.5 ppm"')],
        "job.toml:36", "target.ball-12.u_radius, the unit of a length", "be one of mm, m,", '"ppm"',
        "Write the unit as listed.",
    ),
    "missing unit of an angle": (
        [(TOML, 'nominal = "90 deg"', "nominal = 90")],
        "job.toml:105", 'requirement "6": angle.nominal', "carry its own unit (rad,", "90", '"0.05 deg"',
    ),
    "missing unit in a text": (
        [(TOML, 'nominal = "90 deg"', 'nominal = "90"')],
        "job.toml:105", "the unit of an angle", "be one of rad,", '""', "Write the unit",
    ),
    "missing unit of the altitude": (
        [(TOML, '"250 m"', "250")],
        "job.toml:23", "place.altitude", "carry its own unit", "250", '"250 m"',
    ),
    "number with a comma in a text": (
        [(TOML, '"0.5 in"', '"0,5 in"')],
        "job.toml:35", "target.ball-12.diameter", "use a point as decimal sign and no comma", '"0,5 in"',
        'Write "0.5 in"',
    ),
    "number with a comma in the open": (
        [(TOML, "temperature = { value = 21.0, u = 0.5 }", "temperature = { value = 21,0, u = 0.5 }")],
        "job.toml:25", "a number", "use a point as decimal sign and no comma", "value = 21,0", "Write 62.5, not 62,5.",
    ),
    "not a number": (
        [(TOML, "nominal = 180", "nominal = nan")],
        "job.toml:93", "distance.nominal", "be finite", "nan", "Write it as in",
    ),
    "a number for a text": (
        [(TOML, 'id = "2"', "id = 2")],
        "job.toml:75", "requirement number 2: id", "be a text in quotes", "2", 'id = "20"',
    ),
    "a text for a table": (
        [(TOML, "flatness = { zone = 0.05 }", "flatness = 0.05")],
        "job.toml:72", 'requirement "1": flatness', "be a table", "0.05", "Correct it.",
    ),
    "a table named twice": (
        [(TOML, "[feature.bore-2]", "[feature.bore-1]")],
        "job.toml:60", "a key or table", "be named once", "`[feature.bore-1]` again", "Rename one of the two",
    ),
    "no TOML": (
        [(TOML, 'title = "Bearing bracket, after milling"', "title: bracket")],
        "job.toml:2", "the text", "be TOML", "`title: bracket`", "Compare the line with docs/job-file.md.",
    ),
    "no edition": (
        [(TOML, "ISO 8015:2011", "ISO 8015")],
        "job.toml:4", "standard", "name its edition: one of ISO 8015:2011", '"ISO 8015"', "title block",
    ),
    "no standard": (
        [(TOML, 'standard = "ISO 8015:2011"\n', "")],
        "job.toml", "standard", "be given", "nothing", 'Add: standard = "ISO 8015:2011"',
    ),
    "unknown standard": (
        [(TOML, "ISO 8015:2011", "DIN 7167")],
        "job.toml:4", "standard", "be one of ISO 8015:2011, ASME", '"DIN 7167"', "say which",
    ),
    "zone of zero": (
        [(TOML, "flatness = { zone = 0.05 }", "flatness = { zone = 0 }")],
        "job.toml:72", 'requirement "1": flatness.zone', "be above zero", "0", "as the drawing has it",
    ),
    "zone below zero": (
        [(TOML, '"diameter 0.05"', '"diameter -0.05"')],
        "job.toml:99", 'requirement "5": perpendicularity.zone', "be above zero", "diameter -0.05", "as the drawing",
    ),
    "diameter of zero": (
        [(TOML, 'diameter = "0.5 in"', "diameter = 0")],
        "job.toml:35", "target.ball-12.diameter", "be above 0", "0", "diameter = 38.1",
    ),
    "a negative uncertainty": (
        [(TOML, '"50 Pa"', '"-50 Pa"')],
        "job.toml:26", "place.air.pressure.u", "be zero or above", "-50", "Write a standard uncertainty.",
    ),
    "humidity beyond 100": (
        [(TOML, "value = 45,", "value = 145,")],
        "job.toml:27", "place.air.humidity.value", "be at most 100", "145", "value = 45",
    ),
    "a direction of zero": (
        [(TOML, "normal = [-1, 0, 0]", "normal = [0, 0, 0]")],
        "job.toml:55", "feature.left.plane.normal", "have a length above zero", "[0, 0, 0]", "[0, 0, 1]",
    ),
    "two coordinates": (
        [(TOML, "point = [0, 150, 30]", "point = [0, 150]")],
        "job.toml:55", "feature.left.plane.point", "have at least 3 values", "[0, 150]", "point = [600, 400, 0]",
    ),
    "two characteristics": (
        [(TOML, SIZE, SIZE + "\nflatness = { zone = 0.1 }")],
        "job.toml:74", 'requirement "2"', "have exactly one of size, radius, distance", "size and flatness",
        "Split it in two.",
    ),
    "no characteristic": (
        [(TOML, SIZE, "")],
        "job.toml:74", 'requirement "2"', "have exactly one of size, radius, distance", "none", "Add size = ...",
    ),
    "a material condition": (
        [(TOML, '["A", "B", "C"]', '["A", "B at maximum material", "C"]')],
        "job.toml:87", 'requirement "3": position.datums[2]', "without a material condition",
        '"B at maximum material"', 'Write "B"',
    ),
    "a common datum": (
        [(TOML, 'A = "top"', 'A-B = "top"')],
        "job.toml:64", "datum.A-B", "be one letter", '"A-B"', "Give each feature its letter",
    ),
    "a name with a comma": (
        [(TOML, "[target.ball-12]", '[target."ball,12"]')],
        "job.toml:34", "target.ball,12", "be a name", '"ball,12"', "Correct it.",
    ),
    "a probability below a half": (
        [(TOML, "probability = 0.95", "probability = 0.05")],
        "job.toml:32", "decision.probability", "be above 0.5", "0.05", "probability = 0.95",
    ),
    "unknown words": (
        [(TOML, 'who_proves = "supplier"', 'who_proves = "us"')],
        "job.toml:31", "decision.who_proves", 'be "supplier" or "customer"', '"us"', 'who_proves = "supplier"',
    ),
    "unknown material": (
        [(TOML, "aluminium 6061", "aluminum 6062")],
        "job.toml:18", "part.zone[1].material", "be one of: steel;", '"aluminum 6062"',
        'Did you mean "aluminium 6061"?',
    ),
    "an expansion in the wrong unit": (
        [(TOML, 'material = "aluminium 6061"',
          'material = "mine"\nexpansion = { value = "11.5 1/K", u = "0.5 ppm/K" }')],
        "job.toml:19", "part.zone[1].expansion.value", "lie within +-300 ppm/K", "1.15e+07 ppm/K", "Check its unit",
    ),
    "safety-critical without a sign-off": (
        [(TOML, 'serial = "0003"', "safety_critical = true")],
        "job.toml:9", "part.sign_off", "be given for a safety-critical part", "nothing", "who must sign",
    ),
    "restrained without supports": (
        [(TOML, 'serial = "0003"', 'state = "restrained"')],
        "job.toml:9", "part.supports", "be given for a restrained part", "nothing", 'state = "free"',
    ),
    "free with supports": (
        [(TOML, 'serial = "0003"', 'supports = "clamped at four corners"')],
        "job.toml:13", "part.supports", 'go with state = "restrained"', "on a free part", "Drop supports",
    ),
    "pressure reduced to sea level": (
        [(TOML, '"250 m"', '"1500 m"'), (TOML, '"98.4 kPa"', '"1013 hPa"')],
        "job.toml:26", "place.air.pressure.value", "hPa at 1500 m", "1013.0 hPa", "not a weather report",
    ),
    "an altitude in space": (
        [(TOML, '"250 m"', '"250000 m"')],
        "job.toml:23", "place.altitude", "lie between -1000 and 11000 m", "250000.0 m", "Check the value",
    ),
    "a prior in the wrong unit": (
        [(TOML, "probability = 0.95",
          'prior = { mean = 0, sd = "0.1 deg", from = "history" }')],
        "job.toml:32", "decision.prior.sd", "be a length", "an angle", "unit of the requirement",
    ),
    "degrees of freedom in words": (
        [(TOML, "dof = 20", 'dof = "many"')],
        "job.toml:46", "instrument.tracker-1.source.range_constant.dof", "be a number", '"many"', "dof = 20",
    ),
    "an unknown key of a figure": (
        [(TOML, "dof = 20", "dofs = 20")],
        "job.toml:46", "a key of instrument.tracker-1.source.range_constant", "be one of u, limit,", '"dofs"',
        'Did you mean "dof"?',
    ),
    "a number beyond this world": (
        [(TOML, "nominal = 180", "nominal = 1" + 400 * "0")],
        "job.toml:93", 'requirement "4": distance.nominal', "be a number of this world", "1000", "Correct it.",
    ),
    "a pressure in the wrong unit": (
        [(TOML, '"98.4 kPa"', "984")],
        "job.toml:26", "place.air.pressure.value", "be at least 10000 Pa", "984", 'value = "98.4 kPa"',
    ),
    "a part below the coldest": (
        [(TOML, "value = 20.8", "value = -400")],
        "job.toml:19", "part.zone[1].temperature.value", "be at least -60", "-400", "value = 23.8",
    ),
    "an unknown zone": (
        [(TOML, "[feature.left]", '[feature.left]\nzone = "bodi"')],
        "job.toml:55", "feature.left.zone", "be a zone of the part: body", '"bodi"', 'Did you mean "body"?',
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_a_bad_table_is_named(name, tmp_path):
    edits, *expected = BAD[name]
    folder = job_with(tmp_path, *edits)
    with pytest.raises(FormatError) as caught:
        load(folder)
    error = caught.value
    for part, attribute in zip(expected, ("where", "what", "rule", "found", "way_out"), strict=True):
        said = getattr(error, attribute)
        assert said == part if attribute == "where" else part in said, f"{attribute}: {said}"
    assert [str(e) for e in problems(folder)] == [str(error)]


def test_the_unchanged_job_has_no_problem(tmp_path):
    """Negative twin of all the above."""
    assert problems(job_with(tmp_path)) == []
    assert examine(job_with(tmp_path / "again")).warnings == ()


def test_all_errors_are_collected_in_the_order_of_their_lines(tmp_path):
    folder = job_with(
        tmp_path,
        (TOML, '"50 Pa"', '"50 kelvin"'),
        (TOML, "u_radius =", "radius ="),
        (TOML, "flatness = { zone = 0.05 }", "flatness = { zone = 0 }"),
    )
    assert [error.where for error in problems(folder)] == ["job.toml:26", "job.toml:36", "job.toml:72"]


def test_a_job_that_is_not_utf8(tmp_path):
    folder = job_with(tmp_path)
    file = folder / TOML
    file.write_bytes(file.read_bytes().replace(b"Bearing bracket, after", "Lagerböckchen,".encode("latin-1")))
    (error,) = problems(folder)
    assert (error.where, error.rule, error.found) == ("job.toml:2", "be UTF-8", "byte 0xf6")
    assert "Save the file as UTF-8" in error.way_out


@pytest.mark.parametrize("path", ["", "absent", "job/absent.toml"])
def test_no_job_there(path, tmp_path):
    job_with(tmp_path)
    (error,) = problems(tmp_path / path)
    assert "be a folder with job.toml in it" in error.rule
    assert error.way_out


def test_byte_order_mark_and_windows_lines_are_fine(tmp_path):
    folder = job_with(tmp_path)
    file = folder / TOML
    file.write_bytes(b"\xef\xbb\xbf" + file.read_bytes().replace(b"\n", b"\r\n"))
    assert load(folder).title == "Bearing bracket, after milling"


def test_a_long_value_is_shown_short(tmp_path):
    folder = job_with(tmp_path, (TOML, "seed = 7", f'seed = "{"7" * 500}"'))
    (error,) = problems(folder)
    assert len(error.found) == 60


def test_the_job_file_may_be_named_itself(tmp_path):
    folder = job_with(tmp_path)
    assert load(folder / TOML).folder == load(folder).folder == Path(folder)


@pytest.mark.parametrize("depth", [200, 400, 100_000])
def test_brackets_without_end(depth, tmp_path):
    folder = job_with(tmp_path, (TOML, "seed = 7", f"seed = {'[' * depth}{']' * depth}"))
    (error,) = problems(folder)
    assert error.rule in ("be a whole number", "lie in each other a few times at most")
    assert error.way_out
