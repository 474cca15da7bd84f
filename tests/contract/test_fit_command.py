"""The contract of `trysquare fit`: keys, exit codes, the shape of errors, the text for people."""

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from trysquare.cli.main import main

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
}
RNG = np.random.default_rng(0)
A, Z = RNG.uniform(0, 2 * np.pi, 30), RNG.uniform(-20, 20, 30)
D = RNG.normal(size=(30, 3))
POINTS = {
    "line": np.column_stack([0 * A, 0 * A, Z]),
    "plane": np.column_stack([20 * np.cos(A), Z, 0 * A]),
    "circle": np.column_stack([25 * np.cos(A), 25 * np.sin(A), 0 * A]),
    "sphere": 25 * D / np.linalg.norm(D, axis=1)[:, None],
    "cylinder": np.column_stack([25 * np.cos(A), 25 * np.sin(A), Z]),
}


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
    if "radius_mm" in d["parameters"]:
        assert abs(d["parameters"]["radius_mm"] - 25) < 5 * d["u"]["radius_mm"]
    if shape in ("plane", "sphere", "cylinder"):
        assert d["form_mm"] == d["residuals_mm"]["max"] - d["residuals_mm"]["min"]
    assert d["rank"] == {"line": 4, "plane": 3, "circle": 6, "sphere": 4, "cylinder": 5}[shape]


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
        (["--shape", "plane", "--method", "minimum-zone", "--weights", "area"], "left out", "counts alike"),
        (["--shape", "line", "--within", "plane"], "x and y alone", "Leave out the column"),
        (["--shape", "circle", "--within", "plane"], "go with a line", "Drop it"),
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
    for extra in ([], ["--u", "0.01"], ["--method", "minimum-zone"]):
        if main(["fit", write(tmp_path, points), "--shape", shape, *extra]) == 2:
            continue
        out = capsys.readouterr().out
        assert max(map(len, out.splitlines())) <= 80
        assert "form" in out
        assert "standard uncertainties" in out or "Held by the points" in out


def test_as_a_process(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "trysquare", "fit", write(tmp_path, noisy("cylinder")), "--shape", "cylinder"]
    done = subprocess.run([*command, "--json"], capture_output=True, text=True, check=False)
    assert done.returncode == 0
    assert done.stderr == ""
    assert abs(json.loads(done.stdout)["parameters"]["radius_mm"] - 25) < 0.02
