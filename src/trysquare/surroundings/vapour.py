"""Water vapour in air: saturation pressure, partial pressure, mole fraction."""

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array

#: IAPWS-IF97, equation 30 (Wagner et al. 2000), n1 to n10.
_IF97 = (
    1167.0521452767, -724213.16703206, -17.073846940092, 12020.824702470, -3232555.0322333,
    14.915108613530, -4823.2657361591, 405113.40542057, -0.23855557567849, 650.17534844798,
)  # fmt: skip


def saturation_pressure(temperature_degC: npt.ArrayLike) -> Array:
    """Saturation pressure of pure water vapour, Pa: over water from 0 degC up, over ice below.

    Source: IAPWS-IF97 equation 30 over water; IAPWS sublimation equation of 1993 (Wagner, Saul, Pruss 1994) over ice.
    """
    t = np.asarray(temperature_degC, dtype=np.float64)
    return np.where(t >= 0, _over_water(t + 273.15), _over_ice(np.minimum(t, 0.0) + 273.15))


def _over_water(T: Array) -> Array:
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = _IF97
    w = T + n9 / (T - n10)
    a = w * w + n1 * w + n2
    b = n3 * w * w + n4 * w + n5
    c = n6 * w * w + n7 * w + n8
    return 1e6 * (2 * c / (np.sqrt(b * b - 4 * a * c) - b)) ** 4


def _over_ice(T: Array) -> Array:
    theta = T / 273.16
    return 611.657 * np.exp(-13.928169 * (1 - theta**-1.5) + 34.7078238 * (1 - theta**-1.25))


def mole_fraction(temperature_degC: Array, pressure_Pa: Array, vapour_pressure_Pa: Array) -> Array:
    """Mole fraction of water vapour, 1; the enhancement factor is that of Giacomo (1982), used by Ciddor (1996)."""
    enhancement = 1.00062 + 3.14e-8 * pressure_Pa + 5.60e-7 * temperature_degC**2
    return enhancement * vapour_pressure_Pa / pressure_Pa
