"""Compiled sums of the smooth field, and points of polar readings. Serial: every draw alone, in one order."""

import math

from ..core.compiled import kernel


@kernel()
def polar_points(obs, out):
    """out (n, 3): points at azimuth, elevation (rad) and range (mm) obs (n, 3)."""
    for i in range(obs.shape[0]):
        azimuth, elevation, distance = obs[i, 0], obs[i, 1], obs[i, 2]
        across = distance * math.cos(elevation)
        out[i, 0] = across * math.cos(azimuth)
        out[i, 1] = across * math.sin(azimuth)
        out[i, 2] = distance * math.sin(elevation)


@kernel()
def sum_waves(weights, table, out):
    """out (d, 3, n) = weights (d, 3, waves) times table (waves, n), wave after wave."""
    for d in range(weights.shape[0]):
        for axis in range(3):
            row = out[d, axis]
            row[:] = 0.0
            for wave in range(table.shape[0]):
                w, line = weights[d, axis, wave], table[wave]
                for i in range(row.shape[0]):
                    row[i] += w * line[i]
