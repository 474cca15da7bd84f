"""Where things stood: evidence of a requirement, the floor, and how well the stations agree."""

import numpy as np

from ..core.arrays import Array
from ..core.frames import Rigid
from .chain import Chain
from .job import Requirement
from .result import Floor, Seen, Spot, Station, Tie


def seen(chain: Chain, requirement: Requirement) -> list[Seen]:
    """Points and stations behind a requirement's features, in the placed part frame."""
    if requirement.id in chain.hand.requirements:
        return []
    surfaces = chain.value_surfaces
    out = []
    for name in requirement.on:
        if name in surfaces:
            stations = dict.fromkeys(chain.points.stations[i] for i in chain.points.rows[name])
            out.append(Seen(feature=name, points_mm=_points(surfaces[name].points_mm), stations=list(stations)))
    return out


def floor_of(chain: Chain) -> Floor | None:
    """Stations, features and tie points in the placed part frame; None for a job of hand tools only."""
    points = chain.points
    if not points.setups:
        return None
    at = points.station_positions()
    stations = [
        Station(name=s.station.name, instrument=s.instrument.name, at_mm=_point(at[s.station.name]),
                ties=list(s.tie_names))
        for s in points.setups
    ]  # fmt: skip
    features = [
        Spot(name=name, at_mm=_point(chain.job.features[name].nominal.point_mm), outline_mm=_points(s.points_mm))
        for name, s in chain.value_surfaces.items()
    ]
    return Floor(stations=stations, features=features, ties=_ties(chain))


def tie_of(chain: Chain) -> Tie | None:
    """Chi-square of the tie, its chance, and where the largest residual lies; None for one station."""
    result = chain.points.tie_value
    if result is None:
        return None
    from scipy.special import chdtrc

    worst, at = 0.0, ""
    for residuals, setup in zip(result.residuals_mm, chain.points.setups, strict=True):
        length = np.linalg.norm(residuals, axis=-1)
        i = int(np.argmax(length))
        if length[i] > worst:
            worst, at = float(length[i]), f"{setup.tie_names[i]} from station {setup.station.name}"
    chi = float(result.chi_square)
    return Tie(
        chi_square=chi, dof=result.dof, p=float(chdtrc(result.dof, chi)) if result.dof > 0 else 1.0,
        largest_residual_mm=worst, at=at,
    )  # fmt: skip


def _ties(chain: Chain) -> list[Spot]:
    result, T = chain.points.tie_value, chain.points.T_part_common
    if result is None:
        return []
    return [Spot(name=name, at_mm=_point(_moved(T, result.place(name)))) for name in result.names]


def _moved(T: Rigid, point: Array) -> Array:
    return T.apply(point[None])[0]


def _point(p: Array) -> tuple[float, float, float]:
    return float(p[0]), float(p[1]), float(p[2])


def _points(points: Array) -> list[tuple[float, float, float]]:
    return [_point(p) for p in points.round(3)]
