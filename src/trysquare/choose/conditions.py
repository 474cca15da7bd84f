"""Under which conditions a measurement is tried out: as usual, or with one thing done better."""

from dataclasses import dataclass, replace

import numpy as np

from ..core.arrays import Array
from ..instruments.catalogue import InstrumentClass
from ..jobs.job import Feature, Zone
from ..jobs.simulated.plan_points import DEFAULT_POINTS, Touches, plan_points

#: A scanner sees more places than a tip touches (common practice, no source); one place is a block of its points.
SCAN_PLACES = 2
#: Readings that one block stands for: its noise falls with their root, its floor stays (common practice, no source).
BLOCK = 25
#: A thermometer that stays on the part, and a part that has soaked, K: common practice, no source.
GOOD_THERMOMETER_K = 0.1
SOAKED_K = 1.0
#: A room held at 20 degC within this, as half-width, K.
LABORATORY_K = 0.2


@dataclass(frozen=True)
class Conditions:
    """`nearer` scales the distance of stations, `points` their number of points, `faces` are those of a tracker."""

    nearer: float = 1.0
    points: int = 1
    faces: tuple[int, ...] = (1,)
    thermometer: bool = False
    soaked: bool = False


def touches_of(feature: Feature, cls: InstrumentClass, conditions: Conditions) -> Touches:
    """The places on a feature that a class reads: what the job plans, else typical for its shape; more with a scan."""
    usual = feature.points or DEFAULT_POINTS[feature.nominal.kind]
    dense = SCAN_PLACES if cls.touches == "surface" else 1
    return plan_points(feature, count=usual * dense * conditions.points)


def zone_in(zone: Zone, cls: InstrumentClass, conditions: Conditions) -> Zone:
    """The zone as warm as it is where this class measures: as the job says, soaked, or in a laboratory."""
    if cls.where == "laboratory":
        return _even(zone, 20.0, LABORATORY_K / np.sqrt(3.0))
    if conditions.soaked:
        return _even(zone, 20.0 + SOAKED_K, min(zone.u_temperature, GOOD_THERMOMETER_K))
    if conditions.thermometer:
        warm = 20.0 if zone.temperature_degC is None else zone.temperature_degC
        return replace(zone, temperature_degC=warm, u_temperature=min(zone.u_temperature, GOOD_THERMOMETER_K))
    return zone


def box(points_mm: Array) -> tuple[Array, Array]:
    """Low and high corner (3,) of points (n, 3)."""
    return points_mm.min(0), points_mm.max(0)


def _even(zone: Zone, temperature_degC: float, u: float) -> Zone:
    return replace(zone, temperature_degC=temperature_degC, u_temperature=float(u), gradient=np.zeros(3))
