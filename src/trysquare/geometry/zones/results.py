"""What a minimum zone or a touching (inscribed, circumscribed, tangent) shape gives back, and the proof that it is one.

Every array carries the leading axes of the points; without any, plain scalars.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array

GLOBAL = "global"
NONE = "none"
#: Why a member of a batch stopped.
STOPS = (
    "width meets its bound",
    "no further decrease",
    "directions left open",
    "iteration limit",
)
MET, NO_DECREASE, OPEN, LIMIT = range(4)


def local(starts: int) -> str:
    """The word for an optimum that is proven near itself only."""
    return f"local, best of {starts} starts" if starts > 1 else "local, one start"


@dataclass(frozen=True, kw_only=True)
class Certificate:
    """What proves an optimum.

    `kind` (...) is "global" (nothing better exists), "local, best of n starts" (`local(n)`: nothing better near it), or
    "none" for a member that could not be solved. `gap_mm` (...) is the width (for a touching shape: what was made small
    or large) less a proven bound of the same scope as `kind`: nothing but rounding at an optimum, inf where nothing
    could be proven. `contacts` (..., c) are the indices of the points that hold the shape, -1 where a place is free;
    `sides` (..., c) the side each touches: +1 outer (the normal's side, outside), -1 inner, 0 where free. `proof` says
    in one sentence how the bound follows.
    """

    kind: npt.NDArray[np.str_]
    gap_mm: Array
    contacts: npt.NDArray[np.int64]
    sides: npt.NDArray[np.int8]
    proof: str


@dataclass(frozen=True, kw_only=True)
class ZoneFit:
    """A zone, or a shape that touches the points from one side.

    `width_mm` (...) of the zone (for a zone about an axis: the diameter of the cylinder; for a touching shape: the
    largest distance of a point from it). `residuals_mm` (..., n) are distances from the middle of the zone or from the
    touching surface, positive on the normal's side or outside. Of the parameters those that apply are set, with the
    meaning of the least-squares results: `point_mm` (..., d), `direction` (..., d), `normal` (..., d), `center_mm`
    (..., d), `radius_mm` (...); `parameters` gives them by name. `iterations` (...);
    `stopped` (...) is one of `STOPS`.

    In a batch a member that could not be solved has NaN width, parameters and residuals, the kind "none", the gap inf,
    contacts -1 and sides 0, and its `stopped` says why.
    """

    PARAMETERS: ClassVar[tuple[str, ...]] = ("point_mm", "direction", "normal", "center_mm", "radius_mm")

    width_mm: Array
    residuals_mm: Array
    certificate: Certificate
    iterations: npt.NDArray[np.int64]
    stopped: npt.NDArray[np.str_]
    point_mm: Array | None = None
    direction: Array | None = None
    normal: Array | None = None
    center_mm: Array | None = None
    radius_mm: Array | None = None

    @property
    def ok(self) -> npt.NDArray[np.bool_]:
        """Members (...) that reached an optimum."""
        return np.isin(self.stopped, STOPS[:OPEN])[()]

    @property
    def form_mm(self) -> Array:
        """Width (...) of the zone: the form deviation."""
        return self.width_mm

    @property
    def parameters(self) -> dict[str, Array]:
        """The parameters that apply, by name."""
        values = {name: getattr(self, name) for name in self.PARAMETERS}
        return {name: value for name, value in values.items() if value is not None}


def lead_again(
    fields: Mapping[str, npt.NDArray[Any]], lead: tuple[int, ...], failed: npt.NDArray[np.bool_] | None = None
) -> dict[str, Any]:
    """Fields (m, ...) with the leading axes back; where `failed` (m): NaN, contacts -1, sides 0, kind "none", gap inf.

    Integer fields other than contacts and sides, and `stopped`, keep what they say.
    """
    special = {"contacts": -1, "sides": 0, "kind": NONE, "gap_mm": np.inf}
    out = {}
    for name, field in fields.items():
        array = np.array(field, dtype="U32") if name == "kind" else field
        if failed is not None and failed.any():
            if name in special:
                array[failed] = special[name]
            elif array.dtype.kind == "f":
                array[failed] = np.nan
        out[name] = array.reshape((*lead, *array.shape[1:]))[()]
    return out


def certified(fields: Mapping[str, Any], proof: str) -> Certificate:
    """The certificate among fields of `lead_again`."""
    names = ("kind", "gap_mm", "contacts", "sides")
    return Certificate(proof=proof, **{name: fields[name] for name in names})


def turn_over(residuals: Array, flipped: npt.NDArray[np.bool_]) -> None:
    """Change the sign of the rows of residuals (m, n) that are flipped, in place."""
    if flipped.all():
        np.negative(residuals, out=residuals)
    elif flipped.any():
        residuals[flipped] *= -1.0
