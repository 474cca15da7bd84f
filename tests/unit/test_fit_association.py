"""One door to the associations: the table is true, options are those of the functions, notes and filters."""

import numpy as np
import pytest
from fit_sample import POINTS, bore, ring

import trysquare.geometry as geometry
from trysquare.core.errors import InputError
from trysquare.geometry.association import FREEDOMS, METHODS, WAYS, associate, function, options

CASES = [
    (shape, method, dims) for shape, methods in WAYS.items() for method, at in methods.items() for dims in at
]  # fmt: skip


@pytest.mark.parametrize(("shape", "method", "dims"), CASES)
def test_the_table_names_functions_that_answer(shape: str, method: str, dims: int) -> None:
    """The same numbers through the door as from the function itself."""
    assert method in METHODS
    call = getattr(geometry, WAYS[shape][method][dims])
    assert function(shape, method, dims) is call
    a = associate(POINTS[shape, dims], shape=shape, method=method)
    own = call(POINTS[shape, dims], **({"whole": True} if "whole" in options(shape, method, dims) else {}))
    assert a.form_mm == float(own.form_mm)
    assert a.rank == FREEDOMS[shape][dims]
    assert (a.certificate is None) == (method == "least-squares")
    assert a.residuals_mm.shape == (len(POINTS[shape, dims]),)
    for name, value in a.parameters.items():
        assert np.array_equal(value, getattr(own, name))


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"shape": "cube"}, ["one of line, plane", '"cube"']),
        ({"shape": "circle", "method": "guess"}, ["for a circle", "The methods are least-squares"]),
        ({"shape": "plane", "method": "largest-inscribed"}, ["for a plane", '"largest-inscribed"']),
        ({"shape": "sphere", "direction": [0, 0, 1]}, ["direction must be left out for a sphere"]),
        ({"shape": "cylinder", "u_mm": 0.0}, ["above 0"]),
    ],
)
def test_what_there_is_not_is_refused_with_what_there_is(given: dict, words: list[str]) -> None:
    with pytest.raises(InputError) as info:
        associate(POINTS["cylinder", 3], **given)
    for word in words:
        assert word in str(info.value)


def test_batches_and_points_of_a_plane_for_a_sphere_are_refused() -> None:
    with pytest.raises(InputError, match="one set"):
        associate(np.zeros((2, 5, 3)), shape="plane")
    with pytest.raises(InputError, match="x, y and z"):
        associate(ring(20), shape="sphere")


@pytest.mark.parametrize(
    ("shape", "held", "rank"),
    [
        ("plane", {"perpendicular_to": [0, 0, 1]}, 1),
        ("plane", {"parallel_to": [1, 0, 0]}, 2),
        ("cylinder", {"direction": [0, 0, 1]}, 3),
        ("circle", {"normal": [0, 0.6, 0.8]}, 4),
    ],
)
def test_what_is_held_is_not_for_the_points_to_fix(shape: str, held: dict, rank: int) -> None:
    assert associate(POINTS[shape, 3], shape=shape, method="minimum-zone", **held).rank == rank


@pytest.mark.parametrize(("scale", "word"), [(1e-3, "x [m]"), (1e4, "x [um]"), (1.0, "")])
def test_a_slip_of_unit_is_remarked_on(scale: float, word: str) -> None:
    notes = associate(POINTS["cylinder", 3] * scale, shape="cylinder").notes
    assert len(notes) == bool(word)
    assert all(word in note for note in notes)


def test_filtered_then_associated() -> None:
    """A wave of 20 undulations is gone at a cut-off of 5; one of 2 stays but for 1 - 2^-(4/25) of it (ISO 16610-21)."""
    t = np.arange(360) * np.pi / 180
    r = 25 + 0.010 * np.cos(2 * t) + 0.004 * np.cos(20 * t)
    points = np.column_stack([r * np.cos(t), r * np.sin(t)])
    a = associate(points, shape="circle", filtering={"kind": "gaussian", "cutoff_upr": 5.0})
    assert a.form_mm == pytest.approx(0.020 * 2 ** -((2 / 5) ** 2), rel=1e-3)
    assert a.filtered is not None
    assert "ISO 16610-21" in a.filtered
    whole = associate(points, shape="circle")
    assert whole.filtered is None
    assert whole.form_mm > 0.024  # negative twin: unfiltered, the fine wave is there


