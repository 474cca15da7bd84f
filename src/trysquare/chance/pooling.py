"""What is known of a noise once a field check has been made: declaration and check, pooled or at odds.

A declared (s0, nu0) is worth nu0 degrees of freedom, 1 / (2 r^2) for a relative doubt r (GUM G.4.2); a check of
repeat readings gives (s, nu). The pooled figure is the posterior of an inverse-gamma prior: nu' = nu0 + nu,
s'^2 = (nu0 s0^2 + nu s^2) / nu'; errors are then Student distributed with nu'. Were both right, s^2 / s0^2 would be
F distributed with (nu, nu0): where that has p < 0.01 on two sides they are at odds, and the check alone counts.
"""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array
from ..core.errors import InputError
from .sources import Source

#: Below this two-sided p the check contradicts the declaration.
AT_ODDS = 0.01


@dataclass(frozen=True, eq=False)
class Pooled:
    """The noise to use, (...): `s` with `dof` degrees of freedom; `p` of the check if the declaration were right."""

    s: Array
    dof: Array
    p: Array
    at_odds: npt.NDArray[np.bool_]


def pool(s0: npt.ArrayLike, dof0: npt.ArrayLike, s: npt.ArrayLike, dof: npt.ArrayLike) -> Pooled:
    """Pool declared noise (s0, dof0) with that of a field check (s, dof); arguments broadcast, any one unit.

    `dof0` may be infinite: known exactly, so that a check can only confirm or contradict it.

    Raises
    ------
    InputError : a deviation or degrees of freedom that is not above zero.
    """
    from scipy.special import chdtr, chdtrc, fdtr, fdtrc

    s0, dof0, s, dof = np.broadcast_arrays(*(np.asarray(x, dtype=np.float64) for x in (s0, dof0, s, dof)))
    for name, x in (("s0", s0), ("dof0", dof0), ("s", s), ("dof", dof)):
        if not (x > 0).all() or (name != "dof0" and not np.isfinite(x).all()):
            raise InputError(
                "pooling", name, "be above zero and finite", f"{x}", "Repeat the check with more readings."
            )
    ratio, known = (s / s0) ** 2, np.isinf(dof0)
    nu0 = np.where(known, 1.0, dof0)
    below = np.where(known, chdtr(dof, dof * ratio), fdtr(dof, nu0, ratio))
    above = np.where(known, chdtrc(dof, dof * ratio), fdtrc(dof, nu0, ratio))
    p = 2.0 * np.minimum(0.5, np.minimum(below, above))
    at_odds = p < AT_ODDS
    both = np.where(known, s0, np.sqrt((nu0 * s0**2 + dof * s**2) / (nu0 + dof)))
    return Pooled(np.where(at_odds, s, both), np.where(at_odds, dof, dof0 + dof), p, at_odds)


def pooled_source(source: Source, s: float, dof: float) -> tuple[Source, str]:
    """`source` after a field check with (s, dof) in its unit, and one sentence that says what was done."""
    found = pool(source.u, source.dof, s, dof)
    u, nu, p = float(found.s), float(found.dof), float(found.p)
    check = f"the field check gave {s:.3g} {source.unit} with {dof:g} degrees of freedom"
    if bool(found.at_odds):
        text = (
            f"{source.name}: {check}, at odds with the declared {source.u:.3g} (p = {p:.2g}): the check alone is used."
        )
        origin = f"field check alone, at odds with: {source.origin}"
    else:
        text = f"{source.name}: {check}, which agrees with the declared {source.u:.3g} (p = {p:.2g}): now {u:.3g}."
        origin = f"{source.origin}, pooled with a field check"
    return replace(source, u=u, dof=nu, origin=origin), text
