"""Flatness and orientation of a plane: what is said, what is refused, and what must not matter."""

import numpy as np
import pytest

from trysquare.chance.sources import Draws
from trysquare.core.errors import InputError
from trysquare.tolerances import form_nodes
from trysquare.tolerances.form_plane import flatness_statement, orientation_statement

RNG = np.random.default_rng(11)
AXIS = np.linspace(0.0, 200.0, 5)
UV = np.stack(np.meshgrid(AXIS, AXIS), axis=-1).reshape(-1, 2)
S = 0.002
E = S * RNG.normal(size=(600, 25))
TWIST = 0.06 * ((UV[:, 0] - 100) * (UV[:, 1] - 100)) / 1e4 / 2
Y = TWIST + S * RNG.normal(size=25)


def _flat(uv=UV, y=Y, e=E, seed=1, **options):
    return flatness_statement(uv, y, e, Draws(seed, 0, len(e)), surface_draws=300, **options)


def test_twisted_plane_holds_its_truth():
    """Analytic: h = c u v over a square of half side b has the smallest zone 2 c b^2 = 0.06 mm, whatever the tilt."""
    said = _flat()
    assert said.kind == "extreme"
    assert said.interval[0] < 0.06 < said.interval[1]
    assert said.interval[0] < said.value < said.interval[1]
    assert said.interval[1] - said.interval[0] < 0.012
    assert any("valid for form wavelengths" in note for note in said.notes)
    assert any("points alone read" in note for note in said.notes)


def test_width_of_a_defect_is_two_spacings():
    """Analytic: points every 50 mm, w = 2 L / (N - 1) on an open length."""
    there = form_nodes.field(form_nodes.measured(UV, Y, E), None)
    assert there.defect_mm == pytest.approx(100.0, rel=0.03)


@pytest.mark.parametrize(("rows", "told"), [((5, 2), True), ((2, 6), True), ((4, 3), False), ((5, 5), False)])
def test_a_bow_that_the_rows_of_points_cannot_show_is_told(rows, told):
    """Analytic: in two rows the square of the distance across is a constant."""
    uv = np.stack(np.meshgrid(*(np.linspace(0, 200, n) for n in rows)), axis=-1).reshape(-1, 2)
    e = S * RNG.normal(size=(600, len(uv)))
    said = _flat(uv=uv, y=e[0], e=e)
    assert any("a bow across the rows of points is not seen" in note for note in said.notes) == told


def test_tilt_shift_and_a_turned_frame_change_nothing():
    turn = np.array([[0.6, -0.8], [0.8, 0.6]])
    a = _flat()
    b = _flat(y=Y + 5.0 + UV @ [0.3, -0.2], e=E + 3.0)
    assert a.interval == pytest.approx(b.interval, rel=1e-6)
    c = _flat(uv=UV @ turn)
    assert a.interval == pytest.approx(c.interval, rel=0.08)


def test_a_shared_shift_of_the_errors_is_no_doubt_of_the_form():
    shared = E + 0.05 * RNG.normal(size=(600, 1))
    assert _flat(e=shared).interval == pytest.approx(_flat().interval, rel=0.02)


def test_same_seed_same_bits():
    assert np.array_equal(_flat().quantiles, _flat().quantiles)
    assert not np.array_equal(_flat().quantiles, _flat(seed=2).quantiles)


def test_noise_alone_is_not_called_form():
    said = _flat(y=S * np.random.default_rng(4).normal(size=25))
    assert said.interval[0] == 0.0
    assert said.quantiles[0] == 0.0
    assert said.interval[1] < 8 * S
    assert any(note.startswith("form not resolved") for note in said.notes)


def test_quantiles_meet_the_interval():
    for said in (_flat(), _flat(y=S * np.random.default_rng(4).normal(size=25))):
        assert said.quantile(0.025) == pytest.approx(said.interval[0], abs=1e-12)
        assert said.quantile(0.975) == pytest.approx(said.interval[1], abs=1e-12)
        assert np.all(np.diff(said.quantiles) >= 0.0)


