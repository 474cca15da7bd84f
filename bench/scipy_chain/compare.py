"""Our chain beside the rival: the same draws told to both, and the plain numbers behind our measurands."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from trysquare.chance.sources import Draws
from trysquare.geometry import zone_width
from trysquare.instruments.hand import WORDS, HandTool
from trysquare.jobs.chain import Chain
from trysquare.jobs.job import HandSet
from trysquare.surroundings.heat import heat_errors
from trysquare.tolerances.measurand import Measurand

from .chain import Given, Rival
from .shapes import Array


def characteristic(m: Measurand) -> Array:
    """The number (..., k) of a measurand: several local sizes, or the zone, diameter or size itself, mm or rad."""
    if m.kind == "smooth":
        return m.vectors[0]
    if m.kind in ("magnitude", "place"):
        length = m.scale * np.max([np.linalg.norm(v, axis=-1) for v in m.vectors], axis=0)[..., None]
        return length if m.less_from is None else m.less_from - length
    held = np.zeros((0, 2)) if m.directions is None else m.directions
    free = np.eye(2) if not len(held) else np.linalg.svd(held)[2][len(held) :]
    return zone_width(np.column_stack([np.ones(len(m.uv_mm)), m.uv_mm @ free.T]), m.heights_mm)[..., None]


def ordered(values: Mapping[str, Array]) -> dict[str, Array]:
    """Local sizes in rising order: pairs of points may be listed in any."""
    return {id_: np.sort(x, axis=-1) for id_, x in values.items()}


def told(chain: Chain, rival: Rival, draws: Draws) -> list[Given]:
    """What each of our draws is, for the rival: readings, offsets, heat and hand tools with their errors."""
    plain, job = rival.given(), chain.job
    obs = [chain.points.readings(setup, draws) for setup in chain.points.setups]
    offset, centring = chain.points.offsets.along_normal(draws), [s.centring.errors(draws) for s in chain.points.setups]
    heat = {name: heat_errors(zone, draws) for name, zone in job.zones.items()}
    hand = [_by_hand(rival.tools[h.instrument], h, plain.hand[i], draws) for i, h in enumerate(job.hand)]
    return [
        replace(
            plain, obs=[o[d] for o in obs], offset_mm=plain.offset_mm + offset[d], centring_mm=[c[d] for c in centring],
            heat={n: (h["alpha"][d], h["temperature_degC"][d]) for n, h in heat.items()},
            hand=[tuple(x[d] for x in h) for h in hand],
        )
        for d in range(len(draws))
    ]  # fmt: skip


def _by_hand(tool: HandTool, hand: HandSet, plain: tuple[Array, float, float], draws: Draws) -> tuple[Any, Any, Any]:
    """Readings, expansion and warmth of a tool in every draw, from the streams of its sources and what shares them."""
    values, alpha, warmer = plain
    ids = [f"{hand.file}:{line}" for line in hand.lines]
    places = [f"{r}/{p}" for r, p in zip(hand.requirement, hand.place, strict=True)]
    sources = {s.name.removeprefix(f"{tool.name}: "): s for s in tool.sources()}
    keys = {"repeatability": ids, "resolution": ids, "indication_local": places, "feel": ["operator"]}

    def drawn(parameter: str) -> Any:
        source = sources.get(WORDS[parameter][0])
        return 0.0 if source is None else draws.of(source, keys.get(parameter, [tool.name]))

    read = values + sum(drawn(p) for p in (*keys, "indication", "setting")) + drawn("indication_proportional") * values
    alphas, warm = (
        np.broadcast_to(x + drawn(p), (len(draws), 1))[:, 0]
        for x, p in ((alpha, "tool_expansion"), (warmer, "tool_temperature"))
    )
    return read, alphas, warm
