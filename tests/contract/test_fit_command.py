"""The contract of `trysquare fit`: keys, exit codes, the shape of errors, the text for people."""

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from trysquare.cli.main import main
from trysquare.geometry.association import WAYS

KEYS = {
    "shape", "method", "parameters", "form_mm", "residuals_mm", "sum_of_squares_mm2", "u", "covariance", "certificate",
    "points", "rank", "stopped",
}  # fmt: skip
PARAMETERS = {
    "line": {"point_mm": 3, "direction": 3},
    "plane": {"point_mm": 3, "normal": 3},
    "circle": {"center_mm": 3, "normal": 3, "radius_mm": 1},
    "sphere": {"center_mm": 3, "radius_mm": 1},
    "cylinder": {"point_mm": 3, "direction": 3, "radius_mm": 1},
    "cone": {"point_mm": 3, "direction": 3, "radius_mm": 1, "half_angle_rad": 1, "apex_mm": 3},
    "torus": {"center_mm": 3, "direction": 3, "major_radius_mm": 1, "minor_radius_mm": 1},
}
RANK = {"line": 4, "plane": 3, "circle": 6, "sphere": 4, "cylinder": 5, "cone": 6, "torus": 7}
RNG = np.random.default_rng(0)
A, Z = RNG.uniform(0, 2 * np.pi, 30), RNG.uniform(-20, 20, 30)
D = RNG.normal(size=(30, 3))
POINTS = {
    "line": np.column_stack([0 * A, 0 * A, Z]),
    "plane": np.column_stack([20 * np.cos(A), Z, 0 * A]),
    "circle": np.column_stack([25 * np.cos(A), 25 * np.sin(A), 0 * A]),
    "sphere": 25 * D / np.linalg.norm(D, axis=1)[:, None],
    "cylinder": np.column_stack([25 * np.cos(A), 25 * np.sin(A), Z]),
    "cone": np.column_stack([(25 + 0.2 * Z) * np.cos(A), (25 + 0.2 * Z) * np.sin(A), Z]),
    "torus": np.column_stack([(40 + 8 * np.cos(Z)) * np.cos(A), (40 + 8 * np.cos(Z)) * np.sin(A), 8 * np.sin(Z)]),
}
ZONES = [(shape, method, dims) for shape, methods in WAYS.items() for method, at in methods.items() for dims in at
         if method != "least-squares"]  # fmt: skip


def write(folder: Path, points: np.ndarray, header: str = "x,y,z") -> str:
    path = folder / "points.csv"
    np.savetxt(path, points, delimiter=",", header=header, comments="", fmt="%.17g")
    return str(path)


def noisy(shape: str) -> np.ndarray:
    return POINTS[shape] + np.random.default_rng(1).normal(0, 0.01, (30, 3))


