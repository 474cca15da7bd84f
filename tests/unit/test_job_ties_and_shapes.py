"""What readings must carry: ties between stations, shapes of features. Places of points: analytic."""

import numpy as np
import pytest
from job_folder import job_with

from trysquare.jobs.judge import judge
from trysquare.jobs.loading.load import examine, load, problems

TOML, ONE, TWO = "job.toml", "station-1.csv", "station-2.csv"


def without(folder, file, *starts):
    """Drop the lines of a reading file that start so."""
    path = folder / file
    lines = path.read_text().splitlines()
    path.write_text("\n".join(line for line in lines if not line.startswith(starts)) + "\n")


def cartesian(folder, file, rows):
    """Replace a station's readings by points of photogrammetry: (on, x, y, z)."""
    text = "\n".join(f"{on},{i},contact,{x:.5f},{y:.5f},{z:.5f}" for i, (on, x, y, z) in enumerate(rows))
    (folder / file).write_text(f"on,point,target,x [mm],y [mm],z [mm]\n{text}\n")


def by_pictures(tmp_path):
    """The job with one station, whose instrument gives x, y, z."""
    return job_with(
        tmp_path,
        (TOML, 'class = "laser tracker"', 'class = "photogrammetry"'),
        (TOML, '[instrument.tracker-1.source.range_constant]\nu = "1 um"\norigin = "certificate 118, 2026-02"\n'
               "dof = 20\n", ""),
        (TOML, '[[station]]\nname = "2"\ninstrument = "tracker-1"\nreadings = "station-2.csv"\n', ""),
    )  # fmt: skip


def test_two_ties_are_too_few(tmp_path):
    folder = job_with(tmp_path)
    without(folder, TWO, "T1", "T3")
    (error,) = problems(folder)
    assert (error.where, error.what) == ("job.toml:113", 'station "2"')
    assert error.rule == "have three tie points or more in common with the other stations"
    assert error.found == "2 (T2, T4)"
    assert "Measure the missing tie points from here too" in error.way_out


def test_three_ties_off_one_line_are_enough(tmp_path):
    folder = job_with(tmp_path)
    without(folder, TWO, "T1")
    assert problems(folder) == []


def test_ties_on_one_line(tmp_path):
    folder = job_with(tmp_path)
    path = folder / TWO
    lines = path.read_text().splitlines()
    ranges = iter((2500.0, 2600.0, 2700.0, 2800.0))
    lines = [
        f"{line.split(',')[0]},1,1,ball-12,33.0,-20.0,{next(ranges)}" if line.startswith("T") and ",1,1," in line
        else line for line in lines
    ]  # fmt: skip
    path.write_text("\n".join(line for line in lines if not (line.startswith("T") and ",1,2," in line)) + "\n")
    (error,) = problems(folder)
    assert (error.where, error.rule) == ("job.toml:113", "share tie points that lie off one line")
    assert error.found == "T1, T2, T3, T4 on one line"
    assert "well off that line" in error.way_out


def test_a_third_station_may_hang_on_the_second(tmp_path):
    third = '[[station]]\nname = "3"\ninstrument = "tracker-1"\nreadings = "station-3.csv"\n'
    folder = job_with(
        tmp_path,
        (TOML, '[[hand]]\ninstrument = "gauge-1"', third + '[[hand]]\ninstrument = "gauge-1"'),
        (TOML, '"T4"]', '"T4", "T5", "T6"]'),
    )
    (folder / "station-3.csv").write_text((folder / TWO).read_text())
    without(folder, "station-3.csv", "T3", "T4", "top", "bore")
    more = "T5,1,1,ball-12,10,5,2000\nT6,1,1,ball-12,80,8,2500\n"
    for name in (TWO, "station-3.csv"):
        (folder / name).write_text((folder / name).read_text() + more)
    without(folder, ONE, "T1")
    assert problems(folder) == []  # 3 hangs on 2 by T1, T2, T5, T6, and on 1 by T2 alone
    without(folder, TWO, "T5", "T6")
    assert [error.what for error in problems(folder)] == ['station "3"']


def ring(count, z, spread=360.0, radius=25.0):
    angles = np.radians(np.arange(count) * spread / count)
    return [("bore-1", 120 + radius * np.cos(a), 80 + radius * np.sin(a), z) for a in angles]


