"""The contract of `trysquare fit`: its options, alone and together, and what is said of those that do not go."""

import json
from pathlib import Path

import numpy as np
import pytest
from fit_points import Z, answer, noisy, write

from trysquare.cli.main import main


@pytest.mark.parametrize(
    ("shape", "constraints", "name", "value", "rank"),
    [
        ("cylinder", ["radius=25.01"], "radius_mm", 25.01, 4),
        ("cylinder", ["diameter=2 in"], "radius_mm", 25.4, 4),
        ("cylinder", ["parallel=0,0,2", "radius=25"], "direction", [0, 0, 1], 2),
        ("circle", ["normal=0,0,1"], "normal", [0, 0, 1], 4),
        ("plane", ["perpendicular=0,0,1"], "normal", [0, 0, 1], 1),
        ("line", ["direction=0,0,1"], "direction", [0, 0, 1], 2),
        ("cone", ["half-angle=11.3"], "half_angle_rad", 11.3 * np.pi / 180, 5),
        ("torus", ["major-radius=40", "minor_radius=8"], "minor_radius_mm", 8, 5),
        ("sphere", ["radius=25"], "radius_mm", 25, 3),
    ],
)
def test_what_is_held_is_held(
    shape: str, constraints: list[str], name: str, value: float, rank: int, tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    asked = [word for constraint in constraints for word in ("--constraint", constraint)]
    d = answer(capsys, write(tmp_path, noisy(shape)), "--shape", shape, *asked)
    assert np.allclose(d["parameters"][name], value, rtol=0, atol=1e-12)
    assert np.all(np.array(d["u"][name]) == 0)
    assert d["rank"] == rank


def test_weights_from_a_column(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Points of weight 0 have no say: the same as without them."""
    points, w = noisy("plane"), np.r_[np.zeros(10), np.ones(20)]
    d = answer(capsys, write(tmp_path, np.column_stack([points, w]), "x,y,z,w"), "--shape", "plane", "--weights", "w")
    without = answer(capsys, write(tmp_path, points[10:]), "--shape", "plane")
    for name, value in without["parameters"].items():
        assert np.allclose(d["parameters"][name], value, rtol=0, atol=1e-9)
    whole = answer(capsys, write(tmp_path, points), "--shape", "plane")
    assert not np.allclose(whole["parameters"]["normal"], d["parameters"]["normal"], rtol=0, atol=1e-7)


def test_a_robust_loss_says_what_it_set_aside(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    points = noisy("plane")
    points[7, 2] += 5
    path = write(tmp_path, points)
    d = answer(capsys, path, "--shape", "plane", "--loss", "tukey")
    assert 7 in d["set_aside"]
    assert answer(capsys, path, "--shape", "plane")["set_aside"] == []
    assert main(["fit", path, "--shape", "plane", "--loss", "tukey"]) == 0
    assert "Set aside" in capsys.readouterr().out


def test_filtered_first_and_drawn(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    t = np.arange(360) * np.pi / 180
    r = 25 + 0.01 * np.cos(2 * t) + 0.004 * np.cos(40 * t)
    path = write(tmp_path, np.column_stack([r * np.cos(t), r * np.sin(t)]), "x,y")
    whole = answer(capsys, path, "--shape", "circle", "--method", "minimum-zone")
    drawn = tmp_path / "ring.svg"
    d = answer(capsys, path, "--shape", "circle", "--method", "minimum-zone", "--filter", "Gaussian: 15 UPR",
               "--plot", str(drawn))  # fmt: skip
    assert d["form_mm"] < 0.0205 < 0.023 < whole["form_mm"]
    assert "15" in d["filter"]
    assert whole["filter"] is None
    assert d["plot"] == str(drawn)
    assert drawn.read_text().startswith("<svg ")
    by_length = answer(capsys, path, "--shape", "circle", "--method", "minimum-zone", "--filter",
                       f"gaussian {2 * np.pi * 25 / 15}mm")  # fmt: skip
    assert by_length["form_mm"] == pytest.approx(d["form_mm"], abs=1e-6)


@pytest.mark.parametrize(
    ("arguments", "rule", "way_out"),
    [
        (["--shape", "blob"], "line, plane, circle, sphere, cylinder", "--help"),
        (["--shape", "plane", "--method", "largest-inscribed"], "for a plane", "Largest-inscribed is there for"),
        (["--shape", "circle", "--method", "one-sided"], "for a circle", "One-sided is there for"),
        (["--shape", "plane", "--method", "minimum-zone", "--weights", "area"], "left out", "What there is: --toward"),
        (["--shape", "line", "--within", "plane"], "x and y alone", "Leave out the column"),
        (["--shape", "circle", "--within", "plane"], "go with a line", "Drop it"),
        (["--shape", "cylinder", "--constraint", "radius"], "NAME=VALUE", "radius=25"),
        (["--shape", "cylinder", "--constraint", "girth=3"], "NAME=VALUE", "radius=25"),
        (["--shape", "cylinder", "--constraint", "radius=3 furlong"], "one of mm", "Write the unit"),
        (["--shape", "cylinder", "--constraint", "parallel=0,1"], "three numbers", "direction=0,0,1"),
        (["--shape", "cylinder", "--constraint", "radius=3", "--constraint", "diameter=6"], "once", "Leave one out"),
        (["--shape", "plane", "--constraint", "radius=3"], "left out for a plane", "What there is"),
        (["--shape", "plane", "--weights", "area2"], 'one column "area2"', "Correct the name"),
        (["--shape", "circle", "--filter", "median:3mm"], "gaussian, spline or robust", "gaussian:15upr"),
        (["--shape", "circle", "--filter", "gaussian"], "a cut-off", "gaussian:15upr"),
        (["--shape", "cylinder", "--filter", "gaussian:3mm"], "a circle, a line in a plane, or a plane", "one by one"),
        (["--shape", "plane", "--loss", "cauchy"], "squares, huber, tukey", "Choose one"),
        (["--shape", "plane", "--norm", "sum"], "left out for a plane", "--weights, --toward, --constraint normal"),
        (["--shape", "plane", "--toward=0,0,0"], "not all 0", "--toward=0,0,1"),
        (["--shape", "plane", "--plot", "fit.gif"], ".svg, .png or .pdf", "fit.svg"),
        (["--shape", "plane", "--u", "0"], "above 0", "Correct"),
        (["--shape", "plane", "--u", "2 furlong"], "one of mm", "Write the unit"),
        (["--shape", "plane", "--toward=0,1"], "three numbers", "--toward=0,0,1"),
        (["--shape", "circle", "--method", "least squares"], "least-squares", "--help"),
        ([], "be given", "--help"),
    ],
)
def test_bad_options(
    arguments: list[str], rule: str, way_out: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["fit", write(tmp_path, noisy("plane")), *arguments, "--json"]) == 2
    out, err = capsys.readouterr()
    error = json.loads(err)["error"]
    assert out == ""
    assert set(error) == {"where", "what", "rule", "found", "way_out"}
    assert rule in error["rule"]
    assert way_out in error["way_out"]


def test_toward_chooses_the_cylinder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    box = np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-2, 2)])
    path = write(tmp_path, box)
    assert main(["fit", path, "--shape", "cylinder"]) == 2
    assert "another cylinder" in capsys.readouterr().err
    assert answer(capsys, path, "--shape", "cylinder", "--toward=0,0,-1")["parameters"]["direction"] == [0, 0, -1]


def test_weights_by_area_and_norms(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A bow scanned densely at one end: by area it is level, by points it leans to the dense end."""
    x = np.r_[np.linspace(0, 10, 60), np.linspace(12, 100, 40)]
    y = np.linspace(0, 50, 12)
    gx, gy = (g.ravel() for g in np.meshgrid(x, y))
    path = write(tmp_path, np.column_stack([gx, gy, 0.01 * ((gx - 50) / 50) ** 2]))
    by_points = answer(capsys, path, "--shape", "plane", "--toward=0,0,1")["parameters"]["normal"]
    by_area = answer(capsys, path, "--shape", "plane", "--toward=0,0,1", "--weights", "area")["parameters"]["normal"]
    assert abs(by_area[0]) < 0.2 * abs(by_points[0])
    ask = ["--shape", "plane", "--method", "one-sided", "--toward=0,0,1"]
    found = {norm: answer(capsys, path, *ask, "--norm", norm) for norm in ("minimax", "sum", "squares")}
    assert answer(capsys, path, *ask)["parameters"] == found["minimax"]["parameters"]
    assert found["minimax"]["form_mm"] <= min(d["form_mm"] for d in found.values()) + 1e-12
    assert found["squares"]["sum_of_squares_mm2"] <= min(d["sum_of_squares_mm2"] for d in found.values()) + 1e-12
    for norm, d in found.items():
        assert d["norm"] == norm
        assert abs(d["residuals_mm"]["max"]) < 1e-10
        assert d["parameters"]["normal"][2] > 0
    below = answer(capsys, path, *ask[:-1], "--toward=0,0,-1")
    assert below["parameters"]["normal"][2] < 0
    assert answer(capsys, path, "--shape", "plane")["norm"] is None


def test_a_cylinder_from_outside_is_that_of_a_shaft(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = write(tmp_path, noisy("cylinder"))
    d = answer(capsys, path, "--shape", "cylinder", "--method", "one-sided")
    ring = answer(capsys, path, "--shape", "cylinder", "--method", "smallest-circumscribed")
    assert d["parameters"] == ring["parameters"]
    assert any("bore" in note for note in d["notes"])


def test_a_line_in_space_has_no_outside(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["fit", write(tmp_path, noisy("line")), "--shape", "line", "--method", "one-sided"]) == 2
    assert "x and y alone for a line by one-sided" in capsys.readouterr().err


def test_a_line_in_a_plane_parallel_to_a_direction(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Parallelism of a line element: the range of heights over the datum, here y."""
    points = np.column_stack([Z, 0.01 * np.sin(Z) + 0.001 * Z])
    path = write(tmp_path, points, "x,y")
    ask = ["--shape", "line", "--within", "plane", "--method", "minimum-zone"]
    d = answer(capsys, path, *ask, "--constraint", "parallel=1,0")
    assert d["form_mm"] == pytest.approx(np.ptp(points[:, 1]), abs=1e-12)
    assert d["rank"] == 1
    assert answer(capsys, path, *ask)["form_mm"] < d["form_mm"]
    assert main(["fit", path, *ask, "--constraint", "parallel=1,0,0"]) == 2
    assert "two numbers" in capsys.readouterr().err


def test_a_picture_that_cannot_be_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("not a folder")
    plot = str(tmp_path / "file" / "fit.svg")
    assert main(["fit", write(tmp_path, noisy("plane")), "--shape", "plane", "--plot", plot]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "--plot" in err
