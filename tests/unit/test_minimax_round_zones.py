"""Roundness, sphericity, cylindricity, straightness of an axis: the smallest of all, and the proof of it."""

import itertools

import numpy as np
import pytest
from minimax_round_made import made

from trysquare.core.errors import InputError, RankError
from trysquare.core.threads import threads
from trysquare.geometry import fit_line, zone_axis, zone_circle, zone_cylinder, zone_sphere

ZONES = {"circle": zone_circle, "sphere": zone_sphere, "cylinder": zone_cylinder}
COOPE = [(0.7, 4), (3.3, 4.7), (5.6, 4), (7.5, 1.3), (6.4, -1.1), (4.4, -3), (0.3, -2.5), (-1.1, 1.3)]
COOKBOOK = [(9, 34), (35, 10), (-13, 6), (10, -14), (23, 27), (0, -10)]


@pytest.mark.parametrize(
    ("points", "width", "center"),
    [(COOPE, 0.57115992, (3.121050, 0.875906)), (COOKBOOK, 2.92459179, (10.253633, 9.274769))],
)
def test_published_circles(points: list, width: float, center: tuple) -> None:
    """Points of I. D. Coope, J. Optim. Theory Appl. 76 (1993) 381, and of the SciPy cookbook. Expected values:
    independent computation with more digits, rounded."""
    zone = zone_circle(points)
    assert abs(zone.width_mm - width) < 1e-8
    assert np.abs(zone.center_mm - center).max() < 1e-6
    assert zone.certificate.kind == "global"
    assert zone.certificate.gap_mm < 1e-12
    assert sorted(zone.certificate.sides) == [-1, -1, 0, 0, 1, 1]


@pytest.mark.parametrize("kind", ["circle", "sphere", "cylinder"])
@pytest.mark.parametrize("arc", [2 * np.pi, 1.2, 0.2])
@pytest.mark.parametrize("seed", range(4))
def test_zone_made_backwards(kind: str, arc: float, seed: int) -> None:
    """Expected value: analytic, by design. The zone is as narrow for a short arc as the curvature of it allows."""
    width = 0.02 * min(1.0, arc * arc / 4)
    points, _, count = made(seed, kind, 0, arc=arc, width=width)
    zone = ZONES[kind](points)
    assert zone.width_mm <= width + 1e-12  # the zone laid down is one of those allowed
    if kind != "cylinder":
        assert zone.certificate.kind == "global"
    assert abs(zone.width_mm - width) < 1e-9
    assert set(zone.certificate.contacts) - {-1} == set(range(count))
    assert zone.certificate.gap_mm < 1e-9
    assert abs(np.ptp(zone.residuals_mm) - width) < 1e-9
    assert abs(zone.residuals_mm.max() + zone.residuals_mm.min()) < 1e-11


@pytest.mark.parametrize("kind", ["circle", "sphere", "cylinder"])
def test_a_nanometre_too_much_shows(kind: str) -> None:
    """Negative twin of the one above: a contact moved outwards by 1e-6 mm changes the answer."""
    points, _, _ = made(1, kind, 0)
    before = ZONES[kind](points)
    i = before.certificate.contacts[list(before.certificate.sides).index(1)]
    centre = before.point_mm if kind == "cylinder" else before.center_mm
    out = points[i] - centre
    if kind == "cylinder":
        out = out - (out @ before.direction) * before.direction
    points[i] += 1e-6 * out / np.linalg.norm(out)
    assert 1e-8 < ZONES[kind](points).width_mm - 0.02 < 1e-6


def _candidates(P: np.ndarray):
    """Centres that leave four points two by two, or three and one, on two circles."""
    for i, j, k in itertools.combinations(range(len(P)), 3):
        yield _crossing(P[[i, j]], P[[i, k]])
    pairs = list(itertools.combinations(range(len(P)), 2))
    for a, b in itertools.combinations(pairs, 2):
        if not set(a) & set(b):
            yield _crossing(P[list(a)], P[list(b)])


def _crossing(first: np.ndarray, second: np.ndarray) -> np.ndarray:
    A = 2 * np.array([first[1] - first[0], second[1] - second[0]])
    b = [first[1] @ first[1] - first[0] @ first[0], second[1] @ second[1] - second[0] @ second[0]]
    return np.linalg.solve(A, b)


