"""Points that cannot carry a shape: a clear error, or an honest rank and covariance. For the library and for `fit`."""

import inspect
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from geometry_ways import WAYS, rotation

import trysquare.geometry as geometry
from trysquare.cli.main import main
from trysquare.core.errors import InputError, RankError, TrysquareError
from trysquare.geometry import fit_circle, fit_cylinder, fit_sphere, parameter_u
from trysquare.geometry.association import WAYS as WAYS_OF_THE_COMMAND

RNG = np.random.default_rng(0)
SPATIAL = [name for name, way in WAYS.items() if not way.flat]
#: what points on one line cannot carry; a line, and the smallest shape that holds them, they can
LINES = ("fit_line", "zone_line", "tangent_line", "zone_axis", "circumscribed")
NOT_LINES = [n for n, way in WAYS.items() if not way.name.startswith(LINES) and "held" not in n]
TURN = np.linspace(0, 2 * np.pi, 24, endpoint=False)


def points_of(name: str, n: int = 24) -> np.ndarray:
    return WAYS[name].make(np.random.default_rng(2))[:n]


@pytest.mark.parametrize("name", WAYS)
def test_too_few(name: str) -> None:
    with pytest.raises(InputError, match="at least") as info:
        WAYS[name](points_of(name, 1))
    assert "1" in info.value.found
    with pytest.raises(InputError):
        WAYS[name](points_of(name)[:0])


@pytest.mark.parametrize("name", [name for name, way in WAYS.items() if not way.fixed])
def test_coincident(name: str) -> None:
    same = np.full_like(points_of(name), 3.25)
    with pytest.raises(RankError, match=r"coincide|apart|line"):
        WAYS[name](same)


@pytest.mark.parametrize("name", NOT_LINES)
def test_on_one_line(name: str) -> None:
    t = np.linspace(-50, 50, 24)
    line = t[:, None] * np.array([1.0, 2.0, -0.5])[: 2 if WAYS[name].flat else 3] + 7.0
    with pytest.raises(RankError, match=r"line|plane"):
        WAYS[name](line)


def test_smallest_shapes_about_points_on_one_line() -> None:
    """Analytic: half their length for a circle or sphere, nothing for a cylinder."""
    line = np.linspace(-50, 50, 24)[:, None] * np.array([0.6, 0.0, 0.8]) + 7.0
    assert abs(geometry.circumscribed_sphere(line).radius_mm - 50) < 1e-12
    assert abs(geometry.circumscribed_circle(line[:, [0, 2]]).radius_mm - 50) < 1e-12
    assert geometry.zone_axis(line).width_mm < 1e-12
    assert geometry.circumscribed_cylinder(line).radius_mm < 1e-12


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
@pytest.mark.parametrize("name", WAYS)
def test_not_a_number(name: str, bad: float) -> None:
    points = points_of(name)
    points[7, 1] = bad
    with pytest.raises(InputError, match=r"\(7, 1\).*finite"):
        WAYS[name](points)


@pytest.mark.parametrize("name", SPATIAL)
def test_two_coordinates_where_three_are_needed(name: str) -> None:
    way = WAYS[name]
    if any(other.flat and other.name == way.name for other in WAYS.values()):
        return
    with pytest.raises(InputError, match="3"):
        way(points_of(name)[:, :2])


@pytest.mark.parametrize("name", WAYS)
@pytest.mark.parametrize("shape", [(5,), (24, 4), (24, 1), ()])
def test_not_points_at_all(name: str, shape: tuple[int, ...]) -> None:
    with pytest.raises(InputError):
        WAYS[name](np.ones(shape))


@pytest.mark.parametrize("name", WAYS)
def test_points_in_metres_are_answered(name: str) -> None:
    """A part of a few hundredths of a millimetre is legal: the same answer, a thousandth of it."""
    points = points_of(name)
    small, usual = WAYS[name].scaled(0.001)(points / 1000), WAYS[name](points)
    assert abs(small.form_mm * 1000 - usual.form_mm) < 1e-8


@pytest.mark.parametrize(
    "name", ["sphere", "sphericity", "inscribed sphere", "cylinder", "cylindricity", "cone", "torus"]
)
@pytest.mark.parametrize("turn", [None, 0, 1, 2, 3, 4])
def test_all_on_one_circle(name: str, turn: int | None) -> None:
    """Many spheres, cones and tori pass through one circle; turned, its points leave their plane by rounding only."""
    circle = np.column_stack([10 * np.cos(TURN), 10 * np.sin(TURN), 0 * TURN])
    if turn is not None:
        circle = circle @ rotation(np.random.default_rng(turn)).T + 3.0
    with pytest.raises(RankError, match=r"plane|circle|side open"):
        WAYS[name](circle)


ARCS = {
    "circle": (fit_circle, 3),
    "circle in a plane": (fit_circle, 2),
    "cylinder": (fit_cylinder, 3),
    "sphere": (fit_sphere, 3),
}


