"""A tie knows no origin and no order: moving a whole station, far origins, other orders change nothing."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from trysquare.core.frames import Rigid, rotation
from trysquare.networks import tie

_RNG = np.random.default_rng(8)
POINTS = _RNG.uniform([0, 0, 0], [2500, 1500, 1000], (6, 3))
NAMES = tuple("ABCDEF")
POSES = [Rigid.identity(), Rigid(rotation(np.array([0.02, 0.01, 1.9])), np.array([3500.0, 900, 20]))]
ROOTS = _RNG.normal(0, 0.01, (2, 6, 3, 3))
BLOCKS = [a @ np.swapaxes(a, 1, 2) + 2e-5 * np.eye(3) for a in ROOTS]
SEEN = [
    pose.inverse().apply(POINTS) + (np.linalg.cholesky(C) @ _RNG.normal(size=(6, 3, 1)))[..., 0]
    for pose, C in zip(POSES, BLOCKS)
]
BASE = tie(SEEN, [NAMES] * 2, BLOCKS)
turns = st.tuples(*[st.floats(-3, 3)] * 3).map(np.array)
shifts = st.tuples(*[st.floats(-1e5, 1e5)] * 3).map(np.array)
settings.register_profile("tie", derandomize=True, max_examples=30, deadline=None)


@settings(settings.get_profile("tie"))
@given(turns, shifts)
def test_moving_the_second_station_changes_no_point(turn, shift):
    R = rotation(turn)
    moved = SEEN[1] @ R.T + shift
    result = tie([SEEN[0], moved], [NAMES] * 2, [BLOCKS[0], R @ BLOCKS[1] @ R.T])
    np.testing.assert_allclose(result.points_mm, BASE.points_mm, atol=1e-9, rtol=0)
    np.testing.assert_allclose(result.chi_square, BASE.chi_square, rtol=1e-6)


@settings(settings.get_profile("tie"))
@given(turns, shifts)
def test_moving_the_first_station_moves_everything_with_it(turn, shift):
    R = rotation(turn)
    result = tie([SEEN[0] @ R.T + shift, SEEN[1]], [NAMES] * 2, [R @ BLOCKS[0] @ R.T, BLOCKS[1]])
    back = (result.points_mm - shift) @ R
    np.testing.assert_allclose(back, BASE.points_mm, atol=1e-9, rtol=0)


@settings(settings.get_profile("tie"))
@given(st.permutations(range(6)), st.permutations(range(6)))
def test_order_of_points(first, second):
    order = [list(first), list(second)]
    names = [tuple(NAMES[i] for i in o) for o in order]
    result = tie([p[o] for p, o in zip(SEEN, order)], names, [C[o] for C, o in zip(BLOCKS, order)])
    for name in NAMES:
        np.testing.assert_allclose(result.place(name), BASE.place(name), atol=1e-9, rtol=0)
    np.testing.assert_allclose(result.poses[1].t, BASE.poses[1].t, atol=1e-9, rtol=0)


def test_order_of_stations_turns_the_frame_only():
    other = tie(SEEN[::-1], [NAMES] * 2, BLOCKS[::-1])
    np.testing.assert_allclose(BASE.poses[1].apply(other.points_mm), BASE.points_mm, atol=1e-9, rtol=0)
