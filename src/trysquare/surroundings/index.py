"""Refractive index of air, phase and group, after Ciddor (1996) and the modified Edlen equation.

Both sum terms of known dispersion in S = (1 um / wavelength)^2, scaled by densities that do not depend on the
wavelength. The group index n_g = n + sigma dn/dsigma (sigma = 1 / wavelength) is therefore the same sum with every
term f(S) replaced by f + 2 S df/dS, which is exact for the phase formula used.
"""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array
from ..core.errors import InputError
from .vapour import mole_fraction, saturation_pressure

METHODS = ("Ciddor", "Edlen")

#: What the formulas were made for (Ciddor 1996; pressures as Stone and Zimmerman, NIST): outside it an error.
VALID = {
    "temperature": (-40.0, 100.0, "degC"),
    "pressure": (10e3, 140e3, "Pa"),
    "humidity": (0.0, 100.0, "%"),
    "co2": (0.0, 2000.0, "umol/mol"),
    "wavelength": (300.0, 1700.0, "nm"),
}
#: Where the formula's own uncertainty is well known (Stone and Zimmerman): outside it a note.
PROVEN = {
    "temperature": (0.0, 40.0, "degC"),
    "pressure": (60e3, 120e3, "Pa"),
    "wavelength": (350.0, 1600.0, "nm"),
}


def refractivity(
    temperature_degC: npt.ArrayLike,
    pressure_Pa: npt.ArrayLike,
    *,
    wavelength_nm: npt.ArrayLike,
    humidity_percent: npt.ArrayLike | None = None,
    vapour_pressure_Pa: npt.ArrayLike | None = None,
    co2_ppm: npt.ArrayLike = 450.0,
    group: bool = False,
    method: str = "Ciddor",
) -> Array:
    """n - 1 of air; arguments broadcast, the result has their common shape.

    `wavelength_nm` is that in vacuum. Humidity is relative (over water from 0 degC up, over ice below) or the partial
    pressure of the vapour; without either the air is dry. The modified Edlen equation is for 450 umol/mol of CO2.

    Raises
    ------
    InputError : a value outside `VALID`, both kinds of humidity, or an unknown method.

    Source: P. E. Ciddor, Appl. Opt. 35 (1996) 1566; K. P. Birch and M. J. Downs, Metrologia 31 (1994) 315 with the
    water term of J. A. Stone and J. H. Zimmerman (NIST Engineering Metrology Toolbox); constants as in the latter.
    """
    t, p, co2, wave = (np.asarray(v, dtype=np.float64) for v in (temperature_degC, pressure_Pa, co2_ppm, wavelength_nm))
    for name, value in (("temperature", t), ("pressure", p), ("co2", co2), ("wavelength", wave)):
        _inside(name, value)
    pv = _vapour(t, p, humidity_percent, vapour_pressure_Pa)
    S = (1000.0 / wave) ** 2
    if method == "Ciddor":
        return ciddor(t, p, pv, co2, S, group=group)
    if method == "Edlen":
        if np.any(co2 != 450.0):
            raise InputError(
                "air", "CO2 with the Edlen equation", "be 450 umol/mol", f"{co2}", "Use the Ciddor equation."
            )
        return edlen(t, p, pv, S, group=group)
    raise InputError("air", "the method", f"be one of {', '.join(METHODS)}", f'"{method}"', "Correct it.")


def refractive_index(
    temperature_degC: npt.ArrayLike,
    pressure_Pa: npt.ArrayLike,
    *,
    wavelength_nm: npt.ArrayLike,
    humidity_percent: npt.ArrayLike | None = None,
    vapour_pressure_Pa: npt.ArrayLike | None = None,
    co2_ppm: npt.ArrayLike = 450.0,
    group: bool = False,
    method: str = "Ciddor",
) -> Array:
    """n of air: 1 + `refractivity` of the same arguments."""
    return 1.0 + refractivity(
        temperature_degC, pressure_Pa, wavelength_nm=wavelength_nm, humidity_percent=humidity_percent,
        vapour_pressure_Pa=vapour_pressure_Pa, co2_ppm=co2_ppm, group=group, method=method,
    )  # fmt: skip


