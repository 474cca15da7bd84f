"""What classes cannot measure by their nature, and why."""

from dataclasses import replace

import numpy as np
import pytest
from choose_jobs import block_job

from trysquare.choose.case import case_of, extent_mm
from trysquare.choose.sight import cannot
from trysquare.instruments.catalogue import classes


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    return block_job(tmp_path_factory.mktemp("block"))


def _why(job, cls, id_, *, ball=38.1, extent=1000.0):
    requirement = next(r for r in job.requirements if r.id == id_)
    return cannot(classes()[cls], job, requirement, ball_mm=ball, extent_mm=extent)


@pytest.mark.parametrize(
    ("cls", "id_", "word"),
    [
        ("calliper", "flat", "not made for flatness of a plane"),
        ("calliper", "depth", "out of its range"),
        ("micrometer", "gauged", "not made for size of an inside cylinder"),
        ("bore gauge", "size", "least-squares"),
        ("height gauge", "axes", "straight from axis to axis"),
        ("photogrammetry", "position", "not made for position of an inside cylinder"),
    ],
)
def test_reasons(job, cls, id_, word):
    assert word in _why(job, cls, id_)


@pytest.mark.parametrize(
    ("cls", "id_"),
    [("laser tracker", "position"), ("bore gauge", "gauged"), ("calliper", "local"), ("height gauge", "span")],
)
def test_what_can_be_measured_has_no_reason(job, cls, id_):
    assert _why(job, cls, id_) is None


def test_a_datum_that_is_not_seen_is_named(job):
    """Photogrammetry sees the face, but not the bore that is its second datum."""
    face = next(r for r in job.requirements if r.id == "parallel")
    asked = replace(face, datums=("A", "B"))
    reason = cannot(classes()["photogrammetry"], job, asked, ball_mm=0.0, extent_mm=1000.0)
    assert reason == "does not see bore, an inside cylinder"


def test_room_for_the_ball(job):
    assert "no room" in _why(job, "laser tracker", "local", ball=60.0)
    assert _why(job, "laser tracker", "local", ball=50.0) is None


def test_light_in_a_bore(job):
    deep = replace(job.features["hole"], nominal=replace(job.features["hole"].nominal, length_mm=200.0))
    other = replace(job, features={**job.features, "hole": deep})
    assert "no light" in _why(other, "tripod scanner", "local")
    assert _why(job, "tripod scanner", "local") is None


def test_a_part_larger_than_the_plate(job):
    assert "does not stand on its plate" in _why(job, "height gauge", "span", extent=1600.0)


def test_faces_for_jaws_and_anvils(job):
    """Outer faces 200 mm apart: both tools; as a slot: the calliper alone; far beside each other: neither."""
    rear = job.features["rear"].nominal

    def width(**changes):
        features = {**job.features, "rear": replace(job.features["rear"], nominal=replace(rear, **changes))}
        asked = replace(next(r for r in job.requirements if r.id == "span"), nominal=200.0, lower=199.9, upper=200.1)
        return [
            cannot(classes()[c], replace(job, features=features), asked, ball_mm=0.0, extent_mm=1000.0)
            for c in ("calliper", "micrometer")
        ]

    point = rear.point_mm * np.array([1, 0, 1]) + np.array([0, 200, 0])
    assert width(point_mm=point) == [None, None]
    slot = width(point_mm=point * np.array([1, -1, 1]))
    assert slot[0] is None
    assert "opposite outer faces" in slot[1]
    beside = width(point_mm=point + np.array([1200, 0, 0]))
    assert all("beside each other" in reason for reason in beside)


def test_a_part_too_large_for_the_laboratory(job):
    lab = classes()["lab measuring machine"]
    assert not case_of(job, lab, known=classes()).cannot
    small = replace(lab, reach_mm=extent_mm(job) - 1.0)
    reasons = case_of(job, small, known={small.name: small}).cannot
    assert set(reasons) == {r.id for r in job.requirements}
    assert "larger than its reach" in reasons["flat"]
