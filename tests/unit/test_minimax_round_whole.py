"""The searches over all centres and axes: what they prove, and that they never call a worse one proven."""

import numpy as np
import pytest
from minimax_round_made import made

from trysquare.core.errors import InputError
from trysquare.geometry import inscribed_circle, inscribed_cylinder, inscribed_sphere, zone_cylinder


@pytest.mark.parametrize("arc", [2 * np.pi, 3.5])
def test_no_other_axis_is_narrower(arc: float) -> None:
    """The proof over all axes of a cylinder zone, and what it says of points that it cannot decide."""
    points, _, _ = made(1, "cylinder", 0, arc=arc, n=80)
    zone = zone_cylinder(points, whole=True)
    assert zone.certificate.kind == "global"
    assert zone.certificate.gap_mm < 1e-10
    assert abs(zone.width_mm - 0.02) < 1e-9
    patch, _, _ = made(1, "cylinder", 0, arc=0.5, width=1e-3)
    assert str(zone_cylinder(patch, whole=True).certificate.kind).startswith("local, best of")
    with pytest.raises(InputError, match="one set"):
        zone_cylinder(np.stack([points, points]), whole=True)


@pytest.mark.parametrize("search", ["axes of zones", "axes", "centres", "inscribed centres"])
def test_a_worse_one_is_never_proven(search: str) -> None:
    """Negative twin: asked about an axis or centre next to the best one, the search over all finds a better
    one."""
    from dataclasses import replace

    from trysquare.geometry.kernels.round_bound import BETTER
    from trysquare.geometry.kernels.round_state import DISC, INNER, OUTER, TUBE, ZONE
    from trysquare.geometry.zones.round_fit import read
    from trysquare.geometry.zones.round_proof import search_directions
    from trysquare.geometry.zones.round_search import search_centres
    from trysquare.geometry.zones.round_solve import solve
    from trysquare.geometry.zones.round_starts import along, still
    from trysquare.geometry.zones.round_tube_proof import search_axes

    tube = search.startswith("axes")
    mode = {"axes of zones": ZONE, "axes": OUTER, "centres": ZONE, "inscribed centres": INNER}[search]
    points, R, _ = made(1, "cylinder" if tube else "circle", mode, n=80)
    given = read(points, 3, "here", dims=3 if tube else 2)
    start = along(np.zeros((1, 3)), R[None, :, 2].copy()) if tube else still(np.zeros((1, 3)))
    best = solve(TUBE if tube else DISC, mode, given.P, given.base, start)
    step = 0.01 * np.eye(12)[:1]
    if tube:
        step[0, 3:] = (along(np.zeros((1, 3)), best.states[:, 9:12] + 1e-3 * best.states[:, 3:6]) - best.states)[0, 3:]
    worse = replace(best, states=best.states + step)
    d = worse.distances(np.zeros(1))[0]
    level = {ZONE: np.ptp(d) / 2, OUTER: d.max(), INNER: -d.min()}[mode]
    assert level > best.levels[0] + 1e-3
    look = {"axes of zones": search_axes, "axes": search_directions}.get(search, search_centres)
    outcome, _, better = look(replace(worse, levels=np.array([level])))
    assert outcome[0] == BETTER
    assert abs(solve(best.kind, mode, given.P, given.base, better).levels[0] - best.levels[0]) < 1e-9


def test_toward_chooses_among_axes() -> None:
    """Two thick rings far apart: the narrowest cylinder zone may lie across. Toward the bore it follows the bore."""
    rng = np.random.default_rng(2)
    for _ in range(5):
        P = rng.normal(size=(12, 3)) * [5, 5, 4]
        toward = rng.normal(size=3)
        free, held = zone_cylinder(P), zone_cylinder(P, toward=toward)
        assert free.width_mm <= held.width_mm + 1e-12
        assert free.direction[np.abs(free.direction).argmax()] > 0
        assert held.direction @ toward >= 0


@pytest.mark.parametrize("kind", ["circle", "sphere", "cylinder"])
def test_a_stray_point_far_outside_changes_no_inscribed_shape(kind: str) -> None:
    """Four radii away it drags the least-squares start along, and opens a void that is no bore. Analytic, by design."""
    points, R, _ = made(3, kind, -1, length=60.0)
    fit = {"circle": inscribed_circle, "sphere": inscribed_sphere, "cylinder": inscribed_cylinder}[kind]
    before = fit(points)
    centre = before.point_mm if kind == "cylinder" else before.center_mm
    after = fit(np.concatenate([points, [centre + 40.0 * R[:, 0]]]))
    assert abs(after.radius_mm - 10) < 1e-9
    assert set(after.certificate.contacts) == set(before.certificate.contacts)


def test_an_optimum_almost_as_good_is_not_taken_for_the_best() -> None:
    """Two centres whose radii differ by 1e-7 mm, each held by its own three points: the larger is found from either."""
    turn = np.radians([90, 210, 330])
    three = np.stack([np.cos(turn), np.sin(turn)], 1)
    ring = np.stack([np.cos(np.linspace(0, 2 * np.pi, 41)), np.sin(np.linspace(0, 2 * np.pi, 41))], 1)
    left, right = 10 * three, (10 + 1e-7) * three + [30.0, 0.0]
    walls = np.concatenate([12 * ring, 12 * ring + [30.0, 0.0]])
    for points in (np.concatenate([left, right, walls]), np.concatenate([right, left, walls])[:, ::-1]):
        circle = inscribed_circle(points)
        assert circle.certificate.kind == "global"
        assert abs(circle.radius_mm - (10 + 1e-7)) < 1e-10
