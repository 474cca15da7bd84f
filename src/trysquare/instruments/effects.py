"""What every model of an instrument shares: sources that act on readings in proportion to known sensitivities."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from ..chance.sources import Draws, Source
from ..core.arrays import Array
from ..core.errors import InputError
from .base import Sighting
from .parameters import Parameter, require

#: Scopes whose draws end with the station: their sources carry its name.
WITHIN_STATION = ("reading", "point", "aim", "pose", "view", "station")
#: Scopes whose draws differ from reading to reading: they make the weights of a tie.
VARYING = ("reading", "point", "aim", "pose", "view")


@dataclass(frozen=True)
class Effect:
    """One source and what it does: `per_unit` (n, c, 3) is the error of each observation for one unit of each of its
    c independent components, which `labels` names."""

    source: Source
    labels: tuple[str, ...]
    per_unit: Array


def source_of(parameter: Parameter, label: str, instrument: str, station: str, action: str) -> Source:
    """The parameter's source, named after the station or the instrument, with the model's advice where it has none."""
    owner = f"station {station}" if parameter.scope in WITHIN_STATION else instrument
    source = replace(parameter.source(f"{owner}: {label}"), doubt=f"{instrument}: {label}")
    return source if source.action else replace(source, action=action)


def keys(sighting: Sighting, scope: str) -> tuple[str, ...]:
    """What shares one draw, for each reading. Raises `InputError` for a scope that no reading of points has."""
    n = len(sighting)
    known = {
        "reading": sighting.ids, "pose": sighting.ids, "view": sighting.ids, "aim": sighting.aims,
        "point": sighting.aims, "station": (sighting.station,) * n, "instrument": (sighting.instrument,) * n,
        "target": sighting.targets, "day": ("day",) * n,
    }  # fmt: skip
    if scope not in known:
        raise InputError(
            f'instrument "{sighting.instrument}"', "the scope of a source", f"be one of {', '.join(known)}", scope,
            "Say what shares one error.",
        )  # fmt: skip
    return known[scope]


def check(
    parameters: Mapping[str, Parameter], needed: Mapping[str, str], optional: Mapping[str, str], where: str
) -> None:
    """Raise `InputError` for a parameter that is missing, unknown or in another unit than the model's."""
    require(parameters, tuple(needed), where=where)
    units = {**needed, **optional}
    for name, parameter in parameters.items():
        if name not in units:
            raise InputError(where, f'the parameter "{name}"', f"be one of {', '.join(units)}", name, "Correct it.")
        if parameter.unit != units[name]:
            raise InputError(
                where, f'the unit of "{name}"', f'be "{units[name]}"', f'"{parameter.unit}"', "Convert the figure."
            )


def wanted(source: Source, draws: Draws) -> bool:
    """Whether this source moves anything in these draws."""
    return source.u > 0 and (draws.only is None or source.name in draws.only)


def components(source: Source, labels: tuple[str, ...], distinct: Iterable[str], draws: Draws) -> Array:
    """Errors (draws, keys, components) of a source with several independent components."""
    names = [f"{key}\x1f{label}" for key in distinct for label in labels]
    return draws.of(source, names).reshape(len(draws), -1, len(labels))


def errors_of(effects: Iterable[Effect], sighting: Sighting, draws: Draws) -> Array:
    """Sum of all effects, (draws, n, 3). Each draw is computed alone, so batches change no digit."""
    total = [np.zeros((len(draws), len(sighting))) for _ in range(3)]
    for effect in effects:
        if not wanted(effect.source, draws):
            continue
        each = keys(sighting, effect.source.scope)
        distinct = list(dict.fromkeys(each))
        z = components(effect.source, effect.labels, distinct, draws)
        place = {key: i for i, key in enumerate(distinct)}
        _add(total, z, [place[key] for key in each], effect.per_unit)
    return np.stack(total, axis=-1)


def _add(total: list[Array], z: Array, index: list[int], per_unit: Array) -> None:
    """Add components z (draws, keys, c), spread over the readings by `index`, where they move an observation at all.

    `total` holds the errors (draws, n) of each coordinate: side by side they add up several times faster.
    """
    spread = z.shape[1] > 1 and index != list(range(z.shape[1]))
    for c in range(z.shape[2]):
        each = z[:, index, c] if spread else z[:, :, c]
        for i in range(3):
            if per_unit[:, c, i].any():
                total[i] += each * per_unit[:, c, i]


def spread_of(effects: Iterable[Effect], n: int) -> Array:
    """Standard uncertainty (n, 3) of each observation from the sources that differ between readings."""
    variance = np.zeros((n, 3))
    for effect in effects:
        if effect.source.scope in VARYING:
            variance += (effect.source.u * effect.per_unit**2 * effect.source.u).sum(1)
    return np.sqrt(variance)
