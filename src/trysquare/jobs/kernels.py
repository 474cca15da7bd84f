"""Compiled means of repeats. Serial: every draw alone, in one order."""

from ..core.compiled import kernel


@kernel()
def means(readings, order, starts, counts, out):
    """out (m, aims, 3): means of readings (m, n, 3); aim j has the counts[j] readings order[starts[j]], .."""
    for m in range(readings.shape[0]):
        for j in range(starts.shape[0]):
            x, y, z = 0.0, 0.0, 0.0
            for i in range(starts[j], starts[j] + counts[j]):
                row = readings[m, order[i]]
                x, y, z = x + row[0], y + row[1], z + row[2]
            out[m, j, 0], out[m, j, 1], out[m, j, 2] = x / counts[j], y / counts[j], z / counts[j]
