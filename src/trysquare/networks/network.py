"""The network of a tie: which station saw which point, how well, and the check of what the caller hands in."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array, points
from ..core.errors import InputError


@dataclass(frozen=True)
class Network:
    """Stations k = 0, 1, ..; station k saw the points `index[k]` with `information[k]` (inverse covariance, 1/mm2)."""

    stations: tuple[str, ...]
    names: tuple[str, ...]
    index: tuple[npt.NDArray[np.int64], ...]
    covariances: tuple[Array, ...]
    information: tuple[Array, ...]

    @property
    def unknowns(self) -> int:
        """Six for each station but the first, three for each point."""
        return 6 * (len(self.stations) - 1) + 3 * len(self.names)

    @property
    def dof(self) -> int:
        """Coordinates measured, less the unknowns."""
        return 3 * sum(len(i) for i in self.index) - self.unknowns


def network(names: Sequence[Sequence[str]], covariances: Sequence[Array], stations: Sequence[str] | None) -> Network:
    """The checked network. Raises `InputError` that names station and point."""
    labels = tuple(str(k + 1) for k in range(len(names))) if stations is None else tuple(stations)
    _same_count(labels, names, covariances)
    if len(labels) < 2:
        raise InputError(
            "tie", "the number of stations", "be at least 2", f"{len(labels)}", "One station needs no tie."
        )
    _once(labels, "tie", "the station", "Give each station its own name.")
    for label, seen in zip(labels, names):
        _once(seen, f'station "{label}"', "the tie point", "Average its repeats first, or rename one of them.")
    known = tuple(dict.fromkeys(name for seen in names for name in seen))
    place = {name: i for i, name in enumerate(known)}
    checked = tuple(_covariance(c, seen, label) for c, seen, label in zip(covariances, names, labels))
    return Network(
        labels,
        known,
        tuple(np.array([place[name] for name in seen], dtype=np.int64) for seen in names),
        checked,
        tuple(_inverse(c) for c in checked),
    )


def flat_points(value: Sequence[Array], net: Network) -> tuple[tuple[int, ...], list[Array]]:
    """The common leading shape and each station's points as (draws, m, 3). Raises `InputError`."""
    if len(value) != len(net.stations):
        raise InputError(
            "tie", "points", f"be given for {len(net.stations)} stations", f"{len(value)}", "One array a station."
        )
    arrays = []
    for array, index, label in zip(value, net.index, net.stations):
        found = points(array, where=f'station "{label}", tie points')
        if found.shape[-2] != len(index):
            raise InputError(
                f'station "{label}"', "the tie points", f"be {len(index)}, as many as names", f"{found.shape[-2]}",
                "Give one name a point.",
            )  # fmt: skip
        arrays.append(found)
    leads = [a.shape[:-2] for a in arrays]
    try:
        lead = np.broadcast_shapes(*leads)
    except ValueError:
        raise InputError("tie", "the draws of all stations", "be equal in number", f"{leads}", "Draw once.") from None
    return lead, [np.broadcast_to(a, (*lead, *a.shape[-2:])).reshape(-1, *a.shape[-2:]) for a in arrays]


def _inverse(covariances: Array) -> Array:
    inverse = np.linalg.inv(covariances).astype(np.float64, copy=False)
    return 0.5 * (inverse + np.swapaxes(inverse, -1, -2))


def _same_count(labels: Sequence[str], names: Sequence[Sequence[str]], covariances: Sequence[Array]) -> None:
    if not len(labels) == len(names) == len(covariances):
        raise InputError(
            "tie", "stations, names and covariances", "be equal in number",
            f"{len(labels)}, {len(names)} and {len(covariances)}", "Give one of each a station.",
        )  # fmt: skip


def _once(values: Sequence[str], where: str, what: str, way_out: str) -> None:
    twice = [v for i, v in enumerate(values) if v in values[:i]]
    if twice:
        raise InputError(where, f'{what} "{twice[0]}"', "appear once", f"{values.count(twice[0])} times", way_out)


def _covariance(value: Array, seen: Sequence[str], label: str) -> Array:
    array = np.asarray(value, dtype=np.float64)
    if array.shape != (len(seen), 3, 3):
        raise InputError(
            f'station "{label}"', "the covariances", f"have the shape ({len(seen)}, 3, 3)", f"{array.shape}",
            "Give one 3 by 3 block a tie point.",
        )  # fmt: skip
    for name, block in zip(seen, array):
        ok = np.isfinite(block).all() and np.allclose(block, block.T, rtol=1e-9, atol=0)
        least = np.linalg.eigvalsh(block)[0] if ok else np.nan
        if not least > 0:
            raise InputError(
                f'station "{label}", tie point "{name}"', "the covariance", "be symmetric and positive definite",
                f"a smallest eigenvalue of {least:.3g}", "Give every direction a standard uncertainty above zero.",
            )  # fmt: skip
    return array
