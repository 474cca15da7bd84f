"""A fit as the document that scripts read: keys as the interface promises them."""

from typing import Any

import numpy as np

from ..geometry.association import Association
from ..geometry.zones.results import Certificate


def document(a: Association) -> dict[str, Any]:
    """The answer of `trysquare fit` as plain data; `contacts` and `set_aside` count the points given from 0."""
    r = a.residuals_mm
    told = a.told
    return {
        "shape": a.shape,
        "method": a.method,
        "parameters": {name: _plain(value) for name, value in a.parameters.items()},
        "form_mm": a.form_mm,
        "residuals_mm": {"min": float(r.min()), "max": float(r.max()), "rms": float(np.sqrt(np.square(r).mean()))},
        "sum_of_squares_mm2": a.sum_of_squares_mm2,
        "u": None if told is None else {name: _plain(value) for name, value in told.u.items()},
        "covariance": None if told is None else _plain(told.covariance),
        "point_u_mm": None if told is None else float(told.point_u_mm),
        "degrees_of_freedom": None if told is None else told.freedom,
        "certificate": None if a.certificate is None else _certificate(a, a.certificate),
        "points": len(a.points_mm),
        "rank": a.rank,
        "stopped": a.stopped,
        "norm": getattr(a.fit, "norm", None),
        "achieved_mm": float(a.fit.achieved_mm) if hasattr(a.fit, "achieved_mm") else None,
        "set_aside": a.kept[a.set_aside].tolist(),
        "filter": a.filtered,
        "notes": list(a.notes),
    }


def _plain(value: Any) -> Any:
    """Numbers and lists of them; null where one is not finite (the apex of a cone that is a cylinder)."""
    if np.ndim(value):
        return [_plain(item) for item in value]
    return float(value) if np.isfinite(value) else None


def _certificate(a: Association, c: Certificate) -> dict[str, Any]:
    """`gap_mm` is null where nothing could be proven; `sides` +1 outer, -1 inner, in the order of `contacts`."""
    contacts, sides = np.atleast_1d(c.contacts), np.atleast_1d(c.sides)
    held = contacts >= 0
    gap = float(c.gap_mm)
    return {
        "kind": str(c.kind),
        "gap_mm": gap if np.isfinite(gap) else None,
        "contacts": a.kept[contacts[held]].tolist(),
        "sides": sides[held].tolist(),
        "proof": c.proof,
    }
