"""Do stated 95 % intervals of a plane's flatness and orientation hold the truth? 5 x 5 points on a twisted plate.

The truth is a plate of 200 x 200 mm, bent and twisted (quadratic and cubic terms of random size), flatness R about the
row's R/s times the standard uncertainty s of one reading, known on a grid of 21 x 21 and at the points. What does not
depend on the readings (model, draws of the errors, variates of the prior surfaces) is made once for `SETS` sets and
shared: measurement i takes set i modulo SETS. Everything else is what `flatness_statement` does, call by call.

A smooth error is a slow wave of the instrument's own error, 1 s, shared over the surface; it is part of the draws. In
the last flatness rows the size of the noise is in doubt (8 degrees of freedom): each measurement has one of its own,
and the draws say so. Negative controls: percentiles of the perturbed points; and, where there is a smooth error or a
doubt, the form model that is not told of it.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.stats import binom
from threadpoolctl import threadpool_limits

from trysquare.chance.extreme import Posterior, extreme
from trysquare.chance.form import FormModel, error_covariance, form_model, prior_variates, surfaces
from trysquare.chance.noise_scale import levelled, shared_freedom, sizes
from trysquare.chance.sources import Draws
from trysquare.chance.statement import Statement, ranked
from trysquare.core.arrays import Array
from trysquare.geometry import zone_width
from trysquare.tolerances import form_nodes
from trysquare.tolerances.form_plane import orientation_statement, plane_kernels

SETS, SURFACES, TRUTH_SEED = 8, 400, 2028
SIDE_MM, POINTS, GRID = 200.0, 5, 21
S_MM = 0.002
BAND = (92.0, 98.0)


def _grid(n: int) -> Array:
    axis = np.linspace(0.0, SIDE_MM, n)
    return np.stack(np.meshgrid(axis, axis), axis=-1).reshape(-1, 2)


UV = _grid(POINTS)
EVERYWHERE = np.concatenate([UV, _grid(GRID)])
A, A_ALL = form_nodes.columns(UV), form_nodes.columns(EVERYWHERE)


def twisted(ratio: float, rng: np.random.Generator) -> Array:
    """Heights (P,) of a bent and twisted plate, flatness near ratio * s, mm."""
    x, y = (2.0 * EVERYWHERE / SIDE_MM - 1.0).T
    c = rng.normal(size=5) * [1.0, 1.0, 1.0, 0.4, 0.4]
    h = c @ np.stack([x * x, y * y, x * y, x**3, y**3])
    h = h - A_ALL @ (np.linalg.pinv(A_ALL) @ h)
    return np.asarray(h / zone_width(A_ALL, h) * ratio * S_MM * np.exp(0.3 * rng.normal()))


@dataclass(frozen=True)
class Setting:
    """Errors of the points: independent noise, s in the root mean square over its doubt, and a slow wave."""

    wave: float = 0.0
    freedom: float = np.inf

    def draw(self, count: int, rng: np.random.Generator) -> Array:
        phase = rng.uniform(0.0, 2.0 * np.pi, (count, 1))
        slow = np.sqrt(2.0) * np.sin(2.0 * np.pi * UV @ [0.6, 0.8] / SIDE_MM + phase)
        size = np.ones((count, 1))
        if np.isfinite(self.freedom):
            size = np.sqrt((self.freedom - 2) / rng.chisquare(self.freedom, (count, 1)))
        return S_MM * (size * rng.normal(size=(count, len(UV))) + self.wave * slow)


@dataclass(frozen=True)
class Prepared:
    """What the virtual measurements share: one set of errors, variates and streams each, and the model."""

    model: FormModel
    there: form_nodes.Field
    errors: list[Array]
    variates: list[Array]
    draws: list[Draws]
    scales: tuple[float, ...]


def prepared(declared: Setting, sets: int) -> Prepared:
    """Model and draws from the errors as declared."""
    rng = np.random.default_rng([TRUTH_SEED, 1])
    pool = declared.draw(2000, rng)
    taken = form_nodes.measured(UV, np.zeros(len(UV)), pool)
    there = form_nodes.field(taken, None)
    if there is None:
        raise ValueError("the points lie in one line")
    model = form_model(plane_kernels(there), there.columns, there.at, error_covariance(taken.errors))
    draws = [Draws(k, 0, SURFACES) for k in range(sets)]
    variates = [prior_variates(len(there.nodes), d, "form of plane") for d in draws]
    freedom = shared_freedom(taken.errors, A)
    even = levelled(taken.errors, A, freedom)
    errors = [even[(k % 5) * SURFACES :][:SURFACES] for k in range(sets)]
    return Prepared(model, there, errors, variates, draws, sizes(freedom))


def stated(p: Prepared, heights: Array, i: int) -> Statement:
    """What `flatness_statement` says, with the shared parts; linear algebra on one thread as there."""
    k = i % len(p.draws)
    flat = heights - A @ (np.linalg.pinv(A) @ heights)
    with threadpool_limits(limits=1):
        drawn = surfaces(
            p.model, flat, p.errors[k], p.draws[k], "form of plane", noise_scales=p.scales, prior=p.variates[k]
        )
    found = Posterior(zone_width(p.there.columns, drawn), drawn[:, p.there.at], p.errors[k], float(zone_width(A, flat)))
    return extreme(found, lambda h: zone_width(A, h))


def flatness_row(
    name: str, ratio: float, measurements: int, sets: int, *, true: Setting, declared: Setting, blind: bool = False
) -> dict[str, Any]:
    """One row; with `blind` the second control is a model that is not told of the wave."""
    rng = np.random.default_rng([TRUTH_SEED, 2, int(10 * ratio)])
    p = prepared(declared, sets)
    other = prepared(Setting(), sets) if blind else None
    kept, control, blinded = Count(), Count(), Count()
    for i in range(measurements):
        h = twisted(ratio, rng)
        truth = float(zone_width(A_ALL, h))
        y = h[: len(UV)] + true.draw(1, rng)[0]
        kept.add(stated(p, y, i).interval, truth)
        low, high = ranked(zone_width(A, y + p.errors[i % sets]), [0.025, 0.975])
        control.add((float(low), float(high)), truth)
        if other is not None:
            blinded.add(stated(other, y, i).interval, truth)
    return {
        "characteristic": "flatness", "case": name, "form_over_s": ratio, "measurements": measurements,
        **kept.figures(), "percentiles_coverage_percent (negative control)": control.percent,
        "untold_percent (negative control)": blinded.percent if blind else None,
    }  # fmt: skip


class Count:
    """Intervals that hold the truth, and on which side the others miss."""

    def __init__(self) -> None:
        self.total = self.held = self.above = 0
        self.relative: list[float] = []

    def add(self, interval: tuple[float, float] | None, truth: float) -> None:
        if interval is None:
            raise ValueError("nothing was stated")
        self.total += 1
        self.held += interval[0] - 1e-12 <= truth <= interval[1] + 1e-12
        self.above += truth > interval[1] + 1e-12
        self.relative.append((interval[1] - interval[0]) / S_MM)

    @property
    def percent(self) -> float:
        return round(100.0 * self.held / max(self.total, 1), 2)

    def figures(self) -> dict[str, Any]:
        low, high = binom.interval(0.99, self.total, 0.95)
        return {
            "coverage_percent": self.percent,
            "binomial_band_percent": f"{100 * low / self.total:.1f} to {100 * high / self.total:.1f}",
            "truth_above_percent": round(100.0 * self.above / self.total, 2),
            "median_width_over_s": round(float(np.median(self.relative)), 2),
        }


def orientation_row(ratio: float, tilt: float, held: int, measurements: int) -> dict[str, Any]:
    """Parallelism (held = 2) or perpendicularity to one datum (held = 1): tilt in its standard uncertainties."""
    rng = np.random.default_rng([TRUTH_SEED, 3, int(10 * ratio), int(10 * tilt), held])
    slope_of = np.linalg.pinv(A)[1:]
    pool = Setting().draw(2000, rng)
    datum = 0.6 * S_MM / SIDE_MM
    slopes = pool @ slope_of.T + datum * rng.normal(size=(2000, 2))
    free = A_ALL[:, [0]] if held == 2 else A_ALL[:, [0, 2]]
    kept, control = Count(), Count()
    for i in range(measurements):
        form = twisted(ratio, rng) if ratio > 0 else np.zeros(len(EVERYWHERE))
        turn = rng.uniform(0.0, 2.0 * np.pi) if held == 2 else 0.0
        true_slope = tilt * float(slopes.std()) * np.array([np.cos(turn), np.sin(turn)])
        truth = float(zone_width(free, form + EVERYWHERE @ true_slope))
        y = (form + EVERYWHERE @ true_slope)[: len(UV)] + Setting().draw(1, rng)[0]
        found = (slope_of @ y + datum * rng.normal(size=2))[:held]
        moved = found + slopes[:, :held]
        said = orientation_statement(
            UV, y, pool, found, moved, Draws(i, 0, 2000), directions=np.eye(2)[:held], surface_draws=SURFACES
        )
        kept.add(said.interval, truth)
        flat = y - A @ (np.linalg.pinv(A) @ y)
        read = zone_width(free[: len(UV)], flat + pool[:SURFACES] + moved[:SURFACES] @ UV[:, :held].T)
        low, high = ranked(read, [0.025, 0.975])
        control.add((float(low), float(high)), truth)
    return {
        "characteristic": "parallelism" if held == 2 else "perpendicularity", "form_over_s": ratio,
        "tilt_over_u": tilt, "measurements": measurements, **kept.figures(),
        "percentiles_coverage_percent (negative control)": control.percent,
    }  # fmt: skip


def run(quick: bool = False) -> dict[str, Any]:
    """Rows with coverage in per cent; `quick` makes 60 virtual measurements a row."""
    n, some, sets = (60, 20, 2) if quick else (2000, 300, SETS)
    plain, waved, doubted = Setting(), Setting(wave=1.0), Setting(freedom=8.0)
    cases: list[tuple[str, float, int, dict[str, Any]]] = [
        ("noise as declared", 3.0, n, {"true": plain, "declared": plain}),
        ("noise as declared", 20.0, n, {"true": plain, "declared": plain}),
        ("smooth error of 1 s, declared", 3.0, some, {"true": waved, "declared": waved, "blind": True}),
        ("smooth error of 1 s, declared", 20.0, some, {"true": waved, "declared": waved, "blind": True}),
        ("size of the noise in doubt", 3.0, some, {"true": doubted, "declared": doubted, "blind": True}),
        ("size of the noise in doubt", 20.0, some, {"true": doubted, "declared": doubted, "blind": True}),
    ]
    rows = [flatness_row(name, ratio, count, sets, **how) for name, ratio, count, how in cases]
    corners = [(ratio, tilt, 2) for ratio in (0.0, 3.0, 20.0) for tilt in (0.0, 1.0, 4.0)]
    rows += [orientation_row(*corner, some) for corner in [*corners, (0.0, 0.0, 1), (3.0, 1.0, 1), (20.0, 4.0, 1)]]
    return {
        "what": "share of stated 95 % intervals of flatness and orientation that hold the true value",
        "expected": f"{BAND[0]} to {BAND[1]}; percentiles at R/s 3 below 20",
        "surfaces_a_measurement": SURFACES,
        "rows": rows,
    }
