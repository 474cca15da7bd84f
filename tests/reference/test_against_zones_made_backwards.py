"""Minimum zones and touching shapes against data made backwards. Expected values: analytic, by design.

Generator and source: zones_made_backwards.py. Every set has its negative twin: a contact moved by 1e-6 mm must change
the width or radius by its share in the multipliers times that, which is known too.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from zones_made_backwards import MadeZone, moved, zone

import trysquare.geometry as geometry


@dataclass(frozen=True)
class Case:
    """A method: the shape, +1 circumscribed, -1 inscribed, 0 a zone; radius and length of its sets, mm."""

    name: str
    kind: str
    touching: int
    radius: float
    length: float
    axis: bool = False  # the zone of an axis: its width is the diameter of the cylinder that holds the points

    @property
    def fit(self) -> Callable[..., Any]:
        return getattr(geometry, self.name)


CASES = {
    case.name: case
    for case in (
        Case("minimum_zone_plane", "plane", 0, 150.0, 200.0),
        Case("zone_line", "line", 0, 0.0, 400.0),
        Case("zone_circle", "circle", 0, 25.0, 0.0),
        Case("zone_sphere", "sphere", 0, 12.5, 0.0),
        Case("zone_cylinder", "cylinder", 0, 25.0, 60.0),
        Case("circumscribed_circle", "circle", 1, 25.0, 0.0),
        Case("circumscribed_sphere", "sphere", 1, 12.5, 0.0),
        Case("circumscribed_cylinder", "cylinder", 1, 25.0, 60.0),
        Case("inscribed_circle", "circle", -1, 25.0, 0.0),
        Case("inscribed_sphere", "sphere", -1, 12.5, 0.0),
        Case("inscribed_cylinder", "cylinder", -1, 25.0, 60.0),
        Case("zone_axis", "cylinder", 1, 0.02, 100.0, axis=True),
    )
}
WIDTHS, OFFSETS, SEEDS = (0.005, 0.5), (0.0, 1e3), range(3)


def made_sets(case: Case) -> list[MadeZone]:
    widths = (0.98 * case.radius,) if case.axis else WIDTHS
    return [
        zone(case.kind, seed, case.radius, case.length, width, touching=case.touching, offset=offset)
        for width in widths
        for offset in OFFSETS
        for seed in SEEDS
    ]


def objective(case: Case, fit: Any) -> float:
    """Half the width of a zone, the radius of a touching shape: what `shares` tell the change of."""
    return float(fit.width_mm / 2 if case.axis or not case.touching else fit.radius_mm)


def expected(case: Case, made: MadeZone) -> float:
    return made.radius if case.touching else made.width / 2


def away(made: MadeZone, fit: Any) -> dict[str, float]:
    """Distances of place and direction from the nominal ones."""
    out = {}
    axis = next((getattr(fit, key) for key in ("direction", "normal") if getattr(fit, key) is not None), None)
    point = fit.center_mm if fit.center_mm is not None else fit.point_mm
    off = point - made.at
    if axis is not None and len(made.at) == 3:
        out["direction"] = float(np.linalg.norm(np.cross(axis, made.frame[2])))
        off = off @ made.frame[2] if fit.normal is not None else np.cross(off, made.frame[2])
    elif axis is not None:
        w = made.frame[1]
        out["direction"] = abs(axis[0] * w[1] - axis[1] * w[0])
        off = off[0] * w[1] - off[1] * w[0]
    out["place"] = float(np.linalg.norm(off))
    return out


@pytest.mark.parametrize("name", CASES)
def test_optimum_is_found_with_its_contacts(name: str) -> None:
    case = CASES[name]
    for made in made_sets(case):
        fit = case.fit(made.points)
        assert abs(objective(case, fit) - expected(case, made)) < 1e-9
        assert max(away(made, fit).values()) < 1e-9
        if case.kind in ("circle", "sphere", "cylinder") and not case.axis:
            assert abs(fit.radius_mm - made.radius) < 1e-9
        proof = fit.certificate
        held = proof.contacts[proof.contacts >= 0]
        assert sorted(held) == sorted(made.contacts)
        assert -1e-12 * case.length - 1e-12 <= proof.gap_mm < 1e-9
        assert str(proof.kind) == "global" or str(proof.kind).startswith("local, ")
        assert fit.ok
        if case.kind not in ("plane", "line"):  # the sense of a normal is free
            sides = dict(zip(proof.contacts, proof.sides, strict=True))
            assert [sides[c] for c in made.contacts] == list(made.sides)


def test_cylindricity_proven_over_all_axes() -> None:
    for made in made_sets(CASES["zone_cylinder"])[::6]:
        fit = geometry.zone_cylinder(made.points, whole=True)
        assert str(fit.certificate.kind) == "global"
        assert 0 <= fit.certificate.gap_mm < 1e-9
        assert abs(fit.width_mm - made.width) < 1e-9


@pytest.mark.parametrize("far", [1.1, 1.5, 4.0])
@pytest.mark.parametrize("name", [name for name, case in CASES.items() if case.touching])
def test_a_point_that_does_not_touch_changes_nothing(name: str, far: float) -> None:
    """An outlier far outside an inscribed shape, a point deep inside a circumscribed one: the optimum is the same."""
    case = CASES[name]
    made = made_sets(case)[1]
    along = made.frame[-1] * 0.2 * case.length if case.kind == "cylinder" else 0.0
    out = made.at + along + (far if case.touching < 0 else 1 / far - 0.2) * made.radius * made.frame[0]
    fit = case.fit(np.concatenate([made.points, [out]]))
    assert abs(objective(case, fit) - expected(case, made)) < 1e-9
    assert max(away(made, fit).values()) < 1e-9


@pytest.mark.parametrize("name", CASES)
def test_residuals_are_those_of_the_answer(name: str) -> None:
    """What the parameters say of the points is what the residuals and the width say."""
    case = CASES[name]
    made = made_sets(case)[-1]
    fit = case.fit(made.points)
    r = fit.residuals_mm
    if case.axis:
        assert abs(2 * distances(case, made.points, fit).max() - fit.width_mm) < 1e-10
        return
    assert np.abs(np.abs(r) - np.abs(distances(case, made.points, fit) - (fit.radius_mm or 0.0))).max() < 1e-10
    if case.touching:
        assert (r * case.touching).max() < 1e-10
        assert abs(fit.width_mm - np.abs(r).max()) < 1e-10
    else:
        assert abs(r.max() + r.min()) < 1e-10
        assert abs(r.max() - r.min() - fit.width_mm) < 1e-10


def distances(case: Case, points: np.ndarray, fit: Any) -> np.ndarray:
    """From the centre, axis, line or plane that was found."""
    at = fit.center_mm if fit.center_mm is not None else fit.point_mm
    d = points - at
    if case.kind == "plane":
        return d @ fit.normal
    if case.kind == "line":
        return d[:, 0] * fit.direction[1] - d[:, 1] * fit.direction[0]
    if case.kind == "cylinder":
        return np.linalg.norm(np.cross(d, fit.direction), axis=1)
    return np.linalg.norm(d, axis=1)


@pytest.mark.parametrize("name", CASES)
def test_negative_twin_a_contact_moved_by_a_nanometre_shows(name: str) -> None:
    """1e-6 mm at one contact changes the answer by its known share; at another point it changes nothing."""
    case = CASES[name]
    for made in made_sets(case)[:2]:
        before = objective(case, case.fit(made.points))
        for i in range(len(made.contacts)):
            change = objective(case, case.fit(moved(made, i, 1e-6))) - before
            assert abs(change - made.shares[i] * 1e-6) < 1e-9
            assert abs(change) > 1e-8
        points = made.points.copy()
        inner = np.setdiff1d(np.arange(len(points)), made.contacts)[5]
        points[inner] += 1e-6 * made.outwards[0]
        assert abs(objective(case, case.fit(points)) - before) < 1e-10


@pytest.mark.parametrize("name", CASES)
def test_generator_is_right(name: str) -> None:
    """Independent computation: no small move of the nominal shape does better, in 300 random directions."""
    case = CASES[name]
    made = made_sets(case)[0]
    rng = np.random.default_rng(0)
    X = (made.points - made.at) @ made.frame.T
    for step in (1e-3 * expected(case, made), 1e-6):
        for _ in range(150):
            d = X - step * rng.normal(size=X.shape[1])
            if case.kind in ("plane", "line", "cylinder"):
                a = np.zeros(X.shape[1])
                a[:-1] = rng.normal(size=X.shape[1] - 1) * step / max(case.length, case.radius)
                a[-1] = 1.0
                a /= np.linalg.norm(a)
            if case.kind == "line":
                h = d[:, 0] * a[1] - d[:, 1] * a[0]
            elif case.kind == "plane":
                h = d @ a
            else:
                h = np.linalg.norm(np.cross(d, a) if case.kind == "cylinder" else d, axis=1)
            best = {0: np.ptp(h) / 2, 1: h.max(), -1: -h.min()}[case.touching]
            assert best > case.touching * expected(case, made) + (case.touching == 0) * expected(case, made)
