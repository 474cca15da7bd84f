"""The general way of a fit: weights, parts held, robust losses; circles, spheres, cylinders, cones and tori."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ..kernels.turn_rows import HOOP
from .evidence import Evidence
from .held import Held, read_weights
from .refusals import refuse
from .results import HELD, LIMIT, NO_DECREASE, STOPS
from .revolved import Settled, settle_batch
from .revolved_parameters import Parameters, parameters
from .robust import Reweighted, check_loss, reweighted

_FREE = {0: 3, 1: 4, 2: 5, 3: 6, 4: 6, 5: 7}


@dataclass(frozen=True)
class Asked:
    """A fit that is asked for: kind of kernels.turn_rows, points (m, n, 3), their leading axes, and the options."""

    kind: int
    where: str
    P: Array
    lead: tuple[int, ...]
    held: Held
    weights: npt.ArrayLike | None
    toward: Array | None
    loss: str
    least: int

    @property
    def plain(self) -> bool:
        """Neither weights nor parts held nor a robust loss."""
        return self.weights is None and not self.held.bits and self.loss == "squares"


@dataclass(frozen=True)
class Answer:
    """Parameters of every member, and the fields that all fits share."""

    parameters: Parameters
    fields: dict[str, Any]
    bad: npt.NDArray[np.bool_]
    lead: tuple[int, ...]

    def shaped(self, array: Array) -> Any:
        """The array (m, ...) with the leading axes back, NaN where the fit failed."""
        return with_lead(array, self.bad, self.lead)


def with_lead(array: Array, bad: npt.NDArray[np.bool_], lead: tuple[int, ...]) -> Any:
    """The array (m, ...) with the leading axes back, NaN where a member is bad."""
    if bad.any():
        array = array.copy()
        array[bad] = np.nan
    return array.reshape((*lead, *array.shape[1:]))[()]


@dataclass(frozen=True)
class _Weighted:
    """What `reweighted` looks at."""

    done: Settled

    @property
    def magnitudes(self) -> Array:
        e = self.done.residuals
        return np.hypot(e[:, 0], e[:, 1]) if self.done.kind == HOOP else np.abs(e[:, 0])

    @property
    def extent(self) -> Array:
        return self.done.extent


def fit_surface(asked: Asked) -> Answer:
    """Fit, refuse what cannot be, and hand back parameters with the common fields.

    Raises
    ------
    InputError, RankError, ConvergenceError : as the public fits.
    """
    check_loss(asked.loss, asked.where)
    P, n = asked.P, asked.P.shape[1]
    W = read_weights(asked.weights, asked.lead, n, asked.least, asked.where)
    hint = asked.held.axis if asked.held.axis is not None else asked.toward
    done, robust = _settled(asked, W, hint)
    p = parameters(done, asked.held.bits)
    bad = done.code > NO_DECREASE
    code = done.code if robust is None else np.where(~bad & ~robust.settled, LIMIT, done.code)
    fields = _fields(asked, done, p, robust, W)
    if asked.weights is not None and robust is None:
        fields["alike"] = _alike(asked, done, W, hint)
    used = W[0] > 0
    if robust is not None and not bad[0]:
        used &= ~robust.set_aside[0]
    doubts = refuse(
        Evidence(
            kind=asked.kind, code=int(done.code[0]), failed=bool(bad.all()), passes=int(done.passes[0]),
            ratio=float(done.sine[0]), extent=float(done.extent[0]), rival=float(done.rival[0]), at=p.at[0],
            frame=p.frame[0], radius=float(p.radius[0]), more=float(p.more[0]), cofactor=p.cofactor[0],
            sd=_sd(asked, done, fields, robust), points=P[0][used], held=asked.held.names,
        ),
        asked.where, single=not asked.lead, guided=hint is not None,
    )  # fmt: skip
    passes = done.passes if robust is None else np.full_like(done.passes, robust.rounds)
    names = {"rank": done.rank, "iterations": passes, "stopped": np.array(STOPS)[code]}
    shared = {name: value.reshape(asked.lead)[()] for name, value in names.items()}
    return Answer(p, fields | shared | {"doubts": doubts}, bad, asked.lead)


def _settled(asked: Asked, W: Array, hint: Array | None) -> tuple[Settled, Reweighted | None]:
    P = asked.P

    def solve(weight: Array, before: _Weighted | None) -> _Weighted:
        starts = None if before is None else before.done.placed
        return _Weighted(settle_batch(asked.kind, P, weight, asked.held, hint, starts=starts))

    if asked.loss == "squares":
        return solve(W, None).done, None
    free = _FREE[asked.kind] - _count(asked)
    call: Callable[[Array, _Weighted | None], _Weighted] = solve
    done, robust = reweighted(
        asked.loss, call, np.broadcast_to(W, P.shape[:2]), free, coordinates=2 if asked.kind == HOOP else 1
    )
    look = settle_batch(asked.kind, P, W, asked.held, hint, starts=done.done.placed, passes=0)
    code = done.done.code
    return Settled(
        look.kind, look.states, look.middles, look.residuals, look.spread, code, done.done.passes, look.sine,
        look.extent, look.rival, look.free, look.rank,
    ), robust  # fmt: skip


def _alike(asked: Asked, done: Settled, W: Array, hint: Array | None) -> Array:
    """N^-1 J' W^2 J N^-1 (..., k, k): covariance when all points are known alike, whatever their weights."""
    look = settle_batch(asked.kind, asked.P, W * W, asked.held, hint, starts=done.placed, passes=0)
    scale = np.sqrt(np.diagonal(look.spread, axis1=1, axis2=2))
    with np.errstate(all="ignore"):
        D = np.where(scale > 0, 1 / scale, 0.0)
    unit = np.nan_to_num(look.spread * D[:, :, None] * D[:, None, :], nan=0.0, posinf=0.0, neginf=0.0)
    S = done.spread * D[:, None, :]
    between = S @ np.linalg.pinv(unit, rcond=1e-10, hermitian=True) @ np.swapaxes(S, 1, 2)
    cofactor = parameters(replace(done, spread=between), asked.held.bits).cofactor
    return cofactor.reshape(*asked.lead, *cofactor.shape[1:])


