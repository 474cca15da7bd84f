"""Starts for the placement of a part, from what its measured features show by themselves."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations, product

import numpy as np

from ..core.arrays import Array
from ..core.errors import NumericalError
from ..core.frames import Rigid, best_rigid, perpendicular, rotation, unit
from .features import AT_LEAST, Associated, associate
from .nominal import Nominal

#: Two directions make a frame when the sine between them is above this.
_APART = 0.2
#: Pairs of directions that make starts, and turns about a lone one.
_PAIRS, _TURNS = 8, 8


@dataclass(frozen=True)
class _Told:
    """A direction that measured features and nominals share; `signed` False: its sense is not seen."""

    measured: Array
    nominal: Array
    signed: bool


def starts(points: Sequence[Array], nominals: Sequence[Nominal]) -> list[Rigid]:
    """Motions to start from; the most telling first."""
    fitted = [_fitted(p, n) for p, n in zip(points, nominals, strict=True)]
    middles = np.array([p.mean(0) if f is None else f.point_mm for p, f in zip(points, fitted, strict=True)])
    places = np.array([n.point_mm for n in nominals])
    told = [_Told(f.direction, n.frame()[2], False) for f, n in zip(fitted, nominals, strict=True)
            if f is not None and f.direction is not None and n.kind != "point"]  # fmt: skip
    starts = [_shifted(R, middles, places, nominals) for R in _turns_of(told, _differences(middles, places, nominals))]
    spread = np.linalg.svd(places - places.mean(0), compute_uv=False)
    if len(points) > 2 and spread[1] > 1e-3 * spread[0]:
        starts.append(best_rigid(middles, places))
    return starts


def _fitted(points: Array, nominal: Nominal) -> Associated | None:
    """What a feature's own points say it is; None where they do not carry its shape."""
    if len(points) < AT_LEAST[nominal.kind]:
        return None
    try:
        return associate(points, replace(nominal, direction=None, along=None), where="")
    except NumericalError:
        return None


def _shifted(R: Array, middles: Array, places: Array, nominals: Sequence[Nominal]) -> Rigid:
    """The rotation R with the shift that brings planes, axes and centres nearest to their own, as far as each tells."""
    t = places.mean(0) - R @ middles.mean(0)
    rows: list[Array] = []
    off: list[float] = []
    for m, n in zip(middles, nominals, strict=True):
        u, v, w = n.frame()
        axes = {"plane": (w,), "cylinder": (u, v), "line": (u, v)}.get(n.kind, (u, v, w))
        rows += axes
        off += [float((n.point_mm - R @ m - t) @ axis) for axis in axes]
    return Rigid(R, t + np.linalg.lstsq(np.array(rows), np.array(off), rcond=1e-3)[0])


def _differences(middles: Array, places: Array, nominals: Sequence[Nominal]) -> list[_Told]:
    """From feature to feature, the longest first; those of planes, which lie nowhere in particular, last."""
    pairs = sorted(
        combinations(range(len(places)), 2),
        key=lambda ij: (
            sum(nominals[k].kind == "plane" for k in ij), -float(np.linalg.norm(places[ij[0]] - places[ij[1]])),
        ),
    )  # fmt: skip
    told = [(middles[j] - middles[i], places[j] - places[i]) for i, j in pairs[: 2 * _PAIRS]]
    return [_Told(unit(m), unit(n), True) for m, n in told if np.linalg.norm(m) > 1e-6 and np.linalg.norm(n) > 1e-6]


def _turns_of(directions: list[_Told], differences: list[_Told]) -> list[Array]:
    """Rotations (3, 3) that two of the directions make, in each of their senses; of one alone, all round."""
    pairs = [*combinations(directions, 2), *product(directions, differences), *combinations(differences, 2)]
    apart = [(a, b) for a, b in pairs if _apart(a.nominal, b.nominal) and _apart(a.measured, b.measured)]
    out = []
    for a, b in _spread_over(apart):
        for s, t in product((1.0,) if a.signed else (1.0, -1.0), (1.0,) if b.signed else (1.0, -1.0)):
            out.append(_frame(a.nominal, b.nominal) @ _frame(s * a.measured, t * b.measured).T)
    if out:
        return out
    alone = (directions or differences)[:1]
    if not alone:
        return [np.eye(3)]
    w = alone[0].nominal
    senses = (1.0,) if alone[0].signed else (1.0, -1.0)
    first = [_frame(w, perpendicular(w)[0]) @ _frame(s * m, perpendicular(s * m)[0]).T
             for s in senses for m in (alone[0].measured,)]  # fmt: skip
    return [rotation(w * a) @ R for R in first for a in 2 * np.pi * np.arange(_TURNS) / _TURNS]


def _apart(a: Array, b: Array) -> bool:
    return bool(1.0 - float(a @ b) ** 2 > _APART**2)


def _spread_over(pairs: list[tuple[_Told, _Told]]) -> list[tuple[_Told, _Told]]:
    """A few pairs from all over the list, its first among them."""
    if len(pairs) <= _PAIRS:
        return pairs
    return [pairs[i] for i in np.unique(np.linspace(0, len(pairs) - 1, _PAIRS).astype(int))]


def _frame(a: Array, b: Array) -> Array:
    """The rotation whose columns are a, b squared to it, and their normal."""
    n = unit(np.cross(a, b))
    return np.stack([a, np.cross(n, a), n], axis=-1)
