"""What proves a round minimax optimum: dual bounds for circumscribed shapes, bounds over all centres for zones."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.threads import over_slices
from ..kernels.round_axes import prove_axes
from ..kernels.round_bound import BETTER, PROVEN
from ..kernels.round_state import INNER, TUBE
from .results import GLOBAL, local
from .round_balance import contact_points, near_gap
from .round_search import search_centres
from .round_solve import Index, Solved, halves, solve
from .round_support import astray

_DIRECTIONS = 1_500  # of the axis, looked at before a proof is given up
_ROUNDS = 20  # better centres followed
_DIGITS = 1e-11  # relative gap up to which a dual bound counts as met
Mask = npt.NDArray[np.bool_]
#: Outcome (m), bounds (m) and better states (m, 12) of a search over all centres or axes.
Search = Callable[[Solved], tuple[Index, Array, Array]]


@dataclass(frozen=True)
class Proof:
    """`kind` (m) and `gap` (m): what was made small less its bound."""

    kind: npt.NDArray[np.str_]
    gap: Array


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
    size = np.maximum(np.abs(d).max((1, 2)), 1e-300)
    d = d / size[:, None, None]
    scatter = np.linalg.eigvalsh(np.einsum("mi,mij,mik->mjk", w, d, d))
    bound = size * np.sqrt(np.maximum(scatter[:, :2].sum(1) if solved.kind == TUBE else scatter.sum(1), 0.0))
    return np.maximum(solved.levels - bound, 0.0)


def _met(solved: Solved) -> Mask:
    """Members (m) whose dual bound is met."""
    met: Mask = _dual_gap(solved) <= _DIGITS * np.abs(solved.few).max((1, 2))
    return met


def dual_or_near(solved: Solved, starts: int) -> Proof:
    """As `dual`; the gap of a member whose bound is not met is that of a proof near the optimum."""
    met = _met(solved)
    return Proof(np.where(met, GLOBAL, local(starts)), np.where(met, _dual_gap(solved), near_gap(solved)))


def near_only(solved: Solved, starts: int) -> Proof:
    """Of any shape, near the optimum only."""
    return Proof(np.full(len(solved.levels), local(starts), "U32"), near_gap(solved))


def everywhere(solved: Solved, starts: int = 1, search: Search | None = None) -> tuple[Solved, Proof]:
    """Look for a better centre (circle, sphere) or axis (circumscribed cylinder) anywhere; follow it, or prove there is
    none.
    """
    stuck = np.zeros(len(solved.levels), bool)
    search = search or (search_directions if solved.kind == TUBE else search_centres)
    for _ in range(_ROUNDS):
        outcome, bounds, better = search(solved)
        follow = (outcome == BETTER) & ~stuck
        if not follow.any():
            break
        before = solved.made_small
        solved, worse = followed(solved, follow, better)
        stuck |= worse | (follow & ~(solved.made_small < before))
    proven = outcome == PROVEN
    gap = np.where(proven, np.maximum(solved.made_small - bounds, 0.0), near_gap(solved))
    return solved, Proof(np.where(proven, GLOBAL, local(starts)), gap)


def followed(solved: Solved, follow: Mask, states: Array) -> tuple[Solved, Mask]:
    """Optima from other states (m, 12) for the members `follow`, kept where no worse; and where they are worse."""
    found = _again(solved, np.where(follow[:, None], states, solved.states))
    worse = ~(found.made_small <= solved.made_small)
    if solved.mode == INNER:  # a circle that slips out between the points is none
        worse |= astray(found)
    if worse.any():
        found = _again(found, np.where(worse[:, None], solved.states, found.states))
    return found, worse


def _again(solved: Solved, states: Array) -> Solved:
    return solve(solved.kind, solved.mode, solved.P, solved.base, states)


def search_directions(solved: Solved) -> tuple[Index, Array, Array]:
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
