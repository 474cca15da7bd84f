"""The contract of `trysquare fit`: keys, exit codes, the shape of errors, the text for people."""

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from fit_points import KEYS, PARAMETERS, POINTS, RANK, ZONES, Z, answer, noisy, write

from trysquare.cli.main import main
from trysquare.geometry.association import WAYS


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


def test_points_that_do_not_do_name_the_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = write(tmp_path, POINTS["line"])
    assert main(["fit", path, "--shape", "cylinder"]) == 2
    assert capsys.readouterr().err.startswith(f"{path}: the points must lie off one line; got points on one line.")
    assert main(["fit", write(tmp_path, POINTS["circle"][:, :2], "x,y"), "--shape", "sphere"]) == 2
    assert "x, y and z for a sphere" in capsys.readouterr().err


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


def test_as_a_process(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "trysquare", "fit", write(tmp_path, noisy("cylinder")), "--shape", "cylinder"]
    done = subprocess.run([*command, "--json"], capture_output=True, text=True, check=False)
    assert done.returncode == 0
    assert done.stderr == ""
    assert abs(json.loads(done.stdout)["parameters"]["radius_mm"] - 25) < 0.02


def test_published_circle_through_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """I. D. Coope, JOTA 76 (1993) 381: least squares to 30 digits, minimum zone by all sets of four contacts
    (independent computations; the published digits are off in the seventh place).
    """
    points = [(0.7, 4), (3.3, 4.7), (5.6, 4), (7.5, 1.3), (6.4, -1.1), (4.4, -3), (0.3, -2.5), (-1.1, 1.3)]
    path = write(tmp_path, np.array(points), "x,y")
    least = answer(capsys, path, "--shape", "circle", "--method", "least-squares")["parameters"]
    assert np.allclose(least["center_mm"], [3.04323825158, 0.74567831346], rtol=0, atol=1e-10)
    assert least["radius_mm"] == pytest.approx(4.10585583795, abs=1e-10)
    zone = answer(capsys, path, "--shape", "circle", "--method", "minimum-zone")
    assert zone["form_mm"] == pytest.approx(0.57115992, abs=1e-8)
    assert np.allclose(zone["parameters"]["center_mm"], [3.121050, 0.875906], rtol=0, atol=1e-6)
    assert zone["certificate"]["kind"] == "global"