def answer(capsys: pytest.CaptureFixture[str], *arguments: str) -> dict:
    assert main(["fit", *arguments, "--json"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return json.loads(out)


@pytest.mark.parametrize("shape", PARAMETERS)
def test_least_squares(shape: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    d = answer(capsys, write(tmp_path, noisy(shape)), "--shape", shape, "--method", "least-squares", "--u", "0.01")
    assert set(d) >= KEYS
    assert (d["shape"], d["method"], d["points"]) == (shape, "least-squares", 30)
    for key in ("parameters", "u"):
        assert {name: np.size(value) for name, value in d[key].items()} == PARAMETERS[shape]
    assert np.shape(d["covariance"]) == (sum(PARAMETERS[shape].values()),) * 2
    assert set(d["residuals_mm"]) == {"min", "max", "rms"}
    assert 0.005 < d["residuals_mm"]["rms"] < 0.02
    assert abs(d["residuals_mm"]["rms"] ** 2 * 30 - d["sum_of_squares_mm2"]) < 1e-12
    if "radius_mm" in d["parameters"] and shape != "cone":
        assert abs(d["parameters"]["radius_mm"] - 25) < 5 * d["u"]["radius_mm"]
    if shape not in ("line", "circle"):
        assert d["form_mm"] == d["residuals_mm"]["max"] - d["residuals_mm"]["min"]
    assert d["rank"] == RANK[shape]


def test_minimum_zone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = write(tmp_path, noisy("plane"))
    wide = answer(capsys, path, "--shape", "plane")
    d = answer(capsys, path, "--shape", "plane", "--method", "minimum-zone")
    assert set(d) >= KEYS
    assert d["form_mm"] < wide["form_mm"]
    assert set(d["certificate"]) >= {"kind", "gap_mm", "contacts"}
    assert len(d["certificate"]["contacts"]) == 4
    assert 0 <= d["certificate"]["gap_mm"] < 1e-10
    assert abs(d["residuals_mm"]["max"] + d["residuals_mm"]["min"]) < 1e-10  # parameters are the zone's middle


@pytest.mark.parametrize(("shape", "method", "dims"), ZONES)
def test_zones_and_touching_shapes(
    shape: str, method: str, dims: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    points = noisy(shape)
    points = points if dims == 3 else points[:, :2] if shape == "circle" else points[:, ::2][:, ::-1]
    path = write(tmp_path, points, "x,y,z"[: 2 * dims - 1])
    more = [f"--toward={'0,1' if dims == 2 else '0,0,1'}"] if method == "one-sided" else []
    d = answer(capsys, path, "--shape", shape, "--method", method, *more)
    assert set(d) >= KEYS
    expected = {name: min(size, dims) for name, size in PARAMETERS[shape].items() if dims == 3 or name != "normal"}
    assert {name: np.size(value) for name, value in d["parameters"].items()} == expected
    c = d["certificate"]
    assert set(c) >= {"kind", "gap_mm", "contacts"}
    assert c["kind"] == "global" or c["kind"].startswith("local")
    assert len(c["contacts"]) >= 2
    assert all(0 <= i < 30 for i in c["contacts"])
    r = d["residuals_mm"]
    if method == "minimum-zone":
        width = 2 * r["max"] if (shape, dims) == ("line", 3) else r["max"] - r["min"]
        assert d["form_mm"] == pytest.approx(width, abs=1e-9)
        wide = answer(capsys, path, "--shape", shape)
        assert d["form_mm"] <= wide["form_mm"] + 1e-9
        assert (shape, dims) == ("line", 3) or abs(r["max"] + r["min"]) < 1e-9  # parameters are the zone's middle
    if method == "largest-inscribed":
        assert abs(r["min"]) < 1e-9
    if method == "smallest-circumscribed":
        assert abs(r["max"]) < 1e-9


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


def test_metres_are_only_remarked_on(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    d = answer(capsys, write(tmp_path, noisy("sphere") / 1000), "--shape", "sphere")
    assert any("x [m]" in note for note in d["notes"])
    assert answer(capsys, write(tmp_path, noisy("sphere")), "--shape", "sphere")["notes"] == []


def test_a_cone_without_an_apex_is_null_not_a_number(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = write(tmp_path, POINTS["cylinder"])
    d = answer(capsys, path, "--shape", "cone")
    assert d["parameters"]["apex_mm"] is None or np.shape(d["parameters"]["apex_mm"]) == (3,)
    assert any("cylinder" in note for note in d["notes"]) or abs(d["parameters"]["half_angle_rad"]) < 1e-9
    assert main(["fit", path, "--shape", "cone"]) == 0


@pytest.mark.parametrize("shape", ["line", "circle"])
def test_points_in_a_plane_get_two_coordinates(shape: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    points = np.column_stack([Z, 3 * Z]) if shape == "line" else POINTS["circle"][:, :2]
    d = answer(capsys, write(tmp_path, points, "x,y"), "--shape", shape, "--u", "1 um")
    expected = {"point_mm": 2, "direction": 2} if shape == "line" else {"center_mm": 2, "radius_mm": 1}
    assert {name: np.size(value) for name, value in d["parameters"].items()} == expected
    assert {name: np.size(value) for name, value in d["u"].items()} == expected


def test_a_line_within_a_plane_is_that_of_its_x_and_y(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = write(tmp_path, np.column_stack([Z, 0.01 * np.sin(Z)]), "x,y")
    within = answer(capsys, path, "--shape", "line", "--within", "plane")
    assert within == answer(capsys, path, "--shape", "line")
    r = within["residuals_mm"]
    assert within["form_mm"] == pytest.approx(r["max"] - r["min"], rel=1e-12)


def test_units_in_the_header(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    mm = answer(capsys, write(tmp_path, noisy("sphere")), "--shape", "sphere")
    inch = answer(capsys, write(tmp_path, noisy("sphere") / 25.4, "x [in],y [in],z [in]"), "--shape", "sphere")
    assert abs(mm["parameters"]["radius_mm"] - inch["parameters"]["radius_mm"]) < 1e-9


def test_no_freedom_no_uncertainty(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    d = answer(capsys, write(tmp_path, np.eye(3)), "--shape", "plane")
    assert d["u"] is None
    assert d["covariance"] is None


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


def test_points_that_do_not_do_name_the_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = write(tmp_path, POINTS["line"])
    assert main(["fit", path, "--shape", "cylinder"]) == 2
    assert capsys.readouterr().err.startswith(f"{path}: the points must lie off one line; got points on one line.")
    assert main(["fit", write(tmp_path, POINTS["circle"][:, :2], "x,y"), "--shape", "sphere"]) == 2
    assert "x, y and z for a sphere" in capsys.readouterr().err


def test_toward_chooses_the_cylinder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    box = np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-2, 2)])
    path = write(tmp_path, box)
    assert main(["fit", path, "--shape", "cylinder"]) == 2
    assert "another cylinder" in capsys.readouterr().err
    assert answer(capsys, path, "--shape", "cylinder", "--toward=0,0,-1")["parameters"]["direction"] == [0, 0, -1]


@pytest.mark.parametrize("shape", PARAMETERS)
def test_text_fits_eighty_columns(shape: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    points = noisy(shape) + 1e5
    cases = [["--u", "0.01"], ["--loss", "huber"], *(["--method", m] for m, at in WAYS[shape].items() if 3 in at)]
    for extra in cases:
        assert main(["fit", write(tmp_path, points), "--shape", shape, *extra]) == 0
        out = capsys.readouterr().out
        assert max(map(len, out.splitlines())) <= 80, out
        assert "form" in out
        assert "standard uncertainties" in out or "Held by the points" in out


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


def test_as_a_process(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "trysquare", "fit", write(tmp_path, noisy("cylinder")), "--shape", "cylinder"]
    done = subprocess.run([*command, "--json"], capture_output=True, text=True, check=False)
    assert done.returncode == 0
    assert done.stderr == ""
    assert abs(json.loads(done.stdout)["parameters"]["radius_mm"] - 25) < 0.02


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
