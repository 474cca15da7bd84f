"""Air between the instrument and the target: its index with uncertainty, and what wrong air does to a range."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

from ..chance.sources import Draws, Source
from ..core.arrays import Array
from .atmosphere import pressure_bounds, pressure_fits_altitude, standard_pressure
from .index import METHODS, ciddor, edlen, outside_proven, refractive_index, refractivity
from .vapour import saturation_pressure

__all__ = [
    "METHODS", "AirIndex", "DeclaredAir", "air_sources", "distance_correction", "index_with_uncertainty",
    "pressure_bounds", "pressure_fits_altitude", "range_scale_errors", "refractive_index", "refractivity",
    "saturation_pressure", "standard_pressure",
]  # fmt: skip

#: Vacuum wavelength of the red helium-neon line, nm (rounded; the errors of a range hardly depend on it).
HELIUM_NEON_NM = 632.9912


class DeclaredAir(Protocol):
    """Air as a job declares it: values and standard uncertainties; `assumed` where nothing was measured."""

    @property
    def temperature_degC(self) -> float: ...
    @property
    def u_temperature(self) -> float: ...
    @property
    def pressure_Pa(self) -> float: ...
    @property
    def u_pressure(self) -> float: ...
    @property
    def humidity_percent(self) -> float: ...
    @property
    def u_humidity(self) -> float: ...
    @property
    def co2_ppm(self) -> float: ...
    @property
    def u_co2(self) -> float: ...
    @property
    def assumed(self) -> bool: ...


@dataclass(frozen=True)
class AirIndex:
    """n - 1 of air with its standard uncertainty, the part of the formula in it, and the sensitivities of n.

    `per_K` holds the kind of humidity that was given constant (relative, or partial pressure). `notes` says where a
    value leaves the range in which the formula is well proven.
    """

    refractivity: Array
    u: Array
    u_formula: Array
    per_K: Array
    per_Pa: Array
    per_percent_rh: Array
    per_ppm_co2: Array
    notes: tuple[str, ...]


def index_with_uncertainty(
    temperature_degC: npt.ArrayLike,
    pressure_Pa: npt.ArrayLike,
    *,
    wavelength_nm: npt.ArrayLike,
    humidity_percent: npt.ArrayLike | None = None,
    vapour_pressure_Pa: npt.ArrayLike | None = None,
    co2_ppm: npt.ArrayLike = 450.0,
    group: bool = False,
    method: str = "Ciddor",
    u_temperature: npt.ArrayLike = 0.0,
    u_pressure: npt.ArrayLike = 0.0,
    u_humidity: npt.ArrayLike = 0.0,
    u_co2: npt.ArrayLike = 0.0,
) -> AirIndex:
    """Index, sensitivities and standard uncertainty (GUM 5.1.2, first order, inputs independent).

    `u_humidity` is in per cent of relative humidity, or in Pa when the vapour pressure is given. Arguments and errors
    as in `refractivity`.
    """
    N = refractivity(
        temperature_degC, pressure_Pa, wavelength_nm=wavelength_nm, humidity_percent=humidity_percent,
        vapour_pressure_Pa=vapour_pressure_Pa, co2_ppm=co2_ppm, group=group, method=method,
    )  # fmt: skip
    t, p, co2, wave = (np.asarray(v, dtype=np.float64) for v in (temperature_degC, pressure_Pa, co2_ppm, wavelength_nm))
    saturation = saturation_pressure(t)
    relative = vapour_pressure_Pa is None
    given = humidity_percent if relative else vapour_pressure_Pa
    h = np.asarray(0.0 if given is None else given, dtype=np.float64)
    pv = h / 100 * saturation if relative else h

    def n(t: Array, p: Array, h: Array, co2: Array) -> Array:
        vapour = h / 100 * saturation_pressure(t) if relative else h
        return _unchecked(t, p, vapour, co2, wave, group, method)

    per_K = (n(t + 0.01, p, h, co2) - n(t - 0.01, p, h, co2)) / 0.02
    per_Pa = (n(t, p + 10, h, co2) - n(t, p - 10, h, co2)) / 20
    per_co2 = (n(t, p, h, co2 + 10) - n(t, p, h, co2 - 10)) / 20
    per_vapour = (_unchecked(t, p, pv + 10, co2, wave, group, method) - N) / 10  # linear in pv to 1e-3
    per_rh = per_vapour * saturation / 100
    formula = formula_uncertainty(t, p, pv, wave, group=group, method=method)
    inputs = ((per_K, u_temperature), (per_Pa, u_pressure), (per_rh if relative else per_vapour, u_humidity),
              (per_co2, u_co2))  # fmt: skip
    variance = np.square(formula)
    for sensitivity, u_input in inputs:
        variance = variance + np.square(sensitivity * np.asarray(u_input, dtype=np.float64))
    return AirIndex(N, np.sqrt(variance), formula, per_K, per_Pa, per_rh, per_co2, outside_proven(t, p, wave))


def formula_uncertainty(
    t: npt.ArrayLike, p: npt.ArrayLike, pv: npt.ArrayLike, wave: npt.ArrayLike, *, group: bool, method: str
) -> Array:
    """Standard uncertainty of the formula itself, relative: about 2e-8 on a shop floor.

    Source: the expression A-50 of Stone and Zimmerman (NIST Engineering Metrology Toolbox), stated there as expanded
    (k = 2) and taken here, cautiously, as standard: Ciddor (1996) claims 2e-8 to 5e-8. For the modified Edlen equation
    1.5e-8 is added in quadrature (its largest difference from Ciddor's in that toolbox's table, at 50 degC). For the
    group index three times: with n = a + b sigma^2, dn_g / dn = 3 along the dispersion (our own argument).
    """
    t, p, pv, wave = (np.asarray(v, dtype=np.float64) for v in (t, p, pv, wave))
    dry = (0.003 * p / (t + 273.0)) ** 2 * (4 + 6e-8 * (p - 1e5) ** 2 + 0.006 * (t - 20) ** 2)
    moist = pv**2 * ((8e-4) ** 2 + (6e-6 * (1000 / wave) ** 4) ** 2)
    own = 1e-8 * np.sqrt(dry + moist)
    if method == "Edlen":
        own = np.hypot(own, 1.5e-8)
    return 3 * own if group else own


def distance_correction(distance_mm: npt.ArrayLike, refractivity: npt.ArrayLike) -> Array:
    """True distance minus the one computed with the vacuum speed of light, mm: -d (n - 1) / n."""
    d, N = np.asarray(distance_mm, dtype=np.float64), np.asarray(refractivity, dtype=np.float64)
    return -d * N / (1 + N)


def air_sources(air: DeclaredAir, station: str = "", *, own: bool = False) -> tuple[Source, ...]:
    """The sources of wrong air for ranges measured with light.

    Stations of a job share the air of the day. With `own`, the station has thermometer, barometer and hygrometer of
    its own (scope "station"); the CO2 and the formula stay shared.
    """
    where, scope = (f" at station {station}", "station") if own else ("", "day")
    origin = "standard air assumed, none declared" if air.assumed else "declared"
    pv = air.humidity_percent / 100 * saturation_pressure(air.temperature_degC)
    formula = formula_uncertainty(
        air.temperature_degC, air.pressure_Pa, pv, HELIUM_NEON_NM, group=False, method="Ciddor"
    )

    def source(name: str, u: float, unit: str, scope: str, origin: str, action: str = "") -> Source:
        return Source(name, "corrected reading", u, unit, scope, origin=origin, action=action)

    return (
        source(
            f"air temperature{where}", air.u_temperature, "K", scope, origin,
            "measure the air temperature beside the beam, at more than one place",
        ),
        source(f"air pressure{where}", air.u_pressure, "Pa", scope, origin, "read a barometer at the instrument"),
        source(f"air humidity{where}", air.u_humidity, "%", scope, origin, "read a hygrometer at the instrument"),
        source("air CO2", air.u_co2, "umol/mol", "day", origin, "ventilate the hall"),
        source("air index formula", float(formula), "1", "day", "Ciddor 1996; Stone and Zimmerman, NIST, A-50"),
    )  # fmt: skip


def range_scale_errors(
    air: DeclaredAir,
    draws: Draws,
    *,
    station: str = "",
    own: bool = False,
    wavelength_nm: float = HELIUM_NEON_NM,
    group: bool = False,
) -> Array:
    """Relative error (draws,) of a range: the instrument uses the declared air, the truth is declared plus error.

    reported / true - 1 = n(true air) / n(declared air) - 1, plus the formula's own error. Draws of the air are kept
    physical: humidity within 0 and 100 %, pressure and temperature within the range of the formula.
    """
    key = f"station {station}" if own else "day"
    dt, dp, dh, dc, formula = (draws.of(s, [key])[:, 0] for s in air_sources(air, station, own=own))
    t = np.clip(air.temperature_degC + dt, -40.0, 100.0)
    p = np.clip(air.pressure_Pa + dp, 10e3, 140e3)
    h = np.clip(air.humidity_percent + dh, 0.0, 100.0)
    c = np.clip(air.co2_ppm + dc, 0.0, 2000.0)
    declared = refractivity(
        air.temperature_degC, air.pressure_Pa, humidity_percent=air.humidity_percent, co2_ppm=air.co2_ppm,
        wavelength_nm=wavelength_nm, group=group,
    )  # fmt: skip
    true = refractivity(t, p, humidity_percent=h, co2_ppm=c, wavelength_nm=wavelength_nm, group=group)
    return (true - declared) / (1 + declared) + formula * (3.0 if group else 1.0)


def _unchecked(t: Array, p: Array, pv: Array, co2: Array, wave: Array, group: bool, method: str) -> Array:
    S = (1000.0 / wave) ** 2
    return ciddor(t, p, pv, co2, S, group=group) if method == "Ciddor" else edlen(t, p, pv, S, group=group)