@pytest.mark.parametrize("seed", range(6))
def test_no_set_of_contacts_is_narrower(seed: int) -> None:
    """All centres that contacts can hold, rings and shapeless sets. Independent computation."""
    rng = np.random.default_rng(seed)
    turn = rng.uniform(0, 2 * np.pi, 11)
    ring = np.stack([np.cos(turn), np.sin(turn)], 1) * (10 + rng.normal(size=(11, 1)))
    P = ring if seed < 4 else rng.normal(size=(9, 2)) * 5
    best = min(float(np.ptp(np.linalg.norm(P - c, axis=1))) for c in _candidates(P))
    zone = zone_circle(P)
    assert zone.width_mm <= best + 1e-12
    if len(set(zone.certificate.contacts) - {-1}) == 4:
        assert abs(zone.width_mm - best) < 1e-10
    assert zone.certificate.kind == "global"


@pytest.mark.parametrize("arc", [6.2, 1.0, 0.3])
def test_no_centre_found_by_search_is_narrower(arc: float) -> None:
    """scipy.optimize.differential_evolution over a wide field of centres. Independent computation."""
    from scipy.optimize import differential_evolution

    rng = np.random.default_rng(5)
    turn = rng.uniform(-arc / 2, arc / 2, 15)
    P = np.stack([np.cos(turn), np.sin(turn)], 1) * (10 + rng.normal(size=(15, 1)) * 0.02)
    found = differential_evolution(
        lambda c: float(np.ptp(np.linalg.norm(P - c, axis=1))), [(-60, 60), (-60, 60)], seed=1, tol=1e-12, popsize=30,
        maxiter=400,
    )  # fmt: skip
    zone = zone_circle(P)
    assert zone.certificate.kind == "global"
    assert zone.width_mm <= found.fun + 1e-10


def _slsqp_width(distances, start: np.ndarray) -> float:
    from scipy.optimize import minimize

    d = distances(start)
    constraints = [
        {"type": "ineq", "fun": lambda z: z[-2] - distances(z[:-2])},
        {"type": "ineq", "fun": lambda z: distances(z[:-2]) - z[-1]},
    ]
    found = minimize(
        lambda z: z[-2] - z[-1], np.r_[start, d.max(), d.min()], constraints=constraints, method="SLSQP",
        options={"ftol": 1e-14, "maxiter": 300},
    )  # fmt: skip
    return float(np.ptp(distances(found.x[:-2])))


def _about_axis(P: np.ndarray):
    def distances(x: np.ndarray) -> np.ndarray:
        d = np.array([x[2], x[3], 1.0]) / np.sqrt(1 + x[2] ** 2 + x[3] ** 2)
        q = P - [x[0], x[1], 0.0]
        return np.linalg.norm(q - (q @ d)[:, None] * d, axis=1)

    return distances


@pytest.mark.parametrize("length", [4.0, 40.0])
def test_no_axis_found_by_slsqp_is_narrower(length: float) -> None:
    """scipy.optimize.minimize (SLSQP) from several axes, thick zones. Independent computation."""
    rng = np.random.default_rng(8)
    for _ in range(4):
        turn, z = rng.uniform(0, 2 * np.pi, 25), rng.uniform(-length / 2, length / 2, 25)
        r = 10 + rng.normal(size=25) * 0.2
        P = np.stack([r * np.cos(turn), r * np.sin(turn), z], 1)
        starts = [np.zeros(4), *(rng.normal(size=(3, 4)) * [1, 1, 0.05, 0.05])]
        best = min(_slsqp_width(_about_axis(P), start) for start in starts)
        zone = zone_cylinder(P, toward=[0, 0, 1])
        assert zone.width_mm <= best + 1e-9
        assert str(zone.certificate.kind).startswith("local, best of")


