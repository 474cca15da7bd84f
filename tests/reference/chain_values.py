"""The numbers behind measurands, for comparing chains: one characteristic a requirement, without any statement."""

import numpy as np

from trysquare.geometry import zone_width


def characteristic(m):
    """The number (..., k) of a measurand: several local sizes, or the zone, diameter or size itself, mm or rad."""
    if m.kind == "smooth":
        return m.vectors[0]
    if m.kind == "magnitude":
        return m.scale * np.max([np.linalg.norm(v, axis=-1) for v in m.vectors], axis=0)[..., None]
    held = np.zeros((0, 2)) if m.directions is None else m.directions
    free = np.eye(2) if not len(held) else np.linalg.svd(held)[2][len(held) :]
    return zone_width(np.column_stack([np.ones(len(m.uv_mm)), m.uv_mm @ free.T]), m.heights_mm)[..., None]


def ordered(values):
    """Local sizes in rising order: pairs of points may be listed in any."""
    return {id_: np.sort(x, axis=-1) for id_, x in values.items()}
