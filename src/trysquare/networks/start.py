"""Where the stations stand, roughly: each is placed on the points that stations placed before it have seen."""

import math

import numpy as np

from ..core.arrays import Array
from ..core.errors import InputError, RankError
from ..core.frames import Rigid, best_rigid
from .network import Network

#: Least width of the tie points across their longest line, as a share of their length.
LEAST_RATIO = 1e-3
#: ... and as a multiple of the standard uncertainty of their places.
LEAST_WIDTHS = 10.0


def start(points_mm: list[Array], net: Network) -> tuple[list[Rigid], Array]:
    """Rough poses T_common_station (the first is the identity) and points (m, 3), mm.

    The next station is always the one with the most points in common with those placed, so any path through the
    network serves.

    Raises
    ------
    InputError : a station that shares fewer than 3 points with the others.
    RankError : the shared points lie on one line.
    """
    poses: list[Rigid | None] = [Rigid.identity()] + [None] * (len(net.stations) - 1)
    places = np.full((len(net.names), 3), np.nan)
    places[net.index[0]] = points_mm[0]
    while None in poses:
        waiting = [k for k, pose in enumerate(poses) if pose is None]
        k = max(waiting, key=lambda k: int(_shared(net, k, places).sum()))
        poses[k] = _place(k, points_mm[k], places, net, [i for i, pose in enumerate(poses) if pose is not None])
        here = poses[k].apply(points_mm[k])  # type: ignore[union-attr]
        new = ~_shared(net, k, places)
        places[net.index[k][new]] = here[new]
    return [pose for pose in poses if pose is not None], places


def _shared(net: Network, k: int, places: Array) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    return np.isfinite(places[net.index[k], 0])


def _place(k: int, points_mm: Array, places: Array, net: Network, placed: list[int]) -> Rigid:
    shared = _shared(net, k, places)
    where = f'tie of station "{net.stations[k]}" to {_list([net.stations[i] for i in placed])}'
    names = [net.names[i] for i in net.index[k][shared]]
    if len(names) < 3:
        found = f"{len(names)} ({_list(names)})" if names else "none: nothing connects it"
        raise InputError(
            where, "the number of common tie points", "be at least 3", found,
            "Measure at least 3, better 4 or more, tie points from both places, spread all round the part.",
        )  # fmt: skip
    _not_on_a_line(points_mm[shared], net.covariances[k][shared], where, names)
    return best_rigid(points_mm[shared], places[net.index[k][shared]])


def _not_on_a_line(points_mm: Array, covariances: Array, where: str, names: list[str]) -> None:
    n = len(points_mm)
    length, width = np.linalg.svd(points_mm - points_mm.mean(0), compute_uv=False)[:2] / math.sqrt(n)
    u = math.sqrt(float(np.linalg.eigvalsh(covariances)[:, -1].mean()))
    ratio = width / length if length > 0 else 0.0
    threshold = max(LEAST_RATIO, LEAST_WIDTHS * u / length) if length > 0 else 1.0
    if not ratio > threshold:
        raise RankError(
            where, f"the tie points {_list(names)}", "not lie on one line",
            f"{width:.3g} mm across a line of {length:.4g} mm (root mean squares)",
            "Add a tie point well off that line: the part can turn about it.",
            ratio=ratio, threshold=threshold,
        )  # fmt: skip


def _list(words: list[str]) -> str:
    return ", ".join(f'"{word}"' for word in words)
