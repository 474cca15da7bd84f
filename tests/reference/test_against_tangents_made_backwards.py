"""Tangent planes and lines, and profiles with free motion, against data made backwards. Expected: analytic, by design.

Generators and sources: zones_made_backwards.py.
"""

from typing import Any

import numpy as np
import pytest
from zones_made_backwards import MadeZone, profile, tangent

from trysquare.geometry import tangent_line, tangent_plane, zone_profile

FITS = {"plane": tangent_plane, "line": tangent_line}
NORMS = ("minimax", "sum", "squares")


def least(made: MadeZone, norm: str) -> float:
    """What the norm makes least, per point as the fit tells it."""
    n = len(made.points)
    return {"minimax": made.width, "sum": made.width / n, "squares": np.sqrt(made.width / n)}[norm]


def normal_of(fit: Any) -> np.ndarray:
    return np.array([-fit.direction[1], fit.direction[0]]) if fit.normal is None else fit.normal


@pytest.mark.parametrize("offset", [0.0, 1e4])
@pytest.mark.parametrize("depth", [0.002, 0.5])
@pytest.mark.parametrize("norm", NORMS)
@pytest.mark.parametrize("kind", FITS)
def test_tangent(kind: str, norm: str, depth: float, offset: float) -> None:
    for seed in range(3):
        made = tangent(kind, seed, norm, depth=depth, offset=offset)
        outer = made.frame[-1]
        fit = FITS[kind](made.points, outward=outer, norm=norm)
        assert abs(fit.achieved_mm - least(made, norm)) < 1e-9
        assert np.linalg.norm(normal_of(fit) - outer) < 1e-9
        assert abs((fit.point_mm - made.at) @ outer) < 1e-9
        assert fit.residuals_mm.max() < 1e-10
        proof = fit.certificate
        assert -1e-12 <= proof.gap_mm < 1e-9
        held = proof.contacts[proof.contacts >= 0]
        assert set(made.contacts) <= set(held) if norm == "minimax" else set(held) == set(made.contacts)
        # the other side of the material has another tangent: the answer depends on `outward`
        assert np.linalg.norm(normal_of(FITS[kind](made.points, outward=-outer, norm=norm)) - outer) > 1


@pytest.mark.parametrize("norm", NORMS)
@pytest.mark.parametrize("kind", FITS)
def test_negative_twin_a_contact_moved_by_a_nanometre_shows(kind: str, norm: str) -> None:
    made = tangent(kind, 1, norm)
    outer = made.frame[-1]
    before = FITS[kind](made.points, outward=outer, norm=norm)
    for contact in made.contacts:
        points = made.points.copy()
        points[contact] += 1e-6 * outer
        after = FITS[kind](points, outward=outer, norm=norm)
        assert after.achieved_mm - before.achieved_mm > 1e-8
    points = made.points.copy()
    inner = np.setdiff1d(np.arange(len(points)), before.certificate.contacts)[3]
    points[inner] -= 1e-6 * outer
    after = FITS[kind](points, outward=outer, norm=norm)
    assert np.linalg.norm(normal_of(after) - normal_of(before)) < (1e-7 if norm == "squares" else 1e-12)


@pytest.mark.parametrize("level", [False, True])
@pytest.mark.parametrize("width", [0.01, 0.4])
@pytest.mark.parametrize("seed", range(3))
def test_profile_with_free_motion(seed: int, width: float, level: bool) -> None:
    """Level: the middle of the zone may leave the nominal surface, by 0.3 mm here."""
    points, nominal, normals, (R, t), contacts = profile(seed, width, level=level)
    fit = zone_profile(points, nominal, normals, offset=level)
    assert abs(fit.width_mm - width) < 1e-9
    assert np.abs(fit.move.R - R).max() < 1e-9
    assert np.abs(fit.move.t - t).max() < 1e-9
    assert abs(fit.offset_mm - 0.3 * level) < 1e-9
    assert set(fit.certificate.contacts[fit.certificate.contacts >= 0]) == set(contacts)
    assert -1e-12 <= fit.certificate.gap_mm < 1e-9
    moved = points.copy()
    moved[0] += 1e-6 * np.sign(fit.residuals_mm[0]) * (R.T @ normals[0])  # negative twin
    assert zone_profile(moved, nominal, normals, offset=level).width_mm - width > 1e-8