PLANES = [("top", x, y, 60) for x in (0, 400) for y in (0, 300)]
PLANES += [("left", 0, 40, 20), ("left", 0, 260, 20), ("left", 0, 150, 50)]
PLANES += [("front", 30, 0, 20), ("front", 370, 0, 20), ("front", 200, 0, 50)]
OTHER = [("bore-2", x + 180, y, z) for _, x, y, z in ring(6, 25) + ring(6, 55)]


@pytest.mark.parametrize(
    ("rows", "rule", "found"),
    [
        (ring(8, 40), "lie at two heights or more along the axis", "of one plane"),
        (ring(6, 25, 1) + ring(6, 55, 1), "cover a longer arc", "leave the radius unknown"),
        ([("bore-1", 145, 80, z) for z in range(25, 56, 5)], "lie off one line", "points on one line"),
        (ring(2, 25) + ring(2, 55), "be at least 5 on a cylinder", "4"),
    ],
)
def test_points_that_carry_no_cylinder(rows, rule, found, tmp_path):
    folder = by_pictures(tmp_path)
    rng = np.random.default_rng(3)
    noisy = [(on, *(np.array(p) + rng.normal(0, 0.002, 3))) for on, *p in rows]
    cartesian(folder, ONE, PLANES + OTHER + noisy)
    (error,) = problems(folder)
    assert error.where == f"station-1.csv:{2 + len(PLANES) + len(OTHER)}"
    assert error.what == 'the points on "bore-1"'
    assert rule in error.rule
    assert found in error.found
    assert error.way_out


def test_points_that_carry_a_cylinder(tmp_path):
    """Negative twin."""
    folder = by_pictures(tmp_path)
    cartesian(folder, ONE, PLANES + OTHER + ring(6, 25) + ring(6, 55))
    assert examine(folder).errors == ()


def test_a_feature_seen_from_two_stations_is_not_judged_by_one(tmp_path):
    """One ring from each station: together they carry the bore."""
    folder = job_with(tmp_path)
    text = (folder / ONE).read_text().splitlines()
    low = [line for line in text if line.startswith("bore-1") and int(line.split(",")[1]) % 2]
    without(folder, ONE, *low)
    (folder / TWO).write_text((folder / TWO).read_text() + "\n".join(low) + "\n")
    (error,) = problems(folder)
    assert "of the drawing" in error.rule  # they were not taken from there; of the shape nothing is said


EDGE = [("edge", x, 0.01, 60.02) for x in (20, 110, 200, 290, 380)]
LINE = (TOML, "[feature.left]", "[feature.edge]\nline = { point = [200, 0, 60], direction = [1, 0, 0], length = 360 }\n"
        "[feature.left]")  # fmt: skip
ASKED = (TOML, '[[requirement]]\nid = "6"', '[[requirement]]\nid = "E"\non = "edge"\n'
         'parallelism = { zone = 0.1, datums = ["A"] }\n[[requirement]]\nid = "6"')  # fmt: skip


def test_a_ball_on_a_line_says_not_where_the_line_is(tmp_path):
    """The ball lies on one side of the line or the other: its offset has no direction."""
    folder = job_with(tmp_path, LINE, ASKED)
    (folder / ONE).write_text(
        (folder / ONE).read_text() + "".join(f"edge,{i},1,ball-12,{36 + i},-25,2790\n" for i in range(3))
    )
    (error,) = problems(folder)
    assert (error.where, error.what) == ("station-1.csv:25", 'the points on "edge"')
    assert "points of the line itself" in error.rule
    assert 'centres of "ball-12"' in error.found
    assert "two faces" in error.way_out


def test_points_of_a_line_itself_are_judged(tmp_path):
    """Negative twin; analytic: the edge is parallel to the top, 0.02 mm above it."""
    folder = by_pictures(tmp_path)
    path = folder / TOML
    text = path.read_text()
    for _, old, new in (LINE, ASKED):
        text = text.replace(old, new)
    path.write_text(text)
    cartesian(folder, ONE, PLANES + OTHER + EDGE + ring(6, 25) + ring(6, 55))
    assert problems(folder) == []
    found = {r.id: r for r in judge(load(folder)).requirements}["E"]
    assert abs(found.value) < 1e-9
    assert found.verdict == "accept"
