"""Hand tools in the chain: readings that land directly on a requirement, brought to 20 degC, repeats averaged."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..chance.sources import Draws, Source
from ..core.arrays import Array
from ..instruments.hand import HandTool
from ..surroundings.heat import REFERENCE_DEGC, heat_errors, heat_sources
from ..tolerances.measurand import Measurand
from .job import HandSet, Job, Zone


@dataclass(frozen=True)
class Batch:
    """Rows of one tool that share a zone; `temperature_degC` (n,) of the part at each, `lines` (n,) of `file`."""

    tool: HandTool
    zone: Zone
    requirements: tuple[str, ...]
    places: tuple[str, ...]
    ids: tuple[str, ...]
    value_mm: Array
    temperature_degC: Array
    file: str
    lines: tuple[int, ...]

    @property
    def keys(self) -> list[tuple[str, str]]:
        """Requirement and place of each row: repeats share them."""
        return list(zip(self.requirements, self.places, strict=True))


class HandChain:
    """All hand readings of a job; `requirements` are the ids that they decide."""

    def __init__(self, job: Job, tools: Mapping[str, HandTool]) -> None:
        zones = {r.id: job.features[r.on[0]].zone for r in job.requirements}
        self.batches = [b for hand in job.hand for b in _batches(hand, tools[hand.instrument], job, zones)]
        self.requirements = frozenset(id_ for batch in self.batches for id_ in batch.requirements)

    @cached_property
    def sources(self) -> tuple[Source, ...]:
        """Sources of the tools and of the zones they measured."""
        return tuple(source for batch in self.batches for source in (*batch.tool.sources(), *heat_sources(batch.zone)))

    def tools_of(self, requirement: str) -> list[str]:
        """Names of the tools whose readings decide a requirement."""
        return list(dict.fromkeys(b.tool.name for b in self.batches if requirement in b.requirements))

    def run(self, draws: Draws | None = None) -> dict[str, Measurand]:
        """One measurand a requirement: a local size for each place, (m,) or (draws, m) mm at 20 degC."""
        found: dict[str, list[Array]] = {}
        for batch in self.batches:
            found_mm = lengths(batch, draws)
            rows: dict[tuple[str, str], list[int]] = {}
            for i, key in enumerate(batch.keys):
                rows.setdefault(key, []).append(i)
            for (id_, _), mine in rows.items():
                found.setdefault(id_, []).append(found_mm[..., mine].mean(-1))
        return {id_: Measurand("smooth", (np.stack(sizes, axis=-1),)) for id_, sizes in found.items()}


def lengths(batch: Batch, draws: Draws | None = None) -> Array:
    """Readings of a batch at 20 degC, (n,) mm, or with the errors of tool and temperature, (draws, n)."""
    alpha = batch.zone.alpha
    value = batch.tool.lengths(batch.value_mm, part_alpha=alpha, part_temperature_degC=batch.temperature_degC)
    if draws is None:
        return value
    heat = heat_errors(batch.zone, draws)
    declared = REFERENCE_DEGC if batch.zone.temperature_degC is None else batch.zone.temperature_degC
    return value + batch.tool.length_errors(
        batch.value_mm,
        batch.ids,
        draws,
        places=[f"{r}/{p}" for r, p in batch.keys],
        part_alpha=alpha,
        part_temperature_degC=batch.temperature_degC,
        part_alpha_errors=heat["alpha"] - alpha,
        part_temperature_errors=heat["temperature_degC"] - declared,
    )


def _batches(hand: HandSet, tool: HandTool, job: Job, zones: Mapping[str, str]) -> list[Batch]:
    names = [zones[r] for r in hand.requirement]
    out = []
    for name in dict.fromkeys(names):
        rows = [i for i, n in enumerate(names) if n == name]
        zone = job.zones[name]
        declared = REFERENCE_DEGC if zone.temperature_degC is None else zone.temperature_degC
        read = hand.temperature_degC[rows]
        out.append(
            Batch(
                tool, zone, tuple(hand.requirement[i] for i in rows), tuple(hand.place[i] for i in rows),
                tuple(f"{hand.file}:{hand.lines[i]}" for i in rows), hand.value_mm[rows],
                np.where(np.isnan(read), declared, read), hand.file, tuple(int(hand.lines[i]) for i in rows),
            )
        )  # fmt: skip
    return out
