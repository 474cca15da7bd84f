"""Heat, whatever the part: there and back, and the same wherever the frame lies."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from trysquare.core.frames import rotation
from trysquare.surroundings.heat import displacement, to_reference

_three = st.tuples(*(st.floats(-1, 1) for _ in range(3))).map(np.array)
_heat = st.fixed_dictionaries(
    {
        "alpha": st.floats(0, 1e-4),
        "temperature_degC": st.floats(-20, 60),
        "gradient": _three.map(lambda v: 2e-3 * v),
        "anchor_mm": _three.map(lambda v: 3000 * v),
    }
)
_points = st.lists(_three, min_size=1, max_size=6).map(lambda p: 5000 * np.array(p))


@settings(max_examples=50, derandomize=True, deadline=None)
@given(_points, _heat)
def test_there_and_back(points, heat):
    warm = points + displacement(points, **heat)
    assert_allclose(to_reference(warm, **heat), points, rtol=0, atol=1e-9)


@settings(max_examples=50, derandomize=True, deadline=None)
@given(_points, _heat, _three, _three)
def test_a_turned_and_shifted_frame_changes_nothing(points, heat, turn, shift):
    R, t = rotation(3 * turn), 1e5 * shift
    moved = heat | {"gradient": R @ heat["gradient"], "anchor_mm": R @ heat["anchor_mm"] + t}
    here = displacement(points, **heat) @ R.T
    assert_allclose(displacement(points @ R.T + t, **moved), here, rtol=0, atol=1e-7)
