"""What proves a round minimax optimum: dual bounds for circumscribed shapes, bounds over all centres for zones."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array
from ..core.threads import over_slices
from .kernels.round_axes import prove_axes
from .kernels.round_bound import BETTER, PROVEN, prove
from .kernels.round_state import DISC, INNER, TUBE, ZONE
from .round_solve import Index, Solved, halves, solve
from .round_starts import still
from .zones import GLOBAL, local

_BOXES = 4_000  # of centres looked at before a proof is given up
_DIRECTIONS = 1_500  # the same of directions
_ROUNDS = 20  # better centres followed
_SLICE = 8
_DIGITS = 1e-11  # relative gap up to which a dual bound counts as met
_CHUNK = 1 << 16
Mask = npt.NDArray[np.bool_]
#: Outcome (m), bounds (m) and better states (m, 12) of a search over all centres or axes.
Search = Callable[[Solved], tuple[Index, Array, Array]]


@dataclass(frozen=True)
class Proof:
    """`kind` (m) and `gap` (m): what was made small less its bound."""

    kind: npt.NDArray[np.str_]
    gap: Array


def contact_points(solved: Solved) -> Array:
    """Contacts (m, 6, 3) about the base; those of free places repeat the first point."""
    P = np.take_along_axis(solved.P, np.maximum(solved.contacts, 0)[:, :, None], 1)
    if P.shape[-1] == 2:
        P = np.concatenate([P, np.zeros((*P.shape[:2], 1))], -1)
    return P - solved.base[:, None]


def dual(solved: Solved, starts: int) -> Proof:
    """Of a circumscribed shape: the weighted mean square of the contacts about their best centre or axis is a bound.

    For a circle or sphere that is their weighted scatter, for a cylinder its part across the longest principal axis:
    no centre, and no axis whatever its direction, leaves a smaller largest distance.
    """
    return Proof(np.where(_met(solved), GLOBAL, local(starts)), _dual_gap(solved))


def _dual_gap(solved: Solved) -> Array:
    """Radius less its dual bound (m)."""
    w = solved.weights / np.maximum(solved.weights.sum(1, keepdims=True), 1e-300)
    P = contact_points(solved)
    d = P - (w[:, :, None] * P).sum(1, keepdims=True)
    scatter = np.linalg.eigvalsh(np.einsum("mi,mij,mik->mjk", w, d, d))
    bound = np.sqrt(np.maximum(scatter[:, :2].sum(1) if solved.kind == TUBE else scatter.sum(1), 0.0))
    return np.maximum(solved.levels - bound, 0.0)


def _met(solved: Solved) -> Mask:
    """Members (m) whose dual bound is met."""
    met: Mask = _dual_gap(solved) <= _DIGITS * np.abs(solved.few).max((1, 2))
    return met


def dual_or_near(solved: Solved, starts: int) -> Proof:
    """As `dual`; the gap of a member whose bound is not met is that of a proof near the optimum."""
    met = _met(solved)
    return Proof(np.where(met, GLOBAL, local(starts)), np.where(met, _dual_gap(solved), near_only(solved, starts).gap))


def near_only(solved: Solved, starts: int) -> Proof:
    """Of any shape, near the optimum: by how much the contacts are off one level, and off balance over the extent.

    Where the weighted slopes of the contacts add up to nothing, no small move makes all of them better.
    """
    w = (solved.weights * solved.sides)[:, :, None]
    d, size = _across(solved), np.abs(solved.few).max((1, 2))
    distance = np.linalg.norm(d, axis=-1, keepdims=True)
    slope = w * d / np.where(distance > 0, distance, 1.0)
    off = np.linalg.norm(slope.sum(1), axis=-1)
    if solved.kind == TUBE:
        height = np.einsum("mij,mj->mi", contact_points(solved) - solved.states[:, None, :3], solved.states[:, 9:12])
        off = off + np.linalg.norm((slope * height[:, :, None]).sum(1), axis=-1) / np.maximum(size, 1e-300)
    factor = 2.0 if solved.mode == ZONE else 1.0
    gap = np.abs(objective(solved) - factor * (w * distance).sum((1, 2))) + factor * off * size
    return Proof(np.full(len(gap), local(starts), "U32"), gap)


def objective(solved: Solved) -> Array:
    """What was made small (m): the width of a zone, the radius of a circumscribed, minus that of an inscribed shape."""
    return 2.0 * solved.levels if solved.mode == ZONE else solved.levels


def everywhere(solved: Solved, starts: int = 1, search: Search | None = None) -> tuple[Solved, Proof]:
    """Look for a better centre (circle, sphere) or axis (circumscribed cylinder) anywhere; follow it, or prove there is
    none.
    """
    stuck = np.zeros(len(solved.levels), bool)
    search = search or (_axes if solved.kind == TUBE else _centres)
    for _ in range(_ROUNDS):
        outcome, bounds, better = search(solved)
        follow = (outcome == BETTER) & ~stuck
        if not follow.any():
            break
        solved, worse = followed(solved, follow, better)
        stuck |= worse
    proven = outcome == PROVEN
    gap = np.where(proven, np.maximum(objective(solved) - bounds, 0.0), near_only(solved, starts).gap)
    return solved, Proof(np.where(proven, GLOBAL, local(starts)), gap)


def followed(solved: Solved, follow: Mask, states: Array) -> tuple[Solved, Mask]:
    """Optima from other states (m, 12) for the members `follow`, kept where no worse; and where they are worse."""
    found = _again(solved, np.where(follow[:, None], states, solved.states))
    worse = ~(objective(found) <= objective(solved))
    if worse.any():
        found = _again(found, np.where(worse[:, None], solved.states, found.states))
    return found, worse


def _again(solved: Solved, states: Array) -> Solved:
    return solve(solved.kind, solved.mode, solved.P, solved.base, states)


def _axes(solved: Solved) -> tuple[Index, Array, Array]:
    """Outcome, bounds and better states (m, 12) of circumscribed cylinders: by `dual`, else by boxes of directions."""
    m = len(solved.levels)
    outcome, bounds, better = np.zeros((m, 2), np.int64), solved.levels - _dual_gap(solved), np.zeros((m, 12))
    left = np.flatnonzero(~_met(solved))
    half, places = halves(solved.few, solved.states)[left], solved.places()[left]
    few, states, levels = solved.few[left], solved.states[left], solved.levels[left]
    found, least, state = np.zeros((len(left), 2), np.int64), np.empty(len(left)), np.zeros((len(left), 12))

    def slices(a: int, b: int) -> None:
        prove_axes(
            few[a:b], half[a:b], states[a:b], levels[a:b], places[a:b], _DIRECTIONS, found[a:b], least[a:b], state[a:b]
        )  # fmt: skip

    over_slices(slices, len(left), size=1)
    outcome[left], bounds[left], better[left] = found, least, state
    return outcome[:, 0], bounds, better


def _centres(solved: Solved) -> tuple[Index, Array, Array]:
    """Outcome, bounds and better states (m, 12) of circles and spheres."""
    k, m = solved.kind, len(solved.levels)
    centres, few = solved.states[:, :3], solved.few
    reach = np.linalg.norm(few, axis=-1).max(1)
    directions, supports = _hull(solved) if solved.mode == INNER else (np.zeros((1, 3)), np.zeros((m, 1)))
    if solved.mode == INNER:
        reach = np.maximum(reach, supports.max(1))
        turn = np.broadcast_to(np.eye(3), (m, 3, 3))
    else:
        away = np.linalg.norm(centres, axis=1)
        reach = np.where(away < 3.0 * reach, np.maximum(reach, away / 1.4), reach)
        turn = _mirrors(centres)
    few = np.ascontiguousarray(few @ turn)
    centres = np.ascontiguousarray(np.einsum("mi,mij->mj", centres, turn))
    target, places = objective(solved), solved.places()
    outcome, bounds, better = np.zeros((m, 2), np.int64), np.empty(m), np.full((m, 3), 0.0)

    def slices(a: int, b: int) -> None:
        prove(
            solved.mode, k, few[a:b], reach[a:b], centres[a:b], target[a:b], places[a:b], solved.sides[a:b], directions,
            supports[a:b], _BOXES, outcome[a:b], bounds[a:b], better[a:b],
        )  # fmt: skip

    over_slices(slices, m, size=_SLICE)
    return outcome[:, 0], bounds, still(np.einsum("mi,mji->mj", better, turn))


def _mirrors(centres: Array) -> Array:
    """Reflections (m, 3, 3) that take the centres (m, 3) onto the first axis."""
    length = np.linalg.norm(centres, axis=1, keepdims=True)
    v = centres / np.where(length > 0, length, 1.0)
    v = v - np.where(length > 0, 1.0, 0.0) * np.eye(3)[0]
    return np.eye(3) - 2.0 * v[:, :, None] * v[:, None, :] / np.maximum((v * v).sum(1), 1e-300)[:, None, None]


def _hull(solved: Solved) -> tuple[Array, Array]:
    """Directions (q, 3) spread evenly, and how far the points of each member reach in each (m, q), about the base."""
    if solved.kind == DISC:
        turn = np.arange(64) * (2.0 * np.pi / 64)
        directions = np.stack([np.cos(turn), np.sin(turn), np.zeros(64)], 1)
    else:
        height = (np.arange(256) + 0.5) / 128.0 - 1.0
        turn, across = np.arange(256) * (np.pi * (3.0 - np.sqrt(5.0))), np.sqrt(1.0 - height * height)
        directions = np.stack([across * np.cos(turn), across * np.sin(turn), height], 1)
    d = solved.P.shape[-1]
    supports = np.full((len(solved.P), len(directions)), -np.inf)
    step = max(1, _CHUNK // len(solved.P))
    for a in range(0, solved.P.shape[1], step):
        part = solved.P[:, a : a + step] - solved.base[:, None, :d]
        supports = np.maximum(supports, (part @ directions[:, :d].T).max(1))
    return directions, supports


def _across(solved: Solved) -> Array:
    """Contacts (m, 6, 3) from the centre, across the axis for a cylinder."""
    d = contact_points(solved) - solved.states[:, None, :3]
    if solved.kind == TUBE:
        w = solved.states[:, None, 9:12]
        d = d - (d * w).sum(-1, keepdims=True) * w
    return d
