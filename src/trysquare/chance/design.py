"""An orthogonal design in place of draws: what sources of few streams do to a nearly linear chain, without chance.

A source that acts through one error (a ball's radius, the temperature of the day), or through a few, moves every result
in proportion to them. Its variance needs a run with each error at plus or minus its standard uncertainty, not hundreds
of draws; and one run serves all such sources, as every stream follows a column of its own of a Hadamard matrix (J. J.
Sylvester, Phil. Mag. 34 (1867) 461) and the columns are orthogonal. The matrix is followed by its mirror image, which
keeps products of two errors out of what single ones do (foldover: G. E. P. Box and K. B. Wilson, J. R. Stat. Soc. B 13
(1951) 1).
"""

import math
from collections.abc import Collection, Sequence
from functools import cache

import numpy as np

from ..core.arrays import Array
from .sources import Draws, Source

#: Rows of the matrix; with its mirror image twice as many.
_ORDER = 128
ROWS = 2 * _ORDER
#: A source with more streams than this is left to draws.
FEW = 15


class Design(Draws):
    """Used like `Draws`, for one run in which the sources `only` act, those of few streams.

    Streams take columns in the order in which they are first asked for. `many` names the sources that stand still: more
    than 15 streams, two degrees of freedom or fewer (no variance), or no column left.
    """

    def __init__(self, only: Collection[str]) -> None:
        super().__init__(0, 0, ROWS, only=only)
        self.many: set[str] = set()
        self._columns: dict[str, dict[str, int]] = {}

    def of(self, source: Source, keys: Sequence[str]) -> Array:
        """Errors of `source`, shape (rows, len(keys)), in its unit; equal keys share a column."""
        if source.u == 0 or self.only is None or source.name not in self.only or not self._take(source, keys):
            return np.zeros((ROWS, len(keys)))
        taken = self._columns[source.name]
        # an error whose size is in doubt is Student distributed: its variance is larger by this factor
        wider = source.dof / (source.dof - 2) if math.isfinite(source.dof) else 1.0
        return source.u * math.sqrt(wider) * _columns()[:, [taken[key] for key in keys]]

    def alone(self, names: Collection[str], results: Array) -> Array:
        """What the sources `names` do alone, from the results (rows, K) of the run.

        (n, K) with mean zero; its variance (n - 1 in the divisor) is that of the results when only these sources act.
        """
        mine = _columns()[:, [i for name in names for i in self._columns.get(name, {}).values()]]
        effects = mine.T @ results / (ROWS - 1)
        if not len(effects):
            return np.zeros((2, results.shape[1]))
        return np.concatenate([effects, -effects]) * math.sqrt(len(effects) - 0.5)

    def _take(self, source: Source, keys: Sequence[str]) -> bool:
        """Give every new stream a column; False, from now on, for a source that the design cannot serve."""
        taken = self._columns.setdefault(source.name, {})
        new = [key for key in dict.fromkeys(keys) if key not in taken]
        used = sum(map(len, self._columns.values()))
        if source.name in self.many or source.dof <= 2 or len(taken) + len(new) > FEW or used + len(new) >= _ORDER:
            self.many.add(source.name)
            return False
        taken.update({key: used + i for i, key in enumerate(new)})
        return True


@cache
def _columns() -> Array:
    """Orthogonal columns (rows, order - 1) of mean zero and variance 1."""
    H = np.ones((1, 1))
    while len(H) < _ORDER:
        H = np.block([[H, H], [H, -H]])
    return np.concatenate([H, -H])[:, 1:] * math.sqrt((ROWS - 1) / ROWS)
