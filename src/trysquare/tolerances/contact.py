"""Datums that touch the material: each feature's own associated plane, axis or centre, and the seat on those.

Every feature is laid against its points under what the datums before it hold of its direction, then stands for itself
as a perfect plane, cylinder, circle or sphere; the perfect features are brought onto their nominals in order of
precedence by `seating.seat`. Planes: the one-sided tangent plane in a stated norm. Features of size: the largest
inscribed in a hole, the smallest circumscribed about a shaft.
"""

from collections.abc import Sequence

import numpy as np

from .. import geometry
from ..core.arrays import Array
from ..core.frames import Rigid, cross, dot, unit
from .freedoms import freedoms
from .nominal import Nominal
from .seating import Seat, seat

#: The associations that a drawing may name, and the norm of a touching plane; None is least squares. Those named after
#: a standard are its default, from memory: ISO 5459:2011, Annex A; ASME Y14.5.1-2019 for planes.
ASSOCIATIONS: dict[str, str | None] = {
    "least squares": None, "outer minimax": "minimax", "outer squares": "squares", "outer sum": "sum",
    "ISO 5459:2011": "minimax", "ASME Y14.5.1-2019": "squares",
}  # fmt: skip
#: Directions closer than this sine to parallel or square are taken as drawn so.
_ALONG = 1e-6
_RING = np.arange(8) * np.pi / 4


def contact_seat(
    points: Sequence[Array], nominals: Sequence[Nominal], norms: Sequence[str | None], *, together: Sequence[int]
) -> Seat:
    """Seat datum features as `seating.seat` does, those with a norm by touching.

    `points` (..., n, 3) mm near the part frame; `together` how many features make up each datum, `norms` one to a
    datum. Ask `refusal` first. Draws in which a feature cannot be laid have a motion of NaN.

    Raises
    ------
    RankError, ConvergenceError : a single set on which a feature cannot be laid.
    """
    stand: list[Array] = []
    ends = np.cumsum(together)
    for count, last, norm in zip(together, ends, norms, strict=True):
        first, mine = last - count, range(last - count, last)
        if norm is None or nominals[first].kind in ("line", "point"):
            stand += [points[i] for i in mine]
            continue
        before = [nominals[a:b] for a, b in zip([0, *ends], ends, strict=False) if b <= first]
        turns = freedoms(before).open_turns if before else np.eye(3)
        T = _seat(stand, nominals[:first], [len(b) for b in before]).T_datum_part if before else None
        moved = [points[i] if T is None else T.apply(points[i]) for i in mine]
        laid = _laid(moved, nominals[first:last], norm, turns)
        stand += laid if T is None else [T.inverse().apply(p) for p in laid]
    return _seat(stand, nominals, together)


def refusal(datums: Sequence[Sequence[Nominal]], norms: Sequence[str | None]) -> tuple[int, str] | None:
    """Which datum cannot be laid by touching after those before it, and why; None where all can."""
    for k, (own, norm) in enumerate(zip(datums, norms, strict=True)):
        if norm is None or own[0].kind in ("line", "point"):
            continue
        if len(own) > 1 and not _one_plane(own):
            return k, "features at once that are not one plane"
        before = freedoms(datums[:k]) if k else None
        turns = np.eye(3) if before is None else before.open_turns
        w = own[0].frame()[2]
        if own[0].kind in ("plane", "cylinder") and _way(w, turns, plane=own[0].kind == "plane") is None:
            return k, "a direction that the datums before it hold in part, neither along nor square to the open turn"
        if own[0].kind == "plane" and before is not None and not _may_shift(before.open_twists, w):
            return k, "a plane at a distance that the datums before it hold: only a turn would bring it into contact"
    return None


def _seat(points: Sequence[Array], nominals: Sequence[Nominal], together: Sequence[int]) -> Seat:
    """The seat; draws in which a feature was not laid take the first sound one, and a motion of NaN in the end."""
    if points[0].ndim == 2:
        return seat(points, nominals, together=together)
    sound = np.all([np.isfinite(p).all((-1, -2)) for p in points], axis=0)
    kept = int(np.argmax(sound))
    found = seat([np.where(sound[:, None, None], p, p[kept]) for p in points], nominals, together=together)
    T = found.T_datum_part
    R = np.where(sound[:, None, None], T.R, np.nan)
    return Seat(Rigid(R, np.where(sound[:, None], T.t, np.nan)), found.rank, found.open_turns)


