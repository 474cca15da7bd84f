"""Bad reading files: each gives file, line, rule, found and way out (the texts are frozen behaviour)."""

import numpy as np
import pytest
from job_folder import job_with

from trysquare.core.errors import FormatError
from trysquare.jobs.loading.load import load, problems
from trysquare.jobs.loading.readings import CARTESIAN, POLAR, read_station
from trysquare.jobs.loading.table import read_table

TOML, ONE, BORES = "job.toml", "station-1.csv", "bores.csv"
HEADER = "on,point,face,target,azimuth [deg],elevation [deg],range [mm]"
LEFT_1 = "left,1,1,ball-12,36.600435,-25.018681,2790.1604"
NEST = (TOML, "[instrument.tracker-1]\n", "[nest.pin]\ntakes = 38.1\nheight = 25\nu_height = 0.005\n"
        "[instrument.tracker-1]\n")  # fmt: skip

#: name: (edits, where, what, rule, found, way out); each text is a part of the message.
BAD = {
    "an empty file": (
        [(BORES, "", "")], "bores.csv", "the file", "begin with a header line such as requirement,place,value [mm]",
        "an empty file", "Export it again.",
    ),
    "comments alone": (
        [(BORES, "", "# nothing\n\n# yet\n")],
        "bores.csv", "the file", "begin with a header", "an empty file", "Export",
    ),
    "a header alone": (
        [(BORES, "", "# 12 bores\nrequirement,place,value [mm]\n")], "bores.csv:2", "the file",
        "have a line for each reading", "a header and nothing below it", "Export it again",
    ),
    "a column missing": (
        [(BORES, "place,", "spot,")], "bores.csv:1", "the columns", "be requirement, place, value [mm], temperature",
        'no "place", an unknown "spot"', "Add or drop columns.",
    ),
    "a column misspelt": (
        [(ONE, "azimuth [deg]", "azimut [deg]")], "station-1.csv:2", "the columns", "azimuth [deg]",
        'no "azimuth [deg]", an unknown "azimut"', 'Did you mean "azimuth" for "azimut"?',
    ),
    "a column twice": (
        [(ONE, "point,face", "point,point")], "station-1.csv:2", "the columns", "be on, point", '"point" twice', "drop",
    ),
    "a column without name": (
        [(BORES, "", "requirement,place,value [mm],\n2,top,50.01,\n")], "bores.csv:1", "a column", "have a name", "``",
        "range [mm]",
    ),
    "an angle without unit": (
        [(ONE, "azimuth [deg]", "azimuth")], "station-1.csv:2", 'the column "azimuth"',
        "have its unit in the header, one of rad", "no unit", "Write azimuth [deg]",
    ),
    "a wrong unit": (
        [(ONE, "range [mm]", "range [kg]")], "station-1.csv:2", 'the column "range"', "one of mm, m, cm", '"kg"',
        "Write range [mm].",
    ),
    "a unit on a text": (
        [(ONE, "face,target", "face,target [mm]")], "station-1.csv:2", 'the column "target"', "have no unit", '"mm"',
        "Write target.",
    ),
    "semicolons": (
        [(BORES, "", "requirement;place;value [mm]\n2;top;50,013\n")], "bores.csv:1", "the columns",
        "be separated by commas, with a point as decimal sign", "semicolons and decimal commas", "an English setting",
    ),
    "tabs": (
        [(BORES, "", "requirement\tplace\tvalue [mm]\n2\ttop\t50.013\n")], "bores.csv:1", "the columns",
        "be separated by commas", "tabs", "Export it again as CSV",
    ),
    "another unit than the header says": (
        [(ONE, "azimuth [deg]", "azimuth [gon]")], "station-1.csv:12", 'the point "left/',
        "mm of the drawing (2 % of the part's", "mm off", "the units in the header",
    ),
    "a point named after another feature": (
        [(ONE, "bore-1,3,1", "left,3b,1")], "station-1.csv:19", 'the point "left/3b"', "of the drawing", "mm off",
        "Check on which feature it was taken",
    ),
    "a line copied": (
        [(ONE, LEFT_1, f"{LEFT_1}\n{LEFT_1}")], "station-1.csv:12", "the reading", "be taken once",
        "the same as line 11, to the last digit", "Drop the copy",
    ),
    "not a number": (
        [(BORES, "50.015", "NaN")], "bores.csv:3", "value [mm]", "be a finite number", '"NaN"', "drop the line",
    ),
    "text for a number": (
        [(ONE, LEFT_1, "left,1,1,ball-12,36.600435,over,2790.1604")], "station-1.csv:11", "elevation [deg]",
        "be a finite number", '"over"', "Correct it at its source",
    ),
    "nothing for a number": (
        [(ONE, LEFT_1, "left,1,1,ball-12,36.600435,,2790.1604")], "station-1.csv:11", "elevation [deg]",
        "be a finite number", "an empty cell", "drop the line",
    ),
    "a number with a comma in quotes": (
        [(BORES, "50.015", '"50,015"')], "bores.csv:3", "value [mm]", "use a point as decimal sign and no comma",
        '"50,015"', "Write 50.015.",
    ),
    "a number with a comma in the open": (
        [(BORES, "50.015", "50,015")],
        "bores.csv:3", "the line", "have 4 cells, as the header has", "5: `2,top,50,015,`",
        "If commas stand for decimal points, write points",
    ),
    "a short line": (
        [(BORES, "2,top,50.015,", "2,top,50.015")], "bores.csv:3", "the line", "have 4 cells", "3: `2,top,50.015`",
        "Fill empty cells",
    ),
    "an open quote": (
        [(BORES, "2,top,50.015,", '2,"top,50.015,')], "bores.csv", "the quotes", "be closed on their line", "", "Drop",
    ),
    "an unknown feature": (
        [(ONE, LEFT_1, LEFT_1.replace("left", "lift"))],
        "station-1.csv:11", "on", "be a feature or tie point of the job",
        '"lift"', 'Did you mean "left"?',
    ),
    "an unknown tie point": (
        [(TOML, '"T1", "T2", "T3", "T4"', '"T1", "T2", "T3"')], "station-1.csv:9", "on",
        "be a feature or tie point of the job", '"T4" (on 2 lines)', "Add it to the job file",
    ),
    "no label": (
        [(ONE, LEFT_1, LEFT_1.replace("left,1", "left,"))], "station-1.csv:11", "point", "be a label", "an empty cell",
        "Number them",
    ),
    "a third face": (
        [(ONE, LEFT_1, LEFT_1.replace("left,1,1", "left,1,3"))],
        "station-1.csv:11", "face", "be 1 or 2", '"3"', "empty",
    ),
    "an unknown ball": (
        [(ONE, LEFT_1, LEFT_1.replace("ball-12", "ball-21"))], "station-1.csv:11", "target", "be a [target] of the job",
        '"ball-21"', 'Did you mean "ball-12"?',
    ),
    "no ball": (
        [(ONE, LEFT_1, LEFT_1.replace("ball-12", ""))], "station-1.csv:11", "target", "be a [target] of the job",
        "an empty cell", "Add its table",
    ),
    "a range of zero": (
        [(ONE, LEFT_1, LEFT_1.replace("2790.1604", "0"))], "station-1.csv:11", "range", "be above zero", "0 mm",
        "nothing was seen",
    ),
    "degrees called radians": (
        [(ONE, "azimuth [deg]", "azimuth [rad]"), (ONE, LEFT_1, LEFT_1.replace("36.600435", "2.600435"))],
        "station-1.csv:3", "azimuth", "be within two turns", "37.593601 rad", "look like degrees",
    ),
    "a zenith angle": (
        [(ONE, LEFT_1, LEFT_1.replace("-25.018681", "115.018681"))], "station-1.csv:11", "elevation",
        "be within -90 and 90 deg", "115.018681 deg", "not from the zenith",
    ),
    "a ball at odds with its nest": (
        [NEST, (ONE, "", f"{HEADER.replace('target', 'target,nest')}\n{LEFT_1.replace('-12', '-12,pin')}\n")],
        "station-1.csv:2", 'the ball in nest "pin"', "have a diameter of 38.1 mm", '"ball-12" of 12.7 mm',
        "Name the ball",
    ),
    "a reading by hand of an unknown requirement": (
        [(BORES, "2,bottom", "22,bottom")], "bores.csv:4", "requirement", "be a requirement of the job", '"22"',
        'Did you mean "2"?',
    ),
    "a reading by hand of a form": (
        [(BORES, "2,bottom", "1,bottom")], "bores.csv:4", 'requirement "1"', "be a size or distance", "flatness",
        "an instrument that sees points",
    ),
    "a reading by hand far from its nominal": (
        [(BORES, "value [mm]", "value [in]")], "bores.csv:2", 'the reading of requirement "2"',
        "lie within 5 % of the nominal 50 mm", "1270.33 mm", "Check the unit in the header",
    ),
    "a reading by hand below zero": (
        [(BORES, "50.015", "-50.015")], "bores.csv:3", "value", "be above zero", "-50.015 mm", "Correct it",
    ),
    "a temperature that is none": (
        [(BORES, "50.018,20.9", "50.018,warm")],
        "bores.csv:4", "temperature [degC]", "be a finite number", '"warm"', "",
    ),
    "too few points": (
        [(ONE, "left,3,1,ball-12,38.022760,-23.714931,2859.3699\n", "")], "station-1.csv:11", 'the points on "left"',
        "be at least 3 on a plane", "2", "Measure more points",
    ),
    "points on one line": (
        [(ONE, LEFT_1, "left,1,1,ball-12,39.0,-23.6,2920"),
         (ONE, "left,2,1,ball-12,39.350285,-23.537334,2954.8264", "left,2,1,ball-12,39.0,-23.6,2940"),
         (ONE, "left,3,1,ball-12,38.022760,-23.714931,2859.3699", "left,3,1,ball-12,39.0,-23.6,2960")],
        "station-1.csv:11", 'the points on "left"', "lie off one line", "points on one line", "Add points well off",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_a_bad_reading_is_named(name, tmp_path):
    edits, *expected = BAD[name]
    folder = job_with(tmp_path, *edits)
    with pytest.raises(FormatError) as caught:
        load(folder)
    error = caught.value
    for part, attribute in zip(expected, ("where", "what", "rule", "found", "way_out"), strict=True):
        said = getattr(error, attribute)
        assert said == part if attribute == "where" else part in said, f"{attribute}: {said}"


def test_a_radius_given_as_a_diameter_is_guessed(tmp_path):
    text = f"{HEADER.replace('target', 'target,nest')}\n{LEFT_1.replace('-12', '-12,pin')}\n"
    folder = job_with(tmp_path, NEST, (TOML, '"0.5 in"', "19.05"), (ONE, "", text))
    (error,) = problems(folder)
    assert "19.05 mm is half of it: give the diameter" in error.way_out


def test_a_ball_that_fits_its_nest_is_fine(tmp_path):
    """Negative twin: 1.5 in against 38.1 mm."""
    as_read = (TOML, "height = 25\nu_height = 0.005", "height = 6.35\nu_height = 0.005")
    folder = job_with(tmp_path, NEST, as_read, (TOML, '"0.5 in"', '"1.5 in"'))
    file = folder / ONE
    lines = file.read_text().splitlines()
    file.write_text("\n".join([lines[0], lines[1] + ",nest", *(line + ",pin" for line in lines[2:])]) + "\n")
    assert [e for e in problems(folder) if "nest" in e.what] == []
    assert len(problems(folder)) == 1  # the ball of station 2, which is 1.5 in now, lies off the drawing


def test_all_bad_cells_of_a_file_are_listed(tmp_path):
    folder = job_with(
        tmp_path,
        (ONE, LEFT_1, "lift,1,3,ball-12,36.6,x,-1"),
        (BORES, "50.013", "fifty"),
    )
    assert [error.where for error in problems(folder)] == ["station-1.csv:11"] * 4 + ["bores.csv:2"]


@pytest.mark.parametrize(("old", "line"), [(b"T1", 3), (b"bore-1,8", 24)])
def test_readings_that_are_not_utf8(old, line, tmp_path):
    folder = job_with(tmp_path)
    file = folder / ONE
    file.write_bytes(file.read_bytes().replace(old, b"\xfc", 1))
    (error,) = problems(folder)
    assert (error.where, error.rule, error.found) == (f"station-1.csv:{line}", "be UTF-8", "byte 0xfc")


def test_byte_order_mark_windows_lines_comments_and_capitals_are_fine(tmp_path):
    folder = job_with(tmp_path)
    plain = load(folder).stations[0].readings
    file = folder / ONE
    text = file.read_text().replace("on,point", "On, Point").replace("left,2", "  # the side\n\nleft,2")
    file.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    found = load(folder).stations[0].readings
    assert np.array_equal(found.obs, plain.obs)
    assert list(found.lines - plain.lines)[-1] == 2


def read(tmp_path, text, **known):
    (tmp_path / "r.csv").write_text(text)
    errors = []
    options = {"known": ["a", "T"], "targets": {}, "nests": {}} | known
    readings, source = read_station(tmp_path / "r.csv", "r.csv", "S", report=errors.append, **options)
    assert source.bytes == len(text)
    return readings, errors


def test_cartesian_readings_in_inches(tmp_path):
    text = "on,point,x [in],y,z [m]\na,1,1,2,3\na,2,-1,0,0.5\nT,1,0,0,0\n"
    readings, errors = read(tmp_path, text)
    assert errors == []
    assert readings.polar is False
    assert readings.obs.tolist() == [[25.4, 2, 3000], [-25.4, 0, 500], [0, 0, 0]]
    assert readings.targets == ("", "", "")
    assert readings.face.tolist() == [1, 1, 1]
    assert readings.aims == ("a/1", "a/2", "T/1")
    assert readings.ids == ("S:2", "S:3", "S:4")
    assert not readings.obs.flags.writeable


def test_contact_says_that_no_ball_stands_between(tmp_path):
    readings, errors = read(tmp_path, "on,point,target,x,y,z\na,1,contact,1,2,3\na,2,,1,2,3\n")
    assert errors == []
    assert readings.targets == ("", "")


def test_contact_is_no_ball_for_a_tracker(tmp_path):
    text = "on,point,target,azimuth [deg],elevation [deg],range [m]\na,1,contact,1,2,3\n"
    _, errors = read(tmp_path, text)
    assert [error.found for error in errors] == ['"contact"']


def test_layouts_have_one_name_for_each_column():
    for layout in (POLAR, CARTESIAN):
        assert len({column.name for column in layout}) == len(layout)


def test_the_layout_that_fits_best_is_taken():
    with pytest.raises(FormatError, match=r'no "z \[mm\]", an unknown "range"'):
        read_table(b"on,point,x,y,range\na,1,1,2,3\n", "r.csv", (POLAR, CARTESIAN))


def test_a_hundred_thousand_rows_are_read_whole(tmp_path):
    rows = "\n".join(f"a,{i},1,,{i * 0.01:.3f},{i * 0.02:.3f},{1000 + i * 0.003:.4f}" for i in range(100_000))
    (tmp_path / "r.csv").write_text(f"on,point,face,target,x [mm],y [mm],z [mm]\n{rows}\n")
    readings, _ = read_station(
        tmp_path / "r.csv", "r.csv", "S", known=["a"], targets={}, nests={}, report=lambda error: None
    )
    assert len(readings) == 100_000
    assert readings.obs[-1, 2] == 1000 + 99_999 * 0.003
