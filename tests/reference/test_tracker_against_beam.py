"""Mechanical errors against an independent computation: the beam itself, in space, made to hit the target.

The head turns by the read azimuth about the standing axis, the beam by the read elevation about a tilt axis which is
out of place; the three readings that bring the end of the beam onto the target are solved for (SciPy). No formula of
trysquare.instruments.axes enters.
"""

import numpy as np
import pytest
from scipy.optimize import fsolve
from scipy.spatial.transform import Rotation

from trysquare.instruments.axes import per_unit

AIMS = [(0.4, 0.2, 2500.0), (-1.7, -0.7, 6000.0), (2.6, 1.1, 12000.0)]


def _beam_end(reading, imperfection):
    azimuth, elevation, distance = reading
    e = imperfection
    start = np.array([0.0, e.get("sideways", 0.0), e.get("upwards", 0.0)])
    direction = Rotation.from_rotvec([0, 0, e.get("collimation", 0.0)]).apply([1.0, 0, 0])
    beam = start + distance * direction  # in the tube: x along it, y along the tilt axis
    tube = Rotation.from_rotvec([0, -(elevation - e.get("vertical_index", 0.0)), 0]).apply(beam)
    fork = Rotation.from_rotvec([e.get("tilt_axis_squareness", 0.0), 0, 0]).apply(tube)
    head = fork + np.array([e.get("transit_offset", 0.0), 0, 0])
    return Rotation.from_rotvec([0, 0, azimuth]).apply(head)


def _read_minus_true(aim, face, imperfection):
    target = _beam_end(aim, {})
    second = face == 2
    guess = np.array([aim[0] + np.pi * second, np.pi - aim[1] if second else aim[1], aim[2]])
    scale = np.array([1e3, 1e3, 1.0])
    root = fsolve(lambda x: _beam_end(x / scale, imperfection) - target, guess * scale, xtol=1e-13) / scale
    read = np.array([root[0] - np.pi * second, np.pi - root[1] if second else root[1], root[2]])
    return read - np.array(aim)


CASES = [
    ("transit_offset", 0, {"transit_offset": 1e-2}, 1e-2),
    ("beam_offset", 0, {"sideways": 1e-2}, 1e-2),
    ("beam_offset", 1, {"upwards": 1e-2}, 1e-2),
    ("collimation", 0, {"collimation": 1e-5}, 1e-5),
    ("tilt_axis_squareness", 0, {"tilt_axis_squareness": 1e-5}, 1e-5),
    ("vertical_index", 0, {"vertical_index": 1e-5}, 1e-5),
]


@pytest.mark.parametrize(("name", "component", "imperfection", "size"), CASES)
@pytest.mark.parametrize("face", [1, 2])
@pytest.mark.parametrize("aim", AIMS)
def test_first_order_terms(name, component, imperfection, size, face, aim):
    exact = _read_minus_true(aim, face, imperfection)
    ours = size * per_unit(name, np.array([aim]), np.array([face]))[0, component]
    across = np.array([aim[2] * np.cos(aim[1]), aim[2], 1.0])  # so that all three are mm
    error = np.abs((exact - ours) * across)
    assert error.max() < 1e-5  # second order and the solver, mm; the effects are up to 0.1 mm
    assert np.abs(ours * across).max() > 2e-3


def test_a_wrong_sign_would_be_seen():
    """Negative twin."""
    exact = _read_minus_true(AIMS[0], 2, {"tilt_axis_squareness": 1e-5})
    ours = 1e-5 * per_unit("tilt_axis_squareness", np.array([AIMS[0]]), np.array([1]))[0, 0]
    assert np.abs((exact - ours) * AIMS[0][2]).max() > 5e-3
