"""Compiled sums of the smooth field. Serial: every draw is summed alone, in one order."""

from ..core.compiled import kernel


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
