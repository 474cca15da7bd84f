"""A single point far off its neighbours: named with both ways it may be, nothing stated where it is grossly off."""

import numpy as np
import pytest
from job_folder import job_with

from trysquare.chance.form_noise import fit_columns
from trysquare.chance.lone_points import Residuals, lone_points
from trysquare.jobs.judge import judge
from trysquare.jobs.loading.load import load

ONE = "station-1.csv"
#: The beam of station 1 meets the bore nearly square here.
BORE = "bore-1,2,1,ball-12,34.918599,-23.419055,2893.4193"


def judged(folder):
    result = judge(load(folder), draws=300)
    return result, {r.id: r for r in result.requirements}


def moved(mm):
    return ONE, BORE, BORE.replace("2893.4193", f"{2893.4193 + mm:.4f}")


@pytest.fixture(scope="module")
def healthy(tmp_path_factory):
    return judged(job_with(tmp_path_factory.mktemp("healthy")))


def test_a_healthy_job_says_nothing(healthy):
    """Negative twin."""
    result, found = healthy
    assert not any("neighbours" in warning for warning in result.warnings)
    assert not any("the surface is so there" in (r.reason or "") for r in found.values())


def test_one_point_of_a_bore_off(healthy, tmp_path):
    result, found = judged(job_with(tmp_path, moved(1.0)))
    for id_ in ("3", "4"):
        assert found[id_].verdict == "undecided"
        assert found[id_].interval is None
        assert 'cannot be stated (station-1.csv, line 18): the point "bore-1/2" lies 0.9' in found[id_].reason
        assert "Either the surface is so there, or the reading is wrong: measure it again" in found[id_].reason
        assert found[id_].notes[-1] == "the value leaves the readings in question out"
        assert found[id_].value == pytest.approx(healthy[1][id_].value, abs=0.005)
    for id_ in ("2", "5", "6", "7"):
        assert (found[id_].verdict, found[id_].reason) == ("accept", None)
        assert found[id_].value == pytest.approx(healthy[1][id_].value, abs=1e-6)
    (warning,) = [w for w in result.warnings if "neighbours" in w]
    assert warning.startswith('station-1.csv:18: the point "bore-1/2" must lie where its neighbours put it; got 0.9')


def test_where_eight_points_cannot_tell_two_apart_both_are_named(tmp_path):
    """Opposite points of a bore touched in two sections by turns: analytic, their contrasts are the same."""
    result, found = judged(job_with(tmp_path, moved(0.2)))
    (warning,) = [w for w in result.warnings if "neighbours" in w]
    assert 'the point "bore-1/2", or else "bore-1/6" (the others cannot tell which), must lie' in warning
    assert "not stated" not in warning
    assert found["4"].reason is None


HIGH = "top,3,1,ball-12,31.537971,-18.107503,3004.0152"
#: One millimetre out of the top, 3 m away: 0.02 deg of elevation.
RAISED = HIGH.replace("-18.107503", "-18.087503")


def test_a_point_of_its_own_beside_it_confirms_the_surface(tmp_path):
    """The way out works: two points that lie so are the surface, and it is judged."""
    beside = RAISED.replace("top,3", "top,3b").replace("31.537971", "31.538971")
    alone, _ = judged(job_with(tmp_path / "alone", ("station-2.csv", HIGH, RAISED)))
    both, found = judged(job_with(tmp_path / "both", ("station-2.csv", HIGH, f"{RAISED}\n{beside}")))
    assert [r.id for r in alone.requirements if "the surface is so there" in (r.reason or "")] == ["1", "3", "5"]
    assert not any("neighbours" in warning for warning in both.warnings)
    assert "the surface is so there" not in (found["1"].reason or "")
    assert [found[id_].reason for id_ in ("3", "5")] == [None, None]


def flat(n, rng, form=0.005, noise=0.002):
    """A square plate of n points with noise, form and no slip; nothing is fitted: the test takes the columns out."""
    points = np.column_stack([rng.uniform(0, 500, (n, 2)), np.zeros(n)])
    columns = fit_columns(points, np.broadcast_to([0.0, 0.0, 1.0], points.shape))
    return Residuals(rng.normal(0, np.hypot(form, noise), n), rng.normal(0, noise, (200, n)), columns)


def test_what_a_lone_point_is_off_is_what_was_put_there():
    """Analytic: a shift of one point comes back whole, whatever the fit spread of it over the others."""
    rng = np.random.default_rng(4)
    plate = flat(12, rng, form=1e-6, noise=1e-6)
    plate.residuals_mm[5] += 0.3
    (found,) = lone_points([plate])
    assert int(found.times.argmax()) == 5
    assert found.off_mm[5] == pytest.approx(0.3, abs=1e-4)
    assert found.times[5] > found.limit


def test_a_feature_with_nothing_left_over_is_not_judged():
    rng = np.random.default_rng(5)
    plate, three = flat(12, rng), flat(4, rng)
    assert [found is None for found in lone_points([plate, three])] == [False, True]
    assert lone_points([]) == []
