"""From points to a round zone or touching shape: input, planes across an axis, starts, proof, what is given back."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array, points
from ...core.errors import InputError, TrysquareError
from ...core.frames import perpendicular, unit
from ..axes import read_toward, turned
from ..kernels.round_state import INNER, OUTER, TUBE, ZONE
from ..least_squares.linear import fit_plane
from .results import GLOBAL, STOPS, ZoneFit, certified, lead_again
from .round_proof import Proof, dual, dual_or_near, everywhere, followed, near_only
from .round_solve import Solved, few_of, solve
from .round_starts import least_squares, principal, still, trimmed
from .round_support import Support, astray, look_after, look_before
from .round_tube_proof import search_axes

_DIGITS = 1e-13  # of the size: an optimum lower by less is the same
_PROOFS = {
    ("round", OUTER): "The contacts alone need this radius: their weighted scatter is a lower bound for every centre.",
    ("tube", OUTER): "About the axis the radius grows with the tilt; for all other directions, wherever the axis "
    "passes, linear problems in the planes across are lower bounds above it.",
    ("round", ZONE): "About the centre the zone grows faster than curvature can take away; boxes that cover all other "
    "centres have linear lower bounds above it.",
    ("round", INNER): "About the centre the radius falls faster than curvature can give back; boxes that cover all "
    "other centres among the points have linear upper bounds below it.",
    ("tube", ZONE): "About the axis the zone grows faster than curvature can take away; boxes that cover all other "
    "axes have linear lower bounds above it, and far axes leave a ball among the points that is wider.",
}  # fmt: skip
_NEAR = "The contacts balance: no small move of the axis does better."


@dataclass(frozen=True)
class Members:
    """Points (m, n, d) as given, the leading axes, and a base (m, 3) near each member's middle."""

    P: Array
    lead: tuple[int, ...]
    base: Array

    @property
    def largest(self) -> Array:
        """Largest coordinate (m) of the base and the points about it: what sets the last digit."""
        return np.abs(self.base).max(1) + 1e-300


@dataclass(frozen=True)
class Across:
    """Planes across axes (m): origin and unit u, v, w (m, 3)."""

    origin: Array
    u: Array
    v: Array
    w: Array

    def flat(self, P: Array) -> Array:
        """Coordinates (m, n, 2) of points (m, n, 3) along u and v."""
        d = P - self.origin[:, None]
        return np.stack([np.einsum("mni,mi->mn", d, self.u), np.einsum("mni,mi->mn", d, self.v)], -1)

    def lifted(self, centres: Array) -> Array:
        """Points (m, 3) of centres (m, 2)."""
        return self.origin + centres[:, :1] * self.u + centres[:, 1:2] * self.v


def read(value: npt.ArrayLike, least: int, where: str, dims: int = 3) -> Members:
    """The points, checked."""
    P = points(value, at_least=least, dims=dims, where=where)
    return members(np.ascontiguousarray(P.reshape(-1, *P.shape[-2:])), P.shape[:-2])


def members(P: Array, lead: tuple[int, ...]) -> Members:
    """Points (m, n, d) with a base."""
    base = np.zeros((len(P), 3))
    base[:, : P.shape[2]] = few_of_raw(P).mean(1)
    return Members(P, lead, base)


