"""The form model on a line of nodes: exact where a closed form exists. Coverage is in tests/statistics."""

import numpy as np
import pytest

from trysquare.chance.form import (
    amplitudes,
    complement,
    error_covariance,
    form_model,
    prior_variates,
    surfaces,
    weights,
)
from trysquare.chance.sources import Draws
from trysquare.core.errors import InputError

X = np.linspace(0.0, 1.0, 41)
AT = np.arange(0, 41, 4)
COLUMNS = np.column_stack([np.ones(41), X])
DISTANCE = np.abs(X[:, None] - X)
KERNELS = [np.exp(-DISTANCE / 0.3), np.exp(-0.5 * (DISTANCE / 0.3) ** 2)]
S = 0.1


def _model(kernels=None):
    return form_model(kernels or KERNELS, COLUMNS, AT, S**2 * np.eye(len(AT)))


def test_complement_is_orthonormal_and_orthogonal_to_dependent_columns():
    columns = np.column_stack([COLUMNS, COLUMNS @ [2.0, -1.0]])
    Q = complement(columns)
    assert Q.shape == (41, 39)
    assert np.allclose(Q.T @ Q, np.eye(39), atol=1e-12)
    assert np.abs(Q.T @ columns).max() < 1e-12


def test_covariance_of_independent_errors_is_nearly_diagonal_and_a_shared_one_is_kept():
    e = np.random.default_rng(1).normal(size=(300, 20))
    assert np.abs(error_covariance(e) - np.eye(20))[~np.eye(20, dtype=bool)].max() < 0.08
    shared = e + 5.0 * np.random.default_rng(2).normal(size=(300, 1))
    S = error_covariance(shared)
    assert S[0, 1] == pytest.approx(float(np.mean(shared[:, 0] * shared[:, 1])), rel=0.02)
    assert np.linalg.eigvalsh(S)[0] > 0.0


def test_weights_against_the_full_likelihood():
    """Independent computation: restricted likelihood from the n x n covariance, with scipy's multivariate normal."""
    from scipy.stats import multivariate_normal

    y = np.random.default_rng(3).normal(size=len(AT)) * 0.5
    model = _model()
    w = weights(model, y)[:, :, 0]
    Q = complement(COLUMNS[AT])
    noise = S**2 * np.eye(len(AT)) + (1e-3 * S) ** 2 * np.eye(len(AT))
    expected = np.empty_like(w)
    for i, K in enumerate(KERNELS):
        K = K + 1e-8 * np.eye(41)
        contrast = Q.T @ K[np.ix_(AT, AT)] @ Q
        size = np.trace(contrast) / len(contrast)
        for j, a in enumerate(amplitudes(model, y)):
            cov = a**2 * contrast / size + Q.T @ noise @ Q
            expected[i, j] = multivariate_normal.logpdf(Q.T @ y, cov=cov)
    expected = np.exp(expected - expected.max())
    # amplitudes are in mm while the model counts them in s: the same figures
    assert w == pytest.approx(expected / expected.sum(), rel=1e-6, abs=1e-12)


def test_surfaces_pass_through_points_without_error():
    """Contrasts of each drawn surface equal those of the readings, within the noise floor of the model."""
    y = np.sin(6.0 * X[AT])
    model = form_model(KERNELS, COLUMNS, AT, np.zeros((len(AT), len(AT))), least_s=1e-6)
    drawn = surfaces(model, y, np.zeros((200, len(AT))), Draws(1, 0, 200), "line")
    Q = complement(COLUMNS[AT])
    assert np.abs((drawn[:, AT] - y) @ Q).max() < 1e-3


def test_mean_and_spread_of_surfaces_against_kriging():
    """Independent computation: universal kriging, conditional mean and covariance by the block formula.

    One kernel, one amplitude forced by a reading that fits it; 4 000 surfaces, tolerance of four standard errors.
    """
    kernel, a = KERNELS[0], 1.0
    rng = np.random.default_rng(4)
    y = (np.linalg.cholesky(kernel + 1e-9 * np.eye(41)) @ rng.normal(size=41))[AT] + S * rng.normal(size=len(AT))
    model = form_model([kernel], COLUMNS, AT, S**2 * np.eye(len(AT)))
    count = 4000
    draws = Draws(5, 0, count)
    errors = S * rng.normal(size=(count, len(AT)))
    drawn = surfaces(model, y, errors, draws, "line")
    away = complement(COLUMNS)
    contrast = complement(COLUMNS[AT])
    w = weights(model, y)[0, :, 0]
    size = np.trace(contrast.T @ kernel[np.ix_(AT, AT)] @ contrast) / (len(AT) - 2)
    mean, second = np.zeros(39), np.zeros(39)
    for weight, a in zip(w, amplitudes(model, y), strict=True):
        K = a**2 * (kernel + 1e-8 * np.eye(41)) / size
        M = contrast.T @ (K[np.ix_(AT, AT)] + S**2 * np.eye(len(AT))) @ contrast
        G = away.T @ K[:, AT] @ contrast
        m = G @ np.linalg.solve(M, contrast.T @ y)
        v = np.diag(away.T @ K @ away - G @ np.linalg.solve(M, G.T))
        mean, second = mean + weight * m, second + weight * (v + m**2)
    # kriging knows the surface up to the fit columns at the points; the surfaces are compared in what is left of both
    got = drawn @ away
    spread = np.sqrt(second - mean**2)
    assert np.abs((got.mean(axis=0) - mean) / (spread / np.sqrt(count))).max() < 5.0
    assert got.std(axis=0) == pytest.approx(spread, rel=0.08)


def test_same_seed_same_bits_and_another_name_other_surfaces():
    model, y, e = _model(), np.cos(5.0 * X[AT]), np.zeros((50, len(AT)))
    a, b = (surfaces(model, y, e, Draws(9, 0, 50), "face") for _ in range(2))
    assert np.array_equal(a, b)
    assert not np.allclose(a, surfaces(model, y, e, Draws(9, 0, 50), "other face"))
    kept = prior_variates(41, Draws(9, 0, 50), "face")
    assert np.array_equal(a, surfaces(model, y, e, Draws(9, 0, 50), "face", prior=kept))


def test_amplitudes_follow_large_readings():
    model = _model()
    assert amplitudes(model, np.zeros(len(AT)))[-1] == pytest.approx(100 * model.s)
    assert amplitudes(model, np.linspace(-300, 300, len(AT)) ** 2)[-1] > 1e4


def test_too_few_points_are_refused():
    with pytest.raises(InputError):
        form_model(KERNELS, COLUMNS, [0, 40], np.eye(2))
