"""Jobs that are well written and do not hold together: place, rule, found, way out (texts are frozen behaviour)."""

import os

import pytest
from job_folder import job_with

from trysquare.core.errors import FormatError
from trysquare.jobs.loading.load import examine, load, problems

TOML, FILE = "job.toml", "calliper-1.toml"
POSITION = 'position = { zone = "diameter 0.1", datums = ["A", "B", "C"] }'
SQUARE = 'perpendicularity = { zone = "diameter 0.05", datums = ["A"] }'
DATUMS = 'A = "top"\nB = "left"\nC = "front"'
BALL = "[feature.ball]\nsphere = { point = [0, 0, 0], diameter = 50, inside = false }\n"
LEFT = "plane = { point = [0, 150, 30], normal = [-1, 0, 0] }"

#: name: (edits, where, what, rule, found, way out); each text is a part of the message.
BAD = {
    "requirement named twice": (
        [(TOML, 'id = "3"', 'id = "2"')],
        "job.toml:84", "the id of a requirement", "be used once", '"2", which line 75 has already', "Rename one",
    ),
    "station named twice": (
        [(TOML, 'name = "2"\ninstrument', 'name = "1"\ninstrument')],
        "job.toml:114", "the name of a station", "be used once", '"1", which line 108 has already', "Rename one",
    ),
    "a tie point named twice": (
        [(TOML, '"T1", "T2", "T3", "T4"', '"T1", "T2", "T3", "T4", "T2"')],
        "job.toml:7", "a tie point", "be named once", '"T2" again', "Drop one.",
    ),
    "a tie point named as a feature": (
        [(TOML, '"T1", "T2", "T3", "T4"', '"T1", "T2", "T3", "T4", "top"')],
        "job.toml:7", "a tie point", "have a name of its own", '"top", which is a feature too', "Rename the tie point.",
    ),
    "a zone named twice": (
        [(TOML, "[place]\n", '[[part.zone]]\nname = "body"\nmaterial = "steel"\n'
          "temperature = { value = 20, u = 1 }\n[place]\n"),
         (TOML, "[feature.left]", '[feature.left]\nzone = "body"'),
         (TOML, "[feature.top]", '[feature.top]\nzone = "body"'),
         (TOML, "[feature.front]", '[feature.front]\nzone = "body"'),
         (TOML, "[feature.bore-1]", '[feature.bore-1]\nzone = "body"'),
         (TOML, "[feature.bore-2]", '[feature.bore-2]\nzone = "body"')],
        "job.toml:22", "part.zone[2].name", "be used once", '"body" again', "Rename one",
    ),
    "readings used twice": (
        [(TOML, "station-2.csv", "station-1.csv")],
        "job.toml:116", "a reading file", "be read once", '"station-1.csv", which line 110 names already',
        "a reading file of its own",
    ),
    "feature of a requirement unknown": (
        [(TOML, 'on = ["left", "front"]', 'on = ["left", "frnt"]')],
        "job.toml:104", 'requirement "6": on', "name a [feature] of the job", '"frnt"', 'Did you mean "front"?',
    ),
    "one feature for a distance": (
        [(TOML, 'on = ["bore-1", "bore-2"]', 'on = "bore-1"')],
        "job.toml:92", 'requirement "4": on', "name 2 features for a distance", "1", 'on = ["one", "other"]',
    ),
    "two features for flatness": (
        [(TOML, 'on = "top"\n', 'on = ["top", "left"]\n')],
        "job.toml:71", 'requirement "1": on', "name 1 feature for a flatness", "2", "one requirement for each",
    ),
    "a distance of a feature from itself": (
        [(TOML, 'on = ["bore-1", "bore-2"]', 'on = ["bore-1", "bore-1"]')],
        "job.toml:92", 'requirement "4": on', "name two different features", '"bore-1" twice', "Correct one",
    ),
    "limits in the wrong order": (
        [(TOML, "lower = 0, upper = 0.039", "lower = 0.039, upper = 0")],
        "job.toml:81", 'requirement "2": size.upper', "lie above lower", "lower 0.039, upper 0", "with their signs",
    ),
    "no limit at all": (
        [(TOML, "size = { nominal = 50, lower = 0, upper = 0.039 }", "size = { nominal = 50 }")],
        "job.toml:81", 'requirement "2": size', "have a lower or an upper deviation", "neither", "Add: upper",
    ),
    "flatness of a bore": (
        [(TOML, 'on = "top"\n', 'on = "bore-1"\n')],
        "job.toml:72", 'requirement "1": flatness', "be on one of plane", 'a cylinder, "bore-1"', "another feature",
    ),
    "nominal size against the geometry": (
        [(TOML, "size = { nominal = 50, lower = 0, upper = 0.039 }",
          'size = { nominal = "50 in", lower = 0, upper = 0.039 }')],
        "job.toml:81", 'requirement "2": size.nominal', "agree with the nominal features, which give 50 mm", "1270 mm",
        "Correct the requirement or the features",
    ),
    "nominal distance against the geometry": (
        [(TOML, "nominal = 180", "nominal = 160")],
        "job.toml:93", 'requirement "4": distance.nominal', "which give 180 mm", "160 mm", "Correct the requirement",
    ),
    "the supplement of an angle": (
        [(TOML, "plane = { point = [200, 0, 30], normal = [0, -1, 0] }",
          "plane = { point = [200, 0, 30], normal = [1, -2, 0] }"),
         (TOML, 'nominal = "90 deg"', 'nominal = "63.43 deg"')],
        "job.toml:105", 'requirement "6": angle.nominal', "which give 116.565 deg", "63.43 deg",
        "It is the supplement: turn one direction round",
    ),
    "two-point size of a sphere": (
        [(TOML, "[datum]\n", BALL + "[datum]\n"), (TOML, 'on = "bore-1"\nsheet', 'on = "ball"\nsheet')],
        "job.toml:83", 'requirement "2": size.operator', "be least-squares on a sphere", "two-point (the default)",
        'operator = "least-squares"',
    ),
    "position of an axis across nothing": (
        [(TOML, POSITION, 'position = { zone = 0.1, datums = ["A", "B", "C"] }')],
        "job.toml:87", 'requirement "3": position.zone', "say across which direction", "neither", "add direction",
    ),
    "position along the axis": (
        [(TOML, POSITION, 'position = { zone = 0.1, datums = ["A", "B", "C"], direction = [0, 0, 1] }')],
        "job.toml:87", 'requirement "3": position.direction', "lie square to the axis", "[0, 0, 1]", "the zone spans",
    ),
    "a diameter and a direction": (
        [(TOML, POSITION, POSITION.replace(" }", ", direction = [1, 0, 0] }"))],
        "job.toml:87", 'requirement "3": position.direction', "be left out for a zone with a diameter", "[1, 0, 0]",
        "Drop one",
    ),
    "a diameter for a plane": (
        [(TOML, 'on = "bore-2"\n' + SQUARE,
          'on = "left"\nperpendicularity = { zone = "diameter 0.05", datums = ["A"] }')],
        "job.toml:99", 'requirement "5": perpendicularity.zone', "lie between two planes", '"diameter"', "width alone",
    ),
    "a diameter for a flatness": (
        [(TOML, 'on = "bore-2"\n' + SQUARE, 'on = "left"\nflatness = { zone = "diameter 0.05" }')],
        "job.toml:99", 'requirement "5": flatness.zone', "lie between two planes", '"diameter"', "width alone",
    ),
    "no diameter for an axis held in both directions": (
        [(TOML, SQUARE, 'perpendicularity = { zone = 0.05, datums = ["A"] }')],
        "job.toml:99", 'requirement "5": perpendicularity.zone', "have a diameter", "a width alone", 'zone = "diameter',
    ),
    "square to what is parallel": (
        [(TOML, 'on = "bore-2"\n' + SQUARE, 'on = "left"\nparallelism = { zone = 0.05, datums = ["A"] }')],
        "job.toml:99", 'requirement "5": parallelism', "nominally parallel to datum A", "90 deg between them",
        "choose another characteristic",
    ),
    "datum letter that no feature carries": (
        [(TOML, 'C = "front"\n', "")],
        "job.toml:86", 'datum "C" of requirement "3"', "be carried by a feature under [datum] (A, B)",
        '"C", which no feature carries', 'C = "..."',
    ),
    "datum on an unknown feature": (
        [(TOML, 'C = "front"', 'C = "frond"')],
        "job.toml:66", 'datum "C"', "name a [feature] of the job", '"frond"', 'Did you mean "front"?',
    ),
    "datum named twice": (
        [(TOML, '["A", "B", "C"]', '["A", "B", "A"]')],
        "job.toml:87", 'datum "A" of requirement "3"', "be named once", '"A" again', "Drop one.",
    ),
    "a feature that is its own datum": (
        [(TOML, DATUMS, DATUMS.replace('"front"', '"bore-1"'))],
        "job.toml:87", 'datum "C" of requirement "3"', "be another feature than the one judged", '"bore-1"',
        "Name another datum.",
    ),
    "datum system that leaves freedoms open": (
        [(TOML, '["A", "B", "C"]', '["A", "B"]')],
        "job.toml:87", 'datum system A B of requirement "3"', "fix every freedom that moves the feature",
        "along y left open", "Add the datum",
    ),
    "datum system of one plane": (
        [(TOML, '["A", "B", "C"]', '["A"]')],
        "job.toml:87", 'datum system A of requirement "3"', "fix every freedom", "along x, along y left open", "Add",
    ),
    "datum system that fixes a freedom twice": (
        [(TOML, LEFT, "plane = { point = [0, 150, 30], normal = [0, 0, -1] }"),
         (TOML, 'on = ["left", "front"]', 'on = ["top", "front"]'), (TOML, "lower = -0.2, upper = 0.2 }",
         "lower = -0.2, upper = 0.2, along = [1, 0, 0] }")],
        "job.toml:87", 'secondary datum "B" of requirement "3"', "fix a freedom that A left open",
        "along z, about x, about y, fixed twice; along x stays open", "lies another way or farther apart",
    ),
    "an orientation that no datum holds": (
        [(TOML, "[datum]\n", BALL + '[datum]\nD = "ball"\n'), (TOML, SQUARE, SQUARE.replace('"A"', '"D"'))],
        "job.toml:102", 'datum system D of requirement "5"', "hold the direction of the feature",
        "about x, about y, about z left open", "a plane or an axis",
    ),
    "an unknown instrument": (
        [(TOML, 'name = "1"\ninstrument = "tracker-1"', 'name = "1"\ninstrument = "traker-1"')],
        "job.toml:109", 'station "1": instrument', "be the name of an [instrument] table", '"traker-1"',
        'Did you mean "tracker-1"?',
    ),
    "an unknown class of instrument": (
        [(TOML, 'class = "laser tracker"', 'class = "laser traker"')],
        "job.toml:41", "instrument.tracker-1.class", "be one of", '"laser traker"', 'Did you mean "laser tracker"?',
    ),
    "an unknown figure of an instrument": (
        [(TOML, "source.range_constant]", "source.range_constnt]")],
        "job.toml:43", "instrument.tracker-1.source.range_constnt", "be one of", '"range_constnt"',
        'Did you mean "range_constant"?',
    ),
    "a figure without unit": (
        [(TOML, 'u = "1 um"', "u = 0.001")],
        "job.toml:43", "instrument.tracker-1.source.range_constant: a figure", "carry its unit", "0.001", "Write it",
    ),
    "a hand tool at a station": (
        [(TOML, 'name = "1"\ninstrument = "tracker-1"', 'name = "1"\ninstrument = "gauge-1"')],
        "job.toml:109", 'station "1": instrument', "be one that sees points", '"gauge-1", a hand tool', "[[hand]]",
    ),
    "a tracker in the hand": (
        [(TOML, 'instrument = "gauge-1"', 'instrument = "tracker-1"')],
        "job.toml:119", "hand number 1: instrument", "be a hand tool", '"tracker-1", a laser tracker', "[[station]]",
    ),
    "readings of another kind of instrument": (
        [(TOML, 'class = "laser tracker"', 'class = "photogrammetry"'),
         (TOML, '[instrument.tracker-1.source.range_constant]\nu = "1 um"\norigin = "certificate 118, 2026-02"\n'
          "dof = 20\n", ""), (TOML, 'name = "2"\ninstrument = "tracker-1"', 'name = "2"\ninstrument = "tracker-2"'),
         (TOML, "[instrument.gauge-1]", '[instrument.tracker-2]\nclass = "laser tracker"\n[instrument.gauge-1]')],
        "job.toml:108", 'station "1": readings', "give x, y and z, as a photogrammetry does",
        "azimuth, elevation and range", "Name the right instrument",
    ),
    "a station without readings": (
        [(TOML, 'readings = "station-2.csv"\n', "")],
        "job.toml:113", 'station "2": readings', "be named", "a set-up without readings", "leave it out of the job",
    ),
    "a reading file that is missing": (
        [(TOML, "station-2.csv", "station-3.csv")],
        "job.toml:116", 'station "2": readings', "name a file that is there", '"station-3.csv"',
        'Did you mean "station-2.csv"?',
    ),
    "a path out of the folder": (
        [(TOML, "station-2.csv", "../station-2.csv")],
        "job.toml:116", 'station "2": readings', "name a file inside the job folder", '"../station-2.csv"', "Copy the",
    ),
    "an absolute path": (
        [(TOML, "station-2.csv", "/etc/hostname")],
        "job.toml:116", 'station "2": readings', "name a file inside the job folder", '"/etc/hostname"', "Copy the",
    ),
    "a drive": (
        [(TOML, "station-2.csv", "C:/readings/2.csv")],
        "job.toml:116", 'station "2": readings', "name a file inside the job folder", '"C:/readings/2.csv"', "Copy",
    ),
    "an instrument file that is missing": (
        [(TOML, '"calliper-1.toml"', '"calliper-2.toml"')],
        "job.toml:136", "hand number 2: instrument", "name a file that is there", '"calliper-2.toml"',
        'Did you mean "calliper-1.toml"?',
    ),
    "an unknown key in an instrument file": (
        [(FILE, "serial", "seriel")],
        "calliper-1.toml:3", "a key of the file", "be one of format, class, serial, source", '"seriel"',
        'Did you mean "serial"?',
    ),
    "an unknown figure in an instrument file": (
        [(FILE, "source.indication", "source.range_constant")],
        "calliper-1.toml:4", "source.range_constant: a source", "be one of", '"range_constant"', "",
    ),
    "an unknown class in an instrument file": (
        [(FILE, '"calliper"', '"caliper"')],
        "calliper-1.toml:2", "class", "be one of", '"caliper"', 'Did you mean "calliper"?',
    ),
    "an instrument file that is no TOML": (
        [(FILE, 'class = "calliper"', "class = calliper")],
        "calliper-1.toml:2", "the text", "be TOML", "`class = calliper`", "docs/job-file.md",
    ),
    "an instrument file of a newer format": (
        [(FILE, "trysquare-instrument/1", "trysquare-instrument/2")],
        "calliper-1.toml:1", "format", 'be "trysquare-instrument/1"', '"trysquare-instrument/2"', "",
    ),
    "an instrument with the name of a file": (
        [(TOML, "[instrument.gauge-1]", '[instrument.calliper-1]\nclass = "calliper"\n[instrument.gauge-1]')],
        "job.toml:138", "hand number 2: instrument", "have a name of its own",
        '"calliper-1.toml", and an instrument "calliper-1" beside it', "Rename one of the two.",
    ),
    "an instrument format in the job file": (
        [(TOML, 'class = "bore gauge"', 'class = "bore gauge"\nformat = "trysquare-instrument/1"')],
        "job.toml:50", "instrument.gauge-1.format", "stand in a file of its own only", "it in the job file", "Drop it.",
    ),
    "an instrument file out of the folder": (
        [(TOML, 'name = "2"\ninstrument = "tracker-1"', 'name = "2"\ninstrument = "../t.toml"')],
        "job.toml:115", 'station "2": instrument', "name a file inside the job folder", '"../t.toml"', "Copy the file",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_what_does_not_hold_together_is_named(name, tmp_path):
    edits, *expected = BAD[name]
    folder = job_with(tmp_path, *edits)
    with pytest.raises(FormatError) as caught:
        load(folder)
    error = caught.value
    for part, attribute in zip(expected, ("where", "what", "rule", "found", "way_out"), strict=True):
        said = getattr(error, attribute)
        assert said == part if attribute == "where" else part in said, f"{attribute}: {said}"
    assert [str(e) for e in problems(folder)] == [str(error)]


def test_a_link_out_of_the_folder_is_refused(tmp_path):
    folder = job_with(tmp_path)
    outside = tmp_path / "outside.csv"
    (folder / "station-2.csv").rename(outside)
    os.symlink(outside, folder / "station-2.csv")
    (error,) = problems(folder)
    assert (error.where, error.rule) == ("job.toml:116", "name a file inside the job folder")
    assert "a link that leads out of it" in error.found
    assert "Put a copy" in error.way_out


def test_a_path_out_of_the_folder_is_refused_in_a_plan_too(tmp_path):
    folder = job_with(tmp_path, (TOML, "station-2.csv", "../station-2.csv"))
    with pytest.raises(FormatError, match="inside the job folder"):
        load(folder, measured=False)


def test_a_link_within_the_folder_is_fine(tmp_path):
    folder = job_with(tmp_path)
    (folder / "station-2.csv").rename(folder / "moved.csv")
    os.symlink("moved.csv", folder / "station-2.csv")
    assert problems(folder) == []


WARNED = {
    "temperature of the part missing": (
        [(TOML, "temperature = { value = 20.8, u = 0.3, gradient = { along = [0, 0, 1], per_m = 0.5 } }\n", "")],
        "job.toml:16", "part.zone[1].temperature", "be measured", "nothing",
        "20 degC with u = 2.9 K is assumed: nothing is corrected, and the uncertainty is larger",
    ),
    "air missing": (
        [(TOML, '[place.air]\ntemperature = { value = 21.0, u = 0.5 }\npressure = { value = "98.4 kPa", u = "50 Pa" }\n'
          "humidity = { value = 45, u = 10 }\nco2 = { value = 450, u = 50 }\n", "")],
        "job.toml:21", "the air", "give temperature, pressure, humidity, co2", "nothing",
        "Assumed: 20 degC with u = 5 K; 984 hPa with u = 10 hPa; 50 % with u = 20 %",
    ),
    "a requirement that nobody measured": (
        [("bores.csv", "", "requirement,place,value [in]\n4,top,7.087\n"), (TOML, "[datum]\n", BALL + "[datum]\n"),
         (TOML, 'on = "bore-1"\nsheet', 'on = "ball"\nsheet'),
         (TOML, "upper = 0.039 }", 'upper = 0.039, operator = "least-squares" }')],
        "job.toml:76", 'requirement "2"', "be measured", 'no reading on "ball"', "undecided: not measured",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", WARNED)
def test_what_can_be_done_without_is_a_warning(name, tmp_path):
    edits, *expected = WARNED[name]
    found = examine(job_with(tmp_path, *edits))
    assert found.errors == ()
    (warning,) = found.warnings
    for part, attribute in zip(expected, ("where", "what", "rule", "found", "way_out"), strict=True):
        said = getattr(warning, attribute)
        assert said == part if attribute == "where" else part in said, f"{attribute}: {said}"
    assert found.job.warnings == (str(warning),)


def test_a_planned_job_is_sound_and_says_so(tmp_path):
    edits = [(TOML, f'readings = "{name}.csv"\n', "") for name in ("station-1", "station-2", "bores", "widths")]
    folder = job_with(tmp_path, *edits)
    found = examine(folder)
    assert found.errors == ()
    (warning,) = found.warnings
    assert "choose works as it is" in warning.way_out
    assert warning.found == "none named"
    assert [station.readings for station in found.job.stations] == [None, None]
    assert len(found.job.hand[0].lines) == 0
    with pytest.raises(FormatError, match="a set-up without readings"):
        load(folder)


def test_a_job_to_choose_from_needs_no_reading_files(tmp_path):
    folder = job_with(tmp_path)
    for name in ("station-1", "station-2", "bores"):
        (folder / f"{name}.csv").unlink()
    job = load(folder, measured=False)
    assert [station.readings for station in job.stations] == [None, None]
    assert [source.file for source in job.inputs] == ["job.toml", "calliper-1.toml"]