def test_wide_statement_says_so():
    index = [0, 2, 4, 10, 14, 20, 22, 24]
    uneven = 0.008 * np.array([1.0, -1.0, 0.4, 0.2, 1.0, -0.3, 0.9, -0.8])
    said = _flat(uv=UV[index], y=uneven, e=E[:, index])
    assert said.reason is None
    assert said.interval[1] > 3.0 * said.interval[0] > 0.0
    assert any("take the upper limit only" in note for note in said.notes)


@pytest.mark.parametrize("n", [3, 7])
def test_too_few_points_say_how_many_more(n):
    said = _flat(uv=UV[:n] + RNG.random((n, 2)), y=Y[:n], e=E[:, :n])
    assert said.interval is None
    assert f"{8 - n} more" in said.reason


def test_points_in_line_are_refused_with_a_reason():
    line = np.column_stack([np.arange(10.0), 2.0 * np.arange(10.0)])
    assert "in one line" in _flat(uv=line, y=Y[:10], e=E[:, :10]).reason


def test_a_small_defect_asks_for_more_points():
    said = _flat(smallest_defect_mm=40.0)
    assert "about 121 points" in said.reason  # 200 mm at 20 mm: 11 x 11
    assert _flat(smallest_defect_mm=105.0).reason is None


def test_an_outline_beyond_the_points_adds_doubt():
    inner = (UV[:, 0] < 160) & (UV[:, 1] < 160)
    a = _flat(uv=UV[inner], y=Y[inner], e=E[:, inner])
    b = _flat(uv=UV[inner], y=Y[inner], e=E[:, inner], outline_mm=[[0, 0], [200, 0], [200, 200], [0, 200]])
    assert b.interval[1] - b.interval[0] > 1.3 * (a.interval[1] - a.interval[0])


def test_dense_points_are_averaged_and_the_edge_is_not_lost():
    rng = np.random.default_rng(12)
    uv = rng.random((6000, 2)) * [200.0, 80.0]
    truth = 2 * 1e-6 * 100 * 40  # of 1e-6 u v over 200 x 80, analytic; random points stop short of its corners
    y = 1e-6 * uv[:, 0] * uv[:, 1] + 0.002 * rng.normal(size=6000)
    e = 0.002 * rng.normal(size=(200, 6000))
    said = _flat(uv=uv, y=y, e=e)
    assert said.interval[0] < 0.97 * truth < said.interval[1]
    assert any(note.startswith("heights averaged in cells") for note in said.notes)


def test_parallelism_of_a_tilted_flat_plane():
    """Analytic: a flat plane tilted by 1e-3 along u over 200 mm fills 0.2 mm."""
    tilt = np.array([1e-3, 0.0])
    slopes = tilt + 1e-6 * RNG.normal(size=(600, 2))
    said = orientation_statement(UV, 0.0 * Y, E, tilt, slopes, Draws(1, 0, 600), surface_draws=300)
    assert said.interval[0] < 0.2 + 3 * S
    assert said.interval[1] > 0.2
    assert said.value == pytest.approx(0.2, abs=4 * S)


def test_perpendicularity_leaves_one_turn_free():
    tilt = np.array([1e-3])
    slopes = tilt + 1e-6 * RNG.normal(size=(600, 1))
    heights = Y + UV[:, 1] * 5e-3  # a slope along the free direction does not count
    said = orientation_statement(
        UV, heights, E, tilt, slopes, Draws(1, 0, 600), directions=[[1.0, 0.0]], surface_draws=300
    )
    assert said.value < 0.2 + 0.06 + 6 * S


def test_perfect_plane_perfectly_oriented_has_lower_limit_zero():
    slopes = 2e-6 * RNG.normal(size=(600, 2))
    said = orientation_statement(
        UV, S * np.random.default_rng(4).normal(size=25), E, [1e-6, 0.0], slopes, Draws(1, 0, 600), surface_draws=300
    )
    assert said.interval[0] == 0.0


def test_bad_shapes_are_refused():
    with pytest.raises(InputError):
        _flat(y=Y[:-1])
    with pytest.raises(InputError):
        orientation_statement(UV, Y, E, [0.0, 0.0], np.zeros((600, 1)), Draws(1, 0, 600))
