"""What pressure a place can have: the standard atmosphere and what weather makes of it."""

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array
from ..core.errors import InputError

#: Pressure at sea level outside cyclones and polar highs, Pa: common practice, no source. (Records of the World
#: Meteorological Organization, from memory: 870 hPa in the eye of a typhoon, 1084 hPa over Siberia.)
SEA_LEVEL_WEATHER = (95.0e3, 105.0e3)
#: Standard deviation of the pressure at one place from weather, Pa: common practice, no source.
WEATHER_U = 1.0e3
_P0, _T0, _LAPSE, _EXPONENT = 101325.0, 288.15, 0.0065, 5.25588  # ISO 2533:1975


def standard_pressure(altitude_m: npt.ArrayLike) -> Array:
    """Pressure of the standard atmosphere, Pa, at a geopotential altitude of -1000 to 11 000 m.

    Method: p = 101 325 (1 - 0.0065 H / 288.15)^5.25588 (ISO 2533:1975, first layer; the exponent is g M / (R L)).
    Geometric and geopotential altitude differ by 0.05 % at 3 km, which is nothing here.
    """
    H = np.asarray(altitude_m, dtype=np.float64)
    if not ((H >= -1000) & (H <= 11000)).all():
        raise InputError(
            "place", "the altitude", "lie between -1000 and 11000 m", f"{H} m", "Check the value and its unit."
        )
    return _P0 * (1 - _LAPSE * H / _T0) ** _EXPONENT


def pressure_bounds(altitude_m: float) -> tuple[float, float]:
    """Least and greatest pressure, Pa, that weather brings at this altitude: that of sea level, scaled."""
    scale = float(standard_pressure(altitude_m)) / _P0
    return scale * SEA_LEVEL_WEATHER[0], scale * SEA_LEVEL_WEATHER[1]


def pressure_fits_altitude(pressure_Pa: float, altitude_m: float) -> bool:
    """Whether a pressure read at the place can be right; 1013 hPa, as reduced to sea level, fails from 300 m up."""
    low, high = pressure_bounds(altitude_m)
    return low <= pressure_Pa <= high