def _count(asked: Asked) -> int:
    return sum(HELD[name] for name in asked.held.names)


def _sd(asked: Asked, done: Settled, fields: dict[str, Any], robust: Reweighted | None) -> float | None:
    """Standard deviation of a point of the first member; None without degrees of freedom."""
    if robust is not None:
        return float(robust.point_u[0])
    W = read_weights(asked.weights, asked.lead, asked.P.shape[1], asked.least, asked.where)[0]
    e = done.residuals[0]
    freedom = int((W > 0).sum()) * len(e) - int(done.free[0])
    return float(np.sqrt((W * np.square(e)).sum() / freedom)) if freedom > 0 else None


def _fields(asked: Asked, done: Settled, p: Parameters, robust: Reweighted | None, W: Array) -> dict[str, Any]:
    bad, lead = done.code > NO_DECREASE, asked.lead
    e = p.residuals
    residuals = np.copysign(np.hypot(e[:, 0], e[:, 1]), e[:, 0]) if asked.kind == HOOP else e[:, 0]
    k = p.cofactor.shape[-1]
    fields: dict[str, Any] = {
        "residuals_mm": with_lead(residuals, bad, lead),
        "frame": p.frame.reshape(*lead, 3, 3),
        "cofactor": p.cofactor.reshape(*lead, k, k),
        "normal_matrix": inverse(p.cofactor).reshape(*lead, k, k),
        "held": asked.held.names,
        "loss": asked.loss,
    }
    if robust is not None:
        fields["weights"] = (W * robust.weights).reshape(*lead, -1)
        fields["set_aside"] = robust.set_aside.reshape(*lead, -1)
        fields["scale_mm"] = with_lead(robust.scale, bad, lead)
        fields["point_u_mm"] = with_lead(robust.point_u, bad, lead)
    elif asked.weights is not None:
        fields["weights"] = W[0] if len(W) == 1 else W.reshape(*lead, -1)
    return fields


def inverse(cofactor: Array) -> Array:
    """Inverse (m, k, k) over what is not held; NaN where there is none."""
    free = np.flatnonzero(np.nanmax(np.diagonal(cofactor, axis1=1, axis2=2), 0, initial=0.0) > 0)
    out = np.zeros_like(cofactor)
    if not len(free):
        return out
    part = cofactor[:, free[:, None], free]
    with np.errstate(all="ignore"):
        scale = np.sqrt(np.diagonal(part, axis1=1, axis2=2))
        unit = part / (scale[:, :, None] * scale[:, None, :])
    good = np.isfinite(unit).all((1, 2))
    inverse = np.linalg.pinv(np.where(good[:, None, None], unit, 0.0), hermitian=True)
    with np.errstate(all="ignore"):
        out[:, free[:, None], free] = inverse / (scale[:, :, None] * scale[:, None, :])
    out[~good] = np.nan
    return out