def _laid(points: Sequence[Array], nominals: Sequence[Nominal], norm: str, turns: Array) -> list[Array]:
    """Points of the perfect features that touch the measured ones."""
    nominal = nominals[0]
    if nominal.kind == "plane":
        return _plane(points, nominal, norm, turns)
    one, r = points[0], (nominal.diameter_mm or 0.0) / 2
    if nominal.kind == "sphere":
        ball = geometry.inscribed_sphere(one) if nominal.inside else geometry.circumscribed_sphere(one)
        return [_centre(ball)[..., None, :] + r * np.concatenate([np.eye(3), -np.eye(3)])]
    w = nominal.frame()[2]
    if nominal.kind == "circle":
        ring = geometry.inscribed_circle if nominal.inside else geometry.circumscribed_circle
        return [_ring(_centre(ring(one, normal=w)), np.broadcast_to(w, (*one.shape[:-2], 3)), nominal, r, (0.0,))]
    lay = geometry.inscribed_cylinder if nominal.inside else geometry.circumscribed_cylinder
    held = _way(w, turns, plane=False) == "held"
    found = lay(one, direction=w) if held else lay(one, toward=w)
    if found.point_mm is None or found.direction is None:
        raise ValueError("a cylinder has an axis")
    half = (nominal.length_mm or 2 * r) / 2
    return [_ring(found.point_mm, found.direction, nominal, r, (-half, half))]


def _plane(points: Sequence[Array], nominal: Nominal, norm: str, turns: Array) -> list[Array]:
    """The measured points, each brought along the normal onto the plane that touches all of them."""
    w = nominal.frame()[2]
    way, whole = _way(w, turns, plane=True), np.concatenate(points, axis=-2)
    if way == "held":
        found = geometry.tangent_plane(whole, outward=w, norm=norm, perpendicular_to=w)
    elif way == "swings":
        found = geometry.tangent_plane(whole, outward=w, norm=norm, parallel_to=turns[0])
    else:
        found = geometry.tangent_plane(whole, outward=w, norm=norm)
    if found.normal is None:
        raise ValueError("a plane has a normal")
    flat = whole - found.residuals_mm[..., None] * found.normal[..., None, :]
    return np.split(flat, np.cumsum([p.shape[-2] for p in points])[:-1], axis=-2)


def _centre(fit: geometry.ZoneFit) -> Array:
    if fit.center_mm is None:
        raise ValueError("a circle or sphere has a centre")
    return fit.center_mm


def _ring(at: Array, axis: Array, nominal: Nominal, radius: float, heights: Sequence[float]) -> Array:
    """Points (..., 8 for each height, 3) evenly round an axis (..., 3), at heights from the nominal point."""
    u0 = nominal.frame()[0]
    along = dot(nominal.point_mm - at, axis)[..., None] * axis
    u = unit(u0 - (axis @ u0)[..., None] * axis)
    v = cross(axis, u)
    ring = radius * (np.cos(_RING)[:, None] * u[..., None, :] + np.sin(_RING)[:, None] * v[..., None, :])
    middle = (at + along)[..., None, :]
    return np.concatenate([middle + h * axis[..., None, :] + ring for h in heights], axis=-2)


def _way(w: Array, turns: Array, *, plane: bool) -> str | None:
    """How far a direction (3,) is free under open turns (m, 3): "free", "swings" about the one turn, "held", None.

    A plane that swings stays parallel to the open turn; an axis along the open turn is held.
    """
    if len(turns) == 3:
        return "free"
    if len(turns) == 0:
        return "held"
    if len(turns) > 1:
        return None
    along = abs(float(w @ turns[0]))
    if along > np.sqrt(1 - _ALONG**2):
        return "held"
    return "swings" if plane and along < _ALONG else None


def _may_shift(twists: Array, w: Array) -> bool:
    """Whether a pure shift along w (3,) is among the open twists (6, f)."""
    shift = np.concatenate([w, np.zeros(3)])
    return float(np.linalg.norm(twists.T @ shift)) > 1 - _ALONG


def _one_plane(nominals: Sequence[Nominal]) -> bool:
    first = nominals[0]
    w = first.frame()[2]
    return all(
        n.kind == "plane"
        and float(n.frame()[2] @ w) > 1 - _ALONG
        and abs(float((n.point_mm - first.point_mm) @ w)) < 1e-6
        for n in nominals
    )