def test_contacts_are_those_of_the_file_where_a_filter_left_points_out() -> None:
    x = np.linspace(0, 100, 201)
    points = np.column_stack([x, 0.01 * np.sin(x / 10)])
    a = associate(points, shape="line", filtering={"kind": "gaussian", "cutoff_mm": 8.0})
    assert 0 < len(a.kept) < 201
    assert len(a.points_mm) == len(a.kept)
    assert any("left out" in note for note in a.notes)
    assert np.allclose(a.points_mm[:, 0], x[a.kept], atol=0.01)


def test_a_plane_on_a_grid_is_filtered_in_any_order_of_points() -> None:
    x, y = (g.ravel() for g in np.meshgrid(np.arange(0, 60, 1.0), np.arange(0, 40, 1.0)))
    z = 0.01 * np.sin(2 * np.pi * x / 40) + 0.005 * np.sin(2 * np.pi * y / 2.5)
    points = np.column_stack([x, y, z])
    filtering = {"kind": "gaussian", "cutoff_mm": 8.0}
    a = associate(points, shape="plane", filtering=filtering)
    order = np.random.default_rng(0).permutation(len(points))
    b = associate(points[order], shape="plane", filtering=filtering)
    assert b.form_mm == pytest.approx(a.form_mm, abs=1e-12)
    assert a.form_mm < associate(points, shape="plane").form_mm - 0.005
    c, s = np.cos(0.6), np.sin(0.6)  # tilted about y: the cut-off is along the face, not along its shadow
    tilted = np.column_stack([c * x - s * z, y, s * x + c * z])
    assert associate(tilted, shape="plane", filtering=filtering).form_mm == pytest.approx(a.form_mm, rel=2e-3)


@pytest.mark.parametrize(
    ("shape", "dims", "filtering", "words"),
    [
        ("cylinder", 3, {"kind": "gaussian", "cutoff_mm": 8.0}, "one by one"),
        ("line", 3, {"kind": "gaussian", "cutoff_mm": 8.0}, "a line in space"),
        ("line", 2, {"kind": "gaussian", "cutoff_upr": 8.0}, "wavelength"),
        ("line", 2, {"kind": "gaussian", "cutoff_mm": 399.0}, "no end touches"),
        ("plane", 3, {"kind": "spline", "cutoff_mm": 8.0}, "gaussian or robust"),
    ],
)
def test_filters_where_they_do_not_go(shape: str, dims: int, filtering: dict, words: str) -> None:
    with pytest.raises(InputError, match=words):
        associate(POINTS[shape, dims], shape=shape, filtering=filtering)


def test_a_plane_off_the_grid_is_not_filtered() -> None:
    points = POINTS["plane", 3].copy()
    points[7, 0] += 3.0
    with pytest.raises(InputError, match="full, even grid"):
        associate(points, shape="plane", filtering={"kind": "gaussian", "cutoff_mm": 60.0})


def test_the_apex_of_a_cone_and_its_uncertainty() -> None:
    """Independent computation: the spread of the apex over 400 draws agrees within 4 of its own standard errors."""
    points, u = bore(5, 24, taper=0.2), 0.01
    a = associate(points, shape="cone", u_mm=u)
    assert a.told is not None
    assert np.shape(a.told.covariance) == (11, 11)
    assert list(a.parameters) == list(a.told.u)
    draws = points + np.random.default_rng(8).normal(0, u, (400, *points.shape))
    apexes = geometry.fit_cone(draws, toward=[0, 0, 1]).apex_mm
    assert np.allclose(apexes.std(0, ddof=1), a.told.u["apex_mm"], rtol=4 / np.sqrt(2 * 399))


def test_coordinates_without_digits_are_refused() -> None:
    with pytest.raises(InputError, match="within 1e"):
        associate(POINTS["plane", 3] * 1e20, shape="plane")
