"""Common datums: several features that make one datum, associated at once.

Freedoms: analytic, from the invariance of the shapes (ISO 5459:2011 calls A-B a common datum; from memory).
"""

import numpy as np
import pytest
from scipy.optimize import least_squares
from shaft_job import shaft_job

from trysquare.core.errors import InputError
from trysquare.core.frames import Rigid, rotation
from trysquare.geometry import fit_plane
from trysquare.jobs.judge import judge
from trysquare.jobs.loading.load import load
from trysquare.tolerances.freedoms import freedoms
from trysquare.tolerances.nominal import Nominal
from trysquare.tolerances.seating import seat

X, Y, Z = np.eye(3)
JOURNALS = [
    Nominal("cylinder", np.array([0.0, 0, -100]), Z, 40.0, 30.0),
    Nominal("cylinder", np.array([0.0, 0, 100]), Z, 60.0, 30.0),
]
FACE = Nominal("plane", np.array([0.0, 0, 150]), Z)
PADS = [Nominal("plane", np.array([x, 0.0, 0]), -Z, size_mm=(40.0, 60.0)) for x in (-150.0, 150.0)]


def _round(nominal, rng, n=16, noise=0.02):
    a, h = rng.uniform(0, 2 * np.pi, n), rng.uniform(-15, 15, n)
    r = nominal.diameter_mm / 2 + 0.1 + noise * rng.normal(size=n)
    return nominal.point_mm + np.column_stack([r * np.cos(a), r * np.sin(a), h])


def _squares(points, turn_and_shift):
    """Distances from both nominal axes, each less its mean, after a motion of four freedoms."""
    tx, ty, wx, wy = turn_and_shift
    T = Rigid(rotation(np.array([wx, wy, 0.0])), np.array([tx, ty, 0.0]))
    out = []
    for p in points:
        r = np.linalg.norm(T.apply(p)[:, :2], axis=1)
        out.append(r - r.mean())
    return np.concatenate(out)


@pytest.mark.parametrize("seed", range(4))
def test_no_other_motion_of_two_journals_does_better(seed):
    """Independent computation: scipy.optimize.least_squares from five starts, each radius free."""
    rng = np.random.default_rng(seed)
    away = Rigid(rotation(1e-3 * rng.normal(size=3)), 0.2 * rng.normal(size=3))
    points = [away.apply(_round(n, rng)) for n in JOURNALS]
    found = seat(points, JOURNALS, together=[2])
    assert found.rank == 4
    ours = _squares([found.T_datum_part.apply(p) for p in points], np.zeros(4))
    best = min(
        least_squares(lambda v: _squares(points, v), 1e-3 * rng.normal(size=4), xtol=1e-15, ftol=1e-15, gtol=1e-15).cost
        for _ in range(5)
    )
    assert 0.5 * ours @ ours <= best * (1 + 1e-9)


def test_one_after_the_other_is_not_both_at_once():
    """Negative twin: in order of precedence the first journal has it all its own way, and the sum is worse."""
    rng = np.random.default_rng(3)
    points = [_round(JOURNALS[0], rng), _round(JOURNALS[1], rng) + np.array([0.05, 0, 0])]
    cost = []
    for together in ([2], [1, 1]):
        T = seat(points, JOURNALS, together=together).T_datum_part
        cost.append(float(np.sum(_squares([T.apply(p) for p in points], np.zeros(4)) ** 2)))
    assert cost[0] < 0.5 * cost[1]


def test_two_pads_are_one_plane():
    """Analytic: coplanar planes at once are the least squares plane of all their points."""
    rng = np.random.default_rng(5)
    points = [n.point_mm + np.column_stack([rng.uniform(-20, 20, (9, 2)), 0.03 * rng.normal(size=9)]) for n in PADS]
    found = seat(points, PADS, together=[2]).T_datum_part
    plane = fit_plane(found.apply(np.concatenate(points)), toward=-Z)
    np.testing.assert_allclose(plane.normal, -Z, atol=1e-12)
    np.testing.assert_allclose(plane.point_mm[2], 0.0, atol=1e-10)


