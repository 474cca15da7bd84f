"""Freedoms that datum systems fix. Expected sets: analytic, from the invariance of each shape (ISO 5459:2011 lists the
same numbers: plane 3, cylinder 4, sphere 3; the split by precedence is that of the 3-2-1 rule of the trade)."""

import numpy as np
import pytest

from trysquare.core.frames import rotation
from trysquare.tolerances.freedoms import FREEDOMS, freedoms
from trysquare.tolerances.nominal import Nominal

X, Y, Z = np.eye(3)


def plane(normal, point=(0, 0, 0)):
    return Nominal("plane", np.array(point, float), np.array(normal, float))


def hole(at, axis=(0, 0, 1), length=20.0):
    return Nominal("cylinder", np.array(at, float), np.array(axis, float), 10.0, length, True)


def sphere(at):
    return Nominal("sphere", np.array(at, float), None, 10.0)


def test_three_planes_fix_three_two_one():
    found = freedoms([plane(Z), plane(X), plane(Y)])
    assert found.fixed == (("along z", "about x", "about y"), ("along x", "about z"), ("along y",))
    assert found.open == ()
    assert found.again == ((), (), ())


def test_plane_and_two_holes_fix_all():
    found = freedoms([plane(Z), hole((50, 30, 0)), hole((450, 30, 0))])
    assert found.fixed == (("along z", "about x", "about y"), ("along x", "along y"), ("about z",))
    assert found.open == ()


@pytest.mark.parametrize(
    ("system", "fixed_first"),
    [
        ([hole((0, 0, 0))], ("along x", "along y", "about x", "about y")),
        ([sphere((5, 5, 5))], ("along x", "along y", "along z")),
        ([Nominal("circle", np.zeros(3), Z, 10.0)], ("along x", "along y")),
        ([Nominal("line", np.zeros(3), X, None, 100.0)], ("along y", "along z", "about y", "about z")),
        ([Nominal("point", np.array([7.0, 0, 0]), Z)], ("along z",)),
    ],
)
def test_each_shape_alone(system, fixed_first):
    found = freedoms(system)
    assert found.fixed == (fixed_first,)
    assert set(found.open) == set(FREEDOMS) - set(fixed_first)


def test_a_parallel_plane_fixes_again_and_leaves_open():
    found = freedoms([plane(Z), plane(-Z, (0, 0, 100)), plane(X)])
    assert found.again[1] == ("along z", "about x", "about y")
    assert found.open == ("along y",)


def test_two_holes_on_one_axis_leave_the_turn_open():
    found = freedoms([plane(Z), hole((50, 30, 0)), hole((50, 30, 80))])
    assert found.again[2] == ("along x", "along y", "about x", "about y")
    assert found.open == ("about z",)


def test_holes_nearly_on_one_axis_do_not_count_as_apart():
    near = freedoms([plane(Z, (500, 300, 0)), hole((50, 30, 0)), hole((50.5, 30, 0))])
    assert near.open == ("about z",)
    apart = freedoms([plane(Z, (500, 300, 0)), hole((50, 30, 0)), hole((90, 30, 0))])
    assert apart.open == ()


def test_a_shaft_and_its_shoulder_leave_the_turn_open():
    found = freedoms([hole((0, 0, 0)), plane(Z)])
    assert found.fixed == (("along x", "along y", "about x", "about y"), ("along z",))
    assert found.open == ("about z",)


def test_only_open_freedoms_that_move_the_feature_are_named():
    shaft = freedoms([hole((0, 0, 0)), plane(Z)])
    assert shaft.open_for(hole((0, 0, 100))) == ()  # on the axis: the turn does not move it
    assert shaft.open_for(hole((40, 0, 0))) == ("about z",)
    base = freedoms([plane(Z)])
    assert base.open_for(hole((40, 25, 0))) == ("along x", "along y")
    assert base.open_for(plane(Z, (0, 0, 50))) == ()
    assert base.open_for(plane(X)) == ("along x", "about z")
    assert base.open_for(hole((40, 25, 0)), direction=X) == ("along x",)
    assert base.open_for(sphere((40, 25, 0))) == ("along x", "along y")
    assert freedoms([plane(Z), plane(X)]).open_for(hole((40, 25, 0)), direction=X) == ()


def test_the_answer_does_not_depend_on_where_the_part_frame_lies():
    rng = np.random.default_rng(1)
    for _ in range(20):
        R, t = rotation(rng.normal(size=3)), rng.normal(size=3) * 1e5
        system = [plane(R @ Z, t), hole(R @ [50, 30, 0] + t, R @ Z), hole(R @ [450, 30, 0] + t, R @ Z)]
        found = freedoms(system)
        assert [len(f) for f in found.fixed] == [3, 2, 1]
        assert found.open_twists.shape == (6, 0)
        assert freedoms(system[:2]).open_turns.shape == (1, 3)
        assert abs(freedoms(system[:2]).open_turns[0] @ (R @ Z)) == pytest.approx(1.0, abs=1e-9)


def test_slanted_datums_are_named_after_the_nearest_axes():
    tilted = rotation(np.radians(10) * X) @ Z
    assert freedoms([plane(tilted)]).fixed == (("along z", "about x", "about y"),)