def few_of_raw(P: Array) -> Array:
    """Every so many of the points, as given."""
    return P[:, :: max(1, P.shape[1] // 1000)]


def across(given: Members, axis: npt.ArrayLike, name: str, where: str) -> Across:
    """Planes across a given axis through the centroids."""
    axes = read_toward(axis, given.lead, f"{where}: {name}")
    assert axes is not None
    w = unit(np.broadcast_to(axes, (len(given.P), 3)) / np.abs(axes).max(1, keepdims=True))
    return Across(given.P.mean(1), *perpendicular(w), w)


def own_plane(given: Members, toward: Array | None, where: str) -> tuple[Across, npt.NDArray[np.bool_]]:
    """The least-squares planes of points in space, and the members (m) without one."""
    try:
        fit = fit_plane(given.P)
    except TrysquareError as error:
        error.where = where
        raise
    bad = ~np.isfinite(fit.normal[:, 0])
    w = turned(np.where(bad[:, None], np.eye(3)[2], fit.normal), toward)
    return Across(np.where(bad[:, None], given.base, fit.point_mm), *perpendicular(w), w), bad


@dataclass(frozen=True)
class Associated:
    """What was solved, its proof and which members failed."""

    solved: Solved
    proof: Proof
    support: Support
    whole: bool = False

    def fields(self, lead: tuple[int, ...], *, diameter: bool = False, **parameters: Array) -> ZoneFit:
        """The result with its parameters (m, ...); `diameter`: residuals are distances from the axis, no radius."""
        solved, mode = self.solved, self.solved.mode
        radii = solved.radii()
        residuals = solved.distances(np.zeros(len(radii)) if diameter else radii)
        width = 2.0 * solved.levels if mode == ZONE or diameter else np.abs(residuals).max(1)
        fields: dict[str, npt.NDArray[Any]] = {
            "width_mm": width, "residuals_mm": residuals, "iterations": solved.passes,
            "stopped": np.array(STOPS)[self.support.codes(solved)], "kind": self.proof.kind,
            "gap_mm": self.proof.gap * (2.0 if diameter else 1.0), "contacts": solved.contacts,
            "sides": solved.sides.astype(np.int8), **parameters,
        }  # fmt: skip
        if not diameter:
            fields["radius_mm"] = radii
        out = lead_again(fields, lead, self.support.bad | self.support.stuck)
        local = self.proof.kind[0] != GLOBAL
        proof = _NEAR if solved.kind == TUBE and local else _PROOFS["tube" if solved.kind == TUBE else "round", mode]
        certificate = certified(out, proof)
        names = ("kind", "gap_mm", "contacts", "sides")
        return ZoneFit(certificate=certificate, **{name: x for name, x in out.items() if name not in names})


def associate(
    kind: int, mode: int, given: Members, where: str, hint: Array | None = None, whole: bool = False
) -> Associated:
    """Solve and prove; `hint` (1 or m, 3) chooses among cylinders, `whole` asks for a proof over all axes of a zone."""
    few = few_of(given.P, given.base)
    support = look_before(kind, mode, few, given.largest + np.abs(few).max((1, 2)), where)
    support.raise_if_none_left()
    with np.errstate(over="ignore", divide="ignore", invalid="ignore"):  # where a search leaves the points for good
        if kind == TUBE:
            return _about_axes(mode, given, few, support, hint, whole)
        return _about_centres(kind, mode, given, few, support)


def _about_centres(kind: int, mode: int, given: Members, few: Array, support: Support) -> Associated:
    """From the least-squares centre, or any for a circumscribed shape; then everywhere else."""
    middle = still(few.mean(1))
    start = middle if mode == OUTER else least_squares(kind, few)
    if mode == INNER:
        start = _innermost(kind, few, [start, *trimmed(kind, few)])
    solved = solve(kind, mode, given.P, given.base, start)
    lost = astray(solved)
    if lost.any() and mode == ZONE:
        solved = solve(kind, mode, given.P, given.base, np.where(lost[:, None], middle, solved.states))
    look_after(solved, support)
    if mode == OUTER:
        return Associated(solved, dual(solved, 1), support)
    solved, proof = everywhere(solved, 3 if mode == INNER else 1)
    look_after(solved, support)
    return Associated(solved, proof, support)


def _innermost(kind: int, few: Array, starts: list[Array]) -> Array:
    """Of the starts (m, 12) of inscribed shapes that of the largest end on a few points, those astray last."""
    ends = [solve(kind, INNER, few, np.zeros((len(few), 3)), start) for start in starts]
    worth = np.stack([np.where(astray(end), -np.inf, -end.made_small) for end in ends])
    return np.stack([end.states for end in ends])[worth.argmax(0), np.arange(len(few))]


def _about_axes(mode: int, given: Members, few: Array, support: Support, hint: Array | None, whole: bool) -> Associated:
    """The best end of several starts: the least-squares cylinder, what a neighbour ends at, and the principal axes (but
    for an inscribed cylinder, which might slip out sideways).
    """
    first = least_squares(TUBE, few, hint)
    if mode == INNER:
        first = _innermost(TUBE, few, [first, *trimmed(TUBE, few, hint)])
    best = solve(TUBE, mode, given.P, given.base, first)
    starts = [] if mode == OUTER else [_on_few(best, OUTER if mode == ZONE else ZONE, first).states]
    starts += [] if mode == INNER else principal(few)
    if mode == OUTER and hint is None and (dual(best, 1).kind == GLOBAL).all():
        starts = []
    digits = _DIGITS * np.abs(few).max((1, 2))
    for start in starts:
        other = _on_few(best, mode, start)
        better = ~astray(other) & ~astray(best) & (other.made_small < best.made_small - digits) & _toward(other, hint)
        if better.any():
            best, _ = followed(best, better, other.states)
    look_after(best, support)
    count = len(starts) + (3 if mode == INNER else 1)
    found, proof = best, dual_or_near(best, count) if mode == OUTER else near_only(best, count)
    if mode == OUTER and not given.lead:
        found, proof = everywhere(best, count)
    elif whole:
        found, proof = everywhere(best, count, search_axes)
    if not _toward(found, hint).all() and _toward(best, hint).all():
        found, proof = best, near_only(best, count)
    return Associated(found, proof, support, whole)


def _toward(solved: Solved, hint: Array | None) -> npt.NDArray[np.bool_]:
    """Members (m) whose axis lies within 45 degrees of the one wanted."""
    if hint is None:
        return np.ones(len(solved.levels), bool)
    close: npt.NDArray[np.bool_] = np.abs((solved.states[:, 9:12] * unit(hint)).sum(1)) > np.sqrt(0.5)
    return close


def _on_few(best: Solved, mode: int, start: Array) -> Solved:
    """From another start on the few points that hold `best`: its optimum bounds that of all points from below."""
    return solve(TUBE, mode, best.few, np.zeros((len(start), 3)), start)


def axis_point(solved: Solved, given: Members) -> Array:
    """Point (m, 3) of each axis nearest the centroid of the points."""
    c, w = solved.states[:, :3], solved.states[:, 9:12]
    centroid = given.P.mean(1) - given.base
    return given.base + c + ((centroid - c) * w).sum(1, keepdims=True) * w


def refuse_flat(value: npt.ArrayLike, where: str, **options: Any) -> bool:
    """Whether the points have two coordinates; then no axis may be given."""
    flat = np.asarray(value).shape[-1:] == (2,)
    for name, option in options.items():
        if flat and option is not None:
            raise InputError(where, name, "be left out for points in a plane", "a direction", "Drop it.")
    return flat
