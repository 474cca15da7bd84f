"""Points and helpers of the tests of `trysquare fit`: a set for each shape, with noise."""

import json
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