@pytest.mark.parametrize("degrees", [8.0, 5.0])
@pytest.mark.parametrize("name", ARCS)
def test_short_arc_answers_with_its_honest_covariance(name: str, degrees: float) -> None:
    """Stated uncertainty of the radius against 3000 draws: independent computation.

    Noise is a twentieth of the sagitta.
    """
    fit, dims = ARCS[name]
    half = np.radians(degrees) / 2
    a = np.linspace(-half, half, 30)
    z = np.tile([0.0, 10.0, 20.0], 10) * (name == "cylinder")
    tilt = RNG.uniform(-half, half, 30) * (name == "sphere")
    base = 100 * np.column_stack([np.cos(a) * np.cos(tilt), np.sin(a) * np.cos(tilt), np.sin(tilt)])
    base[:, 2] += z
    noise = 5 * (1 - np.cos(half))
    draws = base[:, :dims] + np.random.default_rng(4).normal(0, noise, (3000, 30, dims))
    batch = fit(draws)
    assert batch.ok.mean() > 0.999
    told = parameter_u(fit(base[:, :dims]), u_mm=noise).u["radius_mm"]
    spread = np.subtract(*np.nanpercentile(batch.radius_mm, [84.134, 15.866])) / 2
    assert abs(spread / told - 1) < 0.06
    own = parameter_u(batch).u["radius_mm"]  # from the residuals of each draw itself
    covered = np.nanmean(np.abs(batch.radius_mm - 100) < 2.06 * own)
    assert 0.92 < covered < 0.98


@pytest.mark.parametrize("name", ARCS)
def test_arcs_shorter_than_their_noise_never_look_certain(name: str) -> None:
    """Sagitta as large as the noise: a refusal in words, or an uncertainty that bounds the error to a few of it."""
    fit, dims = ARCS[name]
    rng = np.random.default_rng(3)
    for _ in range(250):
        a = np.linspace(-0.0175, 0.0175, 30)
        tilt = rng.uniform(-0.0175, 0.0175, 30) * (name == "sphere")
        points = 100 * np.column_stack([np.cos(a) * np.cos(tilt), np.sin(a) * np.cos(tilt), np.sin(tilt)])
        points[:, 2] += np.tile([0.0, 10.0, 20.0], 10) * (name == "cylinder")
        points += rng.normal(0, 0.02, points.shape)
        try:
            found = fit(points[:, :dims])
        except RankError:
            continue
        u = parameter_u(found).u["radius_mm"]
        assert u > 0
        assert abs(found.radius_mm - 100) < max(30 * u, found.radius_mm / 2)


def errors_of_fit(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, points: np.ndarray, *words: str
) -> dict[str, Any]:
    """What `trysquare fit --json` says on standard error; nothing on standard output, exit code 2."""
    path = tmp_path / "points.csv"
    np.savetxt(path, points, delimiter=",", header="x,y,z"[: 2 * points.shape[1] - 1], comments="", fmt="%.17g")
    assert main(["fit", str(path), *words, "--json"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    error = json.loads(err)["error"]
    assert set(error) == {"where", "what", "rule", "found", "way_out"}
    assert all(error.values())
    return error


COMMANDS = [
    (shape, method) for shape, methods in WAYS_OF_THE_COMMAND.items() for method, dims in methods.items() if 3 in dims
]


@pytest.mark.parametrize(("shape", "method"), COMMANDS)
def test_the_command_says_it_too(shape: str, method: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ("--shape", shape, "--method", method)
    for points in (np.ones((1, 3)), np.full((20, 3), 3.0), np.array([[1.0, 2, 3], [np.nan, 1, 2], [3, 4, 9]])):
        error = errors_of_fit(capsys, tmp_path, points, *words)
        assert "points.csv" in error["where"]
    if shape not in ("line", "circle"):
        flat = np.column_stack([10 * np.cos(TURN), 10 * np.sin(TURN)])
        assert "z" in errors_of_fit(capsys, tmp_path, flat, *words)["rule"]
    if not WAYS_OF_THE_COMMAND[shape][method][3].startswith(LINES):
        line = np.linspace(0, 9, 20)[:, None] * [1.0, 2.0, 3.0]
        error = errors_of_fit(capsys, tmp_path, line, *words)
        said = error["rule"] + error["found"] + error["way_out"]
        assert any(word in said for word in ("line", "plane", "straight", "side open"))


def test_every_public_way_is_in_the_table() -> None:
    """A new function that associates a shape comes with its line in geometry_ways.py."""
    starts = ("fit_", "zone_", "circumscribed_", "inscribed_", "minimum_zone_", "tangent_")
    known = {way.name for way in WAYS.values()}
    public = {name for name in geometry.__all__ if name.startswith(starts) and callable(getattr(geometry, name))}
    public -= {"zone_profile", "zone_width"}  # of a nominal surface, of columns: tests of their own
    public = {name for name in public if "points_mm" in inspect.signature(getattr(geometry, name)).parameters}
    assert public <= known, public - known


def test_errors_are_all_of_one_tree() -> None:
    """Whatever is thrown at a fit, what comes back is the package's own error or an answer."""
    rng = np.random.default_rng(9)
    for name, way in WAYS.items():
        dims = 2 if way.flat else 3
        for points in (
            np.zeros((8, dims)), np.eye(8, dims), rng.integers(0, 2, (12, dims)).astype(float),
            np.repeat(rng.normal(size=(2, dims)), 6, axis=0), rng.normal(size=(9, dims)) * 1e-300,
            rng.normal(size=(9, dims)) * 1e150, np.linspace(0, 1, 9 * dims).reshape(9, dims) ** 2,
        ):  # fmt: skip
            try:
                fit = way(points)
            except TrysquareError:
                continue
            assert np.isfinite(fit.residuals_mm).all(), name