def outside_proven(
    temperature_degC: npt.ArrayLike, pressure_Pa: npt.ArrayLike, wavelength_nm: npt.ArrayLike
) -> tuple[str, ...]:
    """One note for each quantity that leaves the range in which the formula's uncertainty is well known."""
    notes = []
    given = {"temperature": temperature_degC, "pressure": pressure_Pa, "wavelength": wavelength_nm}
    for name, value in given.items():
        low, high, unit = PROVEN[name]
        array = np.asarray(value, dtype=np.float64)
        if ((array < low) | (array > high)).any():
            notes.append(f"{name} outside {low:g} to {high:g} {unit}: the formula is less certain there")
    return tuple(notes)


def ciddor(t: Array, p: Array, pv: Array, co2: Array, S: Array, *, group: bool = False) -> Array:
    """n - 1 after Ciddor (1996); pv Pa the partial pressure of vapour, S um^-2; nothing is checked here.

    The molar mass of dry air cancels between the air and its standard state.
    """
    R, Mv, Za, rho_v0 = 8.314472, 0.018015, 0.9995922115, 0.00985938
    T = t + 273.15
    x = mole_fraction(t, p, pv)
    molar = p / (_compressibility(t, p, x) * R * T)
    density_air = (1 - x) * molar / (101325.0 / (Za * R * 288.15))
    density_vapour = x * molar * Mv / rho_v0
    air = 1e-8 * (_pole(5792105.0, 238.0185, S, group) + _pole(167917.0, 57.362, S, group))
    vapour = 1.022e-8 * _series((295.235, 2.6422, -0.03238, 0.004028), S, group)
    return density_air * air * (1 + 5.34e-7 * (co2 - 450.0)) + density_vapour * vapour


def edlen(t: Array, p: Array, pv: Array, S: Array, *, group: bool = False) -> Array:
    """n - 1 after the modified Edlen equation (Birch and Downs 1994, water term of Stone and Zimmerman)."""
    standard = 1e-8 * (8342.54 + _pole(2406147.0, 130.0, S, group) + _pole(15998.0, 38.9, S, group))
    density = (1 + 1e-8 * (0.601 - 0.00972 * t) * p) / (1 + 0.0036610 * t)
    vapour = 1e-10 * (292.75 / (t + 273.15)) * _series((3.7345, -0.0401), S, group)
    return p * standard * density / 96095.43 - vapour * pv


def _compressibility(t: Array, p: Array, x: Array) -> Array:
    """Compressibility of moist air, BIPM 1981/91 density equation (Davis 1992), as in Ciddor (1996)."""
    r = p / (t + 273.15)
    first = 1.58123e-6 - 2.9331e-8 * t + 1.1043e-10 * t * t
    second = (5.707e-6 - 2.051e-8 * t) * x + (1.9898e-4 - 2.376e-6 * t) * x * x
    return 1 - r * (first + second) + r * r * (1.83e-11 - 0.765e-8 * x * x)


def _pole(k: float, c: float, S: Array, group: bool) -> Array:
    """k / (c - S), or its group form k (c + S) / (c - S)^2."""
    return k * (c + S) / (c - S) ** 2 if group else k / (c - S)


def _series(coefficients: Sequence[float], S: Array, group: bool) -> Array:
    """Sum of c_k S^k, or its group form: sum of (1 + 2 k) c_k S^k."""
    total = np.zeros_like(S)
    for k, c in enumerate(coefficients):
        total = total + (1 + 2 * k if group else 1) * c * S**k
    return total


def _vapour(t: Array, p: Array, humidity: npt.ArrayLike | None, pressure: npt.ArrayLike | None) -> Array:
    if humidity is not None and pressure is not None:
        raise InputError("air", "humidity", "be given once", "relative humidity and vapour pressure", "Drop one.")
    if pressure is not None:
        pv = np.asarray(pressure, dtype=np.float64)
        if not ((pv >= 0) & (pv <= np.minimum(1.02 * saturation_pressure(t), p))).all():
            raise InputError(
                "air", "the vapour pressure", "lie between zero and saturation", f"{pv} Pa", "Check its unit."
            )
        return pv
    rh = np.asarray(0.0 if humidity is None else humidity, dtype=np.float64)
    _inside("humidity", rh)
    return rh / 100.0 * saturation_pressure(t)


def _inside(name: str, value: Array) -> None:
    low, high, unit = VALID[name]
    bad = ~((value >= low) & (value <= high))
    if bad.any():
        raise InputError(
            "air", f"the {name}", f"lie between {low:g} and {high:g} {unit}, where the formula holds",
            f"{value[bad].flat[0]:g}" if value.ndim else f"{float(value):g}", "Check the value and its unit.",
        )  # fmt: skip