def test_short_arcs_are_proven() -> None:
    """Arcs of 5 to 30 degrees: the proof covers all centres, a straight strip among them."""
    rng = np.random.default_rng(4)
    for degrees in (5, 10, 30):
        turn = np.radians(rng.uniform(-degrees / 2, degrees / 2, (20, 80)))
        r = 100 + rng.uniform(-1e-3, 1e-3, (20, 80))
        zone = zone_circle(np.stack([r * np.cos(turn), r * np.sin(turn)], -1))
        assert (zone.certificate.kind == "global").all()
        assert (zone.certificate.gap_mm < 1e-10).all()


def test_a_straight_zone_is_refused_as_a_circle() -> None:
    """A strip narrower than any ring: contacts high, low, high, low in a straight row. Analytic, by design."""
    x = np.array([-3.0, -1.0, 1.0, 3.0])
    P = np.stack([x, [1e-3, -1e-3, 1e-3, -1e-3]], 1)
    with pytest.raises(RankError, match="straight"):
        zone_circle(np.concatenate([P, [[0.5, 0.0]]]))


@pytest.mark.parametrize("kind", ["circle", "cylinder"])
def test_many_points_are_reduced_exactly(kind: str) -> None:
    """At the end the linear problem over all points, not the few that were solved on, leaves nothing to gain.
    Independent computation: scipy.optimize.linprog."""
    from scipy.optimize import linprog

    rng = np.random.default_rng(6)
    n = 5000
    turn, z = rng.uniform(0, 2 * np.pi, n), rng.uniform(-20, 20, n)
    r = 10 + 0.01 * np.cos(3 * turn) + rng.normal(size=n) * 0.002
    P = np.stack([r * np.cos(turn), r * np.sin(turn), z], 1)
    zone = zone_circle(P[:, :2]) if kind == "circle" else zone_cylinder(P)
    q = P[:, :2] - zone.center_mm if kind == "circle" else P - zone.point_mm
    h = np.zeros(n) if kind == "circle" else q @ zone.direction
    if kind == "cylinder":
        q = q - h[:, None] * zone.direction
    u = q / np.linalg.norm(q, axis=1)[:, None]
    J = u if kind == "circle" else np.column_stack([u[:, :2], h[:, None] * u[:, :2] / 20])
    e = zone.residuals_mm / zone.width_mm
    A = np.column_stack([J, np.ones(n)])
    A = np.block([[A, -np.ones((n, 1))], [-A, -np.ones((n, 1))]])
    free = [(None, None)] * (J.shape[1] + 2)
    least = linprog(np.eye(J.shape[1] + 2)[-1], A_ub=A, b_ub=np.r_[-e, e] * -1.0, bounds=free)
    assert abs(2 * least.fun - 1) < 1e-7


def test_axis_of_points_made_backwards() -> None:
    """Straightness of an axis: a circumscribed cylinder of small radius. Expected value: analytic, by design."""
    for seed in range(4):
        points, R, _ = made(seed, "cylinder", 1, radius=0.05, width=0.05, length=100.0)
        zone = zone_axis(points, toward=R[:, 2])
        assert abs(zone.width_mm - 0.1) < 1e-11
        assert zone.certificate.kind == "global"
        assert zone.width_mm < fit_line(points).form_mm
        assert (zone.residuals_mm >= 0).all()
        assert zone.radius_mm is None


def test_held_directions() -> None:
    """A cylinder along a given direction is the circle of the points seen along it."""
    points, R, _ = made(2, "cylinder", 0)
    seen = points @ R[:, :2]
    held, flat = zone_cylinder(points, direction=R[:, 2]), zone_circle(seen)
    assert abs(held.width_mm - flat.width_mm) < 1e-12
    assert np.abs(R[:, :2].T @ held.point_mm - flat.center_mm).max() < 1e-10
    assert held.certificate.kind == "global"
    assert np.abs(zone_cylinder(points, direction=R[:, 2], toward=-R[:, 2]).direction + R[:, 2]).max() < 1e-15
    assert zone_axis(points, direction=[0, 0, 1]).width_mm > zone_axis(points).width_mm - 1e-12


