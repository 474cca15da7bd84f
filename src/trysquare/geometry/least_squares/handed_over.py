"""Members that the fast descent finds hard, handed over to the one on the surface, which keeps its digits there."""

from dataclasses import replace

import numpy as np

from ...core.arrays import Array
from ..kernels.turn_rows import BALL, RING
from .descent import Descent
from .held import Held
from .results import NO_DECREASE
from .revolved import settle_batch
from .revolved_parameters import parameters
from .surfaces import inverse

_HARD = 0.03  # sine between one column of the Jacobian and the others below which a member is handed over
_FREE = Held(0, np.zeros((1, 6)))


def handed_over(kind: int, done: Descent, P: Array, toward: Array | None) -> tuple[Descent, Array | None]:
    """`done` with its hard members fitted anew; a member keeps the lower of the two minima. With it the cofactors
    (m, k, k) of all members where some were handed over: those of short arcs are lost in the normal equations.
    """
    hard = np.flatnonzero((done.code > NO_DECREASE) | (done.ratio < _HARD))
    hard = hard[done.extent[hard] > 1e-14 * np.abs(P[hard, 0]).max(1)]
    if not len(hard):
        return done, None
    hints = toward if toward is None or len(toward) == 1 else toward[hard]
    again = settle_batch(kind, P[hard], np.ones((1, P.shape[1])), _FREE, hints)
    before, after = np.square(done.residuals[hard]).sum((1, 2)), np.square(again.residuals).sum((1, 2))
    rounding = P.shape[1] * np.square(1e-12 * again.extent)
    lower = (after <= before * (1 + 1e-6) + rounding) | (done.code[hard] > NO_DECREASE)
    chosen = (again.code <= NO_DECREASE) & lower
    if not chosen.any():
        return done, None
    p = parameters(again)
    at, mine = hard[chosen], np.flatnonzero(chosen)
    states, residuals, normal = done.states.copy(), done.residuals.copy(), done.normal.copy()
    states[at, :3], states[at, 12] = p.at[mine], p.radius[mine]
    if kind not in (RING, BALL):
        states[at, 3:12] = p.frame[mine].reshape(-1, 9)
    residuals[at], normal[at] = p.residuals[mine], inverse(p.cofactor[mine])
    code, ratio, rival, passes = done.code.copy(), done.ratio.copy(), done.rival.copy(), done.passes.copy()
    code[at], ratio[at] = again.code[mine], again.sine[mine]
    rival[at], passes[at] = again.rival[mine], done.passes[at] + again.passes[mine]
    new = replace(
        done, states=states, residuals=residuals, normal=normal, code=code, ratio=ratio, rival=rival, passes=passes
    )
    easy = new.code <= NO_DECREASE
    easy[at] = False
    cofactor = np.full_like(normal, np.nan)
    cofactor[easy] = np.linalg.inv(normal[easy])
    cofactor[at] = p.cofactor[mine]
    return new, cofactor
