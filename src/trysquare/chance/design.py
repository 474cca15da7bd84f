"""An orthogonal design in place of draws: what a source of few streams does to a nearly linear chain, without chance.

A source that acts through one error (a ball's radius, the temperature of the day), or through a few, moves every result
in proportion to them. Its variance needs a few runs with each error at plus or minus its standard uncertainty, not
hundreds of draws. Every stream of the source follows one column of a Hadamard matrix of 16 rows (J. J. Sylvester,
Phil. Mag. 34 (1867) 461); columns are orthogonal, so that the variances of what the streams do add up.
"""

import math
from collections.abc import Collection, Sequence
from functools import cache

import numpy as np

from ..core.arrays import Array
from .sources import Draws, Source

ROWS = 16


class ManyStreams(Exception):  # noqa: N818 - no error: the caller takes draws instead
    """The sources have more streams than the design has columns, or one without a variance."""


class Design(Draws):
    """Used like `Draws` of the named sources: 16 rows whose variances (n - 1 in the divisor) are those of the streams.

    Only for one run: streams take columns in the order in which they are first asked for.
    """

    def __init__(self, only: Collection[str]) -> None:
        super().__init__(0, 0, ROWS, only=only)
        self._taken: dict[tuple[str, str], int] = {}

    def of(self, source: Source, keys: Sequence[str]) -> Array:
        """Errors of `source`, shape (16, len(keys)), in its unit; equal keys share a column.

        Raises
        ------
        ManyStreams : a sixteenth stream, or two degrees of freedom or fewer.
        """
        if source.u == 0 or self.only is None or source.name not in self.only:
            return np.zeros((ROWS, len(keys)))
        if source.dof <= 2:
            raise ManyStreams
        index = [self._taken.setdefault((source.name, key), len(self._taken)) for key in keys]
        if len(self._taken) >= ROWS:
            raise ManyStreams
        # an error whose size is in doubt is Student distributed: its variance is larger by this factor
        wider = source.dof / (source.dof - 2) if math.isfinite(source.dof) else 1.0
        return source.u * math.sqrt(wider) * _columns()[:, index]


@cache
def _columns() -> Array:
    """15 orthogonal columns (16, 15) of mean zero and variance 1."""
    H = np.ones((1, 1))
    while len(H) < ROWS:
        H = np.block([[H, H], [H, -H]])
    return H[:, 1:] * math.sqrt((ROWS - 1) / ROWS)