def test_circle_in_space() -> None:
    """The circle of points in space: within the plane across the normal."""
    flat, _, _ = made(3, "circle", 0)
    rng = np.random.default_rng(1)
    R = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    points = np.column_stack([flat, np.zeros(len(flat))]) @ R.T + [5, 6, 7]
    expected = zone_circle(flat)
    for zone in (zone_circle(points), zone_circle(points, normal=R[:, 2], toward=-R[:, 2])):
        assert abs(zone.width_mm - expected.width_mm) < 1e-11
        assert np.abs(zone.center_mm - (R[:, :2] @ expected.center_mm + [5, 6, 7])).max() < 1e-9
    assert zone.normal @ R[:, 2] < 0


@pytest.mark.parametrize("kind", ["circle", "sphere", "cylinder"])
def test_draws_are_computed_alone(kind: str) -> None:
    """A member of a batch is as if alone; threads change no digit; one that fails says so."""
    batch = np.stack([made(seed, kind, 0)[0] for seed in range(5)]).reshape(5, 1, -1, 2 if kind == "circle" else 3)
    zone = ZONES[kind](batch)
    assert zone.width_mm.shape == (5, 1)
    for i in range(5):
        assert abs(zone.width_mm[i, 0] - ZONES[kind](batch[i, 0]).width_mm) < 1e-12
    with threads(1):
        one = ZONES[kind](batch)
    assert (one.width_mm == zone.width_mm).all()
    assert (one.certificate.contacts == zone.certificate.contacts).all()
    batch[2] = 1.0
    failed = ZONES[kind](batch)
    assert np.isnan(failed.width_mm[2, 0])
    assert failed.stopped[2, 0] == "directions left open"
    assert failed.certificate.kind[2, 0] == "none"
    assert (failed.certificate.contacts[2, 0] == -1).all()
    assert (np.delete(failed.width_mm, 2) == np.delete(zone.width_mm, 2)).all()


@pytest.mark.parametrize("kind", ["circle", "sphere", "cylinder"])
def test_draws_of_many_points_are_computed_alone(kind: str) -> None:
    """Each member is reduced to its own few points; contacts and answers are as if alone."""
    rng = np.random.default_rng(11)
    one = made(1, kind, 0, n=900)[0]
    batch = one + rng.normal(size=(6, *one.shape)) * 1e-3
    zone = ZONES[kind](batch)
    for i, member in enumerate(batch):
        alone = ZONES[kind](member)
        assert abs(zone.width_mm[i] - alone.width_mm) < 1e-12
        assert set(zone.certificate.contacts[i]) == set(alone.certificate.contacts)
        assert (zone.certificate.kind[i] == "global") == (kind != "cylinder")


def test_perfect_and_repeated_points() -> None:
    """On a circle to the last digit, as few points as there can be, points given twice."""
    turn = np.linspace(0, 2 * np.pi, 50, endpoint=False)
    perfect = np.stack([100 + 3 * np.cos(turn), 200 + 3 * np.sin(turn)], 1)
    assert zone_circle(perfect).width_mm < 1e-12
    three = zone_circle(perfect[[0, 9, 30]])
    assert three.width_mm < 1e-12
    assert abs(three.radius_mm - 3) < 1e-10
    points, _, _ = made(0, "circle", 0)
    assert abs(zone_circle(np.repeat(points, 3, axis=0)).width_mm - 0.02) < 1e-9
    assert abs(zone_circle(np.tile(points, (10, 1))).width_mm - 0.02) < 1e-9


def test_refusals() -> None:
    line = np.stack([np.arange(5.0), 2 * np.arange(5.0)], 1)
    for points, error, words in (
        (line, RankError, "line"),
        (np.ones((6, 2)), RankError, "coincide"),
        (line[:2], InputError, "at least 3"),
        ([[0, 0], [1, 0], [0, np.nan]], InputError, "finite"),
    ):
        with pytest.raises(error, match=words):
            zone_circle(points)
    with pytest.raises(InputError, match="left out"):
        zone_circle(COOPE, normal=[0, 0, 1])
    with pytest.raises(InputError, match="3 coordinates"):
        zone_sphere(COOPE)
    ring = np.column_stack([COOPE, np.zeros(8)])
    with pytest.raises(RankError, match="plane"):
        zone_sphere(ring)
    with pytest.raises(RankError, match="plane"):
        zone_cylinder(ring)
