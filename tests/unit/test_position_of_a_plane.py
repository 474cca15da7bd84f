"""The position of a plane counts its whole surface, not its middle (ISO 1101:2017, 18.12). Expected: analytic."""

import numpy as np
import pytest
from simulated_job import TEXT, round_the_block

from trysquare.jobs.instruments import instruments_of
from trysquare.jobs.judge import judge
from trysquare.jobs.loading.load import load
from trysquare.jobs.simulated.simulate import simulate
from trysquare.jobs.simulated.true_shape import Shape, Truth
from trysquare.jobs.simulated.true_values import true_values

ASKED = '[[requirement]]\nid = "place"\non = "rear"\nposition = { zone = 0.3, datums = ["A"] }\n'


def judged(folder, shape, *, size=True, exact=True):
    """The block with a rear face of this shape: its truth, and what the report says of its place."""
    text = TEXT.replace("[[station]]", f"{ASKED}[[station]]", 1)
    if not size:
        assert text.count("normal = [0, 1, 0], size = [1000, 600], along = [1, 0, 0]") == 1
        text = text.replace("normal = [0, 1, 0], size = [1000, 600], along = [1, 0, 0]", "normal = [0, 1, 0]")
    (folder / "job.toml").write_text(text, encoding="utf-8")
    job = load(folder, measured=False)
    truth = Truth(91, {"rear": shape})
    taken = simulate(job, instruments_of(job), truth, round_the_block(), exact=exact)
    found = {r.id: r for r in judge(taken, draws=300).requirements}["place"]
    return true_values(job, truth, round_the_block())["place"].value, found


def test_a_turn_about_its_middle_takes_a_plane_off_its_place(tmp_path):
    """0.4 mrad about z over 1000 mm: 0.2 mm at either end, 0.4 on a drawing; its middle has not moved."""
    true, found = judged(tmp_path, Shape(turn_rad=(0.0, 0.0, 4e-4)))
    assert true == pytest.approx(0.4, abs=1e-6)
    assert found.interval[0] < 0.4 < found.interval[1]
    assert found.verdict == "reject"


def test_a_plane_in_its_place(tmp_path):
    """Negative twin."""
    true, found = judged(tmp_path, Shape())
    assert true == pytest.approx(0.0, abs=1e-9)
    assert found.verdict == "accept"


def test_form_counts_too(tmp_path):
    """A face that is bent by 0.1 mm about its own plane fills about as much on either side of it."""
    true, found = judged(tmp_path, Shape(form_mm=0.1, wavelength_mm=1500.0), exact=False)
    assert 0.09 < true < 0.2
    assert found.value > 0.08
    assert found.interval[0] <= true <= found.interval[1]


def test_without_a_size_the_outermost_points_are_its_corners(tmp_path):
    """Planned over 200 mm, of which a margin of 5 % stays untouched: 0.4 mrad over 180 mm."""
    _, found = judged(tmp_path, Shape(turn_rad=(0.0, 0.0, 4e-4)), size=False)
    reach = 2 * 4e-4 * 90
    assert found.interval[0] < reach < found.interval[1]
    assert found.kind == "extreme"
    assert np.isfinite(found.u)
