"""How a polar instrument with two axes errs when its mechanics are not perfect.

The head turns about a standing axis (azimuth), the beam in the head about a tilt axis (elevation). Every function
takes *mechanical* angles, as the encoders turn: in face 2 the head stands half a turn further and the beam points over
the top, so that azimuth + pi and pi - elevation aim at the same point. Errors are first order in the imperfection:
read minus true, for one unit of it. What changes sign between the faces does so because of these formulas.

Derived here from the geometry and checked against an exact computation of the beam (tests); the same terms stand in
Loser and Kyle (1999), Muralikrishnan et al., J. Res. NIST 114 (2009) 21, and Hughes et al., Meas. Sci. Technol. 22
(2011) 045701 (all three from memory), in their authors' own signs.
"""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array

#: One component: the errors of azimuth, elevation (mechanical) and range, of angles (n,), (n,) and ranges (n,) mm.
Component = Callable[[Array, Array, Array], tuple[Array, Array, Array]]


def _o(x: Array) -> Array:
    return np.zeros_like(x)


#: parameter -> component -> errors (azimuth, elevation, range) for one unit (mm, rad or 1)
COMPONENTS: dict[str, dict[str, Component]] = {
    "range_constant": {"range": lambda a, e, r: (_o(a), _o(a), np.ones_like(a))},
    "range_proportional": {"range": lambda a, e, r: (_o(a), _o(a), r)},
    # the tilt axis misses the standing axis, along the beam's horizontal direction
    "transit_offset": {"offset": lambda a, e, r: (_o(a), np.sin(e) / r, -np.cos(e))},
    # the beam misses the tilt axis: sideways along it, upwards across it
    "beam_offset": {
        "sideways": lambda a, e, r: (-1 / (r * np.cos(e)), _o(a), _o(a)),
        "upwards": lambda a, e, r: (_o(a), -1 / r, _o(a)),
    },
    # the beam is not square to the tilt axis
    "collimation": {"angle": lambda a, e, r: (-1 / np.cos(e), _o(a), _o(a))},
    # the tilt axis is not square to the standing axis
    "tilt_axis_squareness": {"angle": lambda a, e, r: (np.tan(e), _o(a), _o(a))},
    "vertical_index": {"angle": lambda a, e, r: (_o(a), np.ones_like(a), _o(a))},
    # scales off the axis (once a turn) and scales out of round (twice a turn)
    "eccentricity": {
        "azimuth cos": lambda a, e, r: (np.cos(a), _o(a), _o(a)),
        "azimuth sin": lambda a, e, r: (np.sin(a), _o(a), _o(a)),
        "elevation cos": lambda a, e, r: (_o(a), np.cos(e), _o(a)),
        "elevation sin": lambda a, e, r: (_o(a), np.sin(e), _o(a)),
    },
    "encoder_scale": {
        "azimuth cos": lambda a, e, r: (np.cos(2 * a), _o(a), _o(a)),
        "azimuth sin": lambda a, e, r: (np.sin(2 * a), _o(a), _o(a)),
        "elevation cos": lambda a, e, r: (_o(a), np.cos(2 * e), _o(a)),
        "elevation sin": lambda a, e, r: (_o(a), np.sin(2 * e), _o(a)),
    },
}


def mechanical(obs: Array, face: npt.NDArray[np.int64]) -> tuple[Array, Array, Array]:
    """Mechanical azimuth and elevation (n,), rad, and range (n,), mm, of aims `obs` (n, 3) taken in `face` (n,)."""
    second = face == 2
    azimuth = np.where(second, obs[:, 0] + np.pi, obs[:, 0])
    elevation = np.where(second, np.pi - obs[:, 1], obs[:, 1])
    return azimuth, elevation, obs[:, 2]


def per_unit(parameter: str, obs: Array, face: npt.NDArray[np.int64]) -> Array:
    """Errors (n, c, 3) of the aims, in face-1 sense, for one unit of each component of `parameter`."""
    angles = mechanical(obs, face)
    out = np.stack([np.stack(f(*angles), -1) for f in COMPONENTS[parameter].values()], 1)
    out[face == 2, :, 1] *= -1.0  # an elevation read over the top counts backwards
    return out