def test_draws_equal_single_calls_and_order_within_does_not_matter():
    rng = np.random.default_rng(6)
    points = [_round(n, rng)[None] + 0.01 * rng.normal(size=(12, 16, 3)) for n in JOURNALS]
    face = FACE.point_mm + np.column_stack([rng.uniform(-20, 20, (9, 2)), 0.01 * rng.normal(size=9)])
    faces = np.broadcast_to(face, (12, 9, 3))
    batch = seat([*points, faces], [*JOURNALS, FACE], together=[2, 1]).T_datum_part
    swapped = seat([points[1], points[0], faces], [*JOURNALS[::-1], FACE], together=[2, 1]).T_datum_part
    np.testing.assert_allclose(batch.t, swapped.t, atol=1e-10)
    for m in range(12):
        one = seat([points[0][m], points[1][m], face], [*JOURNALS, FACE], together=[2, 1]).T_datum_part
        np.testing.assert_allclose(batch.t[m], one.t, atol=1e-8)


@pytest.mark.parametrize(
    ("system", "fixed", "left"),
    [
        ([JOURNALS], [("along x", "along y", "about x", "about y")], ("along z", "about z")),
        ([JOURNALS, FACE], [("along x", "along y", "about x", "about y"), ("along z",)], ("about z",)),
        ([PADS], [("along z", "about x", "about y")], ("along x", "along y", "about z")),
        (
            [[Nominal("sphere", x * X, None, 10.0) for x in (-50.0, 50.0)]],
            [("along x", "along y", "along z", "about y", "about z")], ("about x",),
        ),
    ],
    ids=["journals", "journals and face", "pads", "two balls"],
)  # fmt: skip
def test_freedoms_of_common_datums(system, fixed, left):
    found = freedoms(system)
    assert list(found.fixed) == fixed
    assert found.open == left


def test_a_seat_judged_against_both_journals(tmp_path):
    """Analytic: the axis is the regression line of the centres touched; at the middle it lies half way."""
    moved = {"front": (0.03, 0.0), "rear": (-0.01, 0.0)}
    result = judge(load(shaft_job(tmp_path, moved)))
    heights = np.concatenate([np.repeat(z + np.array([-10.0, 0, 10]), 8) for z in (-100.0, 100.0)])
    slope, middle = np.polyfit(heights, np.repeat([0.03, -0.01], 24), 1)
    ends = 2 * np.abs(middle + slope * np.array([-20.0, 20.0]))
    assert result.requirements[0].value == pytest.approx(ends.max(), abs=1e-7)
    system = result.datum_systems[0]
    assert [d.features for d in system.datums] == [["front", "rear"]]
    assert system.datums[0].fixes == ["along x", "along y", "about x", "about y"]
    assert system.open == ["along z", "about z"]
    assert system.requirements == ["1"]
    said = next(i.text for i in result.interpretations if i.about == "datum system A-B")
    assert "front with rear" in said
    assert "all its features at once" in said


def test_against_one_journal_alone_it_is_another_number(tmp_path):
    """Negative twin: A alone follows its own 30 mm; the seat is off by all of the front journal's shift."""
    moved = {"front": (0.03, 0.0), "rear": (-0.01, 0.0)}
    result = judge(load(shaft_job(tmp_path, moved, ('["A-B"]', '["A"]'))))
    assert result.requirements[0].value == pytest.approx(0.06, abs=1e-7)


@pytest.mark.parametrize(
    ("edit", "rule"),
    [
        (('["A-B"]', '["A-A"]'), "be named once"),
        (('["A-B"]', '["A-B", "B"]'), "be named once"),
        (('["A-B"]', '["A-D"]'), "be carried by a feature"),
        (('["A-B"]', '["A-seat"]'), "be a capital letter"),
        (('A = "front"', '"A-B" = "front"'), "be one letter"),
        (('B = "rear"', 'B = "seat"'), "be another feature than the one judged"),
        (('["A-B"]', '["C-A", "B"]'), "fix a freedom that"),
    ],
)
def test_faults_of_common_datums_are_refused(tmp_path, edit, rule):
    with pytest.raises((InputError, ExceptionGroup)) as caught:
        load(shaft_job(tmp_path, {}, edit))
    errors = caught.value.exceptions if isinstance(caught.value, ExceptionGroup) else [caught.value]
    assert any(rule in str(error) for error in errors), [str(e) for e in errors]
