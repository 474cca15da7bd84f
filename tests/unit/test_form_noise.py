"""Form above noise: false alarms, power, and the size of what is left over."""

import numpy as np
import pytest

from trysquare.chance.form_noise import fit_columns, form_above_noise
from trysquare.core.errors import InputError


def _runs(form, *, shift=20.0, wave=2.0, n=25, count=300):
    rng = np.random.default_rng(6)
    out = []
    for _ in range(count):
        uv = rng.random((n, 2)) * 100.0
        A = np.column_stack([np.ones(n), uv])
        slow = np.sin(uv[:, 0] / 20.0)
        errors = rng.normal(size=(201, n)) + rng.normal(size=(201, 1)) * shift + rng.normal(size=(201, 1)) * wave * slow
        y = errors[0] + form * rng.normal(size=n)
        columns = fit_columns(np.column_stack([uv, np.zeros(n)]), np.tile([0.0, 0.0, 1.0], (n, 1)))
        found = form_above_noise(y - A @ (np.linalg.pinv(A) @ y), errors[1:], columns=columns)
        out.append((found.p, found.sd_mm, found.dof))
    return np.array(out)


def test_noise_alone_is_rarely_called_form():
    """Binomial tolerance of 300 runs at 5 %: 2.3 to 8.9 % in 99 of 100 cases."""
    p = _runs(0.0)[:, 0]
    assert 0.02 < np.mean(p < 0.05) < 0.095
    assert np.mean(p < 0.01) < 0.035


def test_form_three_times_the_noise_is_found_and_sized():
    found = _runs(3.0)
    assert np.mean(found[:, 0] < 0.01) > 0.98
    assert np.mean(found[:, 1] ** 2) == pytest.approx(9.0, rel=0.1)
    assert 12.0 < np.median(found[:, 2]) < 22.0  # at most n - p = 22


@pytest.mark.parametrize(("kind", "rank"), [("plane", 3), ("cylinder", 5), ("sphere", 4), ("circle", 3)])
def test_columns_span_what_a_fit_takes_up(kind, rank):
    """Analytic: free parameters of each shape."""
    rng = np.random.default_rng(7)
    turn, z = rng.uniform(0, 2 * np.pi, 30), rng.uniform(-5, 5, 30)
    round_ = np.column_stack([np.cos(turn), np.sin(turn), np.zeros(30)])
    ball = rng.normal(size=(30, 3))
    ball /= np.linalg.norm(ball, axis=1)[:, None]
    points, normals = {
        "plane": (np.column_stack([10 * round_[:, :2], np.zeros(30)]), np.tile([0.0, 0.0, 1.0], (30, 1))),
        "cylinder": (8 * round_ + z[:, None] * np.array([0.0, 0.0, 1.0]), round_),
        "sphere": (6 * ball + np.array([1.0, 2.0, 3.0]), ball),
        "circle": (8 * round_, round_),
    }[kind]
    assert np.linalg.matrix_rank(fit_columns(points, normals), tol=1e-9) == rank


def test_nothing_left_over_gives_none():
    points = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0]])
    columns = fit_columns(points, np.tile([0.0, 0.0, 1.0], (3, 1)))
    assert form_above_noise(np.zeros(3), np.random.default_rng(1).normal(size=(50, 3)), columns=columns) is None


def test_errors_of_nothing_make_any_residual_form():
    found = form_above_noise(np.array([1.0, -1.0, 1.0, -1.0]), np.zeros((30, 4)))
    assert found.p == 0.0
    assert found.sd_mm == pytest.approx(1.0, rel=1e-3)
    assert found.dof == pytest.approx(4.0, rel=1e-3)


def test_bad_shapes_are_refused():
    with pytest.raises(InputError):
        form_above_noise(np.zeros(4), np.zeros((30, 5)))
