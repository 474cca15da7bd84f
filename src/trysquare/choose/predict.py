"""What the chain says of every requirement of a case: the uncertainty to expect, and what most of it comes from.

The same chain, draws and statements as when a measured part is judged; only the readings are assumed.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from ..core.arrays import Array
from ..core.errors import NumericalError
from ..jobs.chain import Chain
from ..jobs.form import FormErrors
from ..jobs.job import Requirement
from ..jobs.runs import run_draws
from ..jobs.simulated.true_values import single
from ..jobs.stating import state
from ..tolerances.features import AT_LEAST
from ..tolerances.measurand import Measurand
from .case import Case
from .largest import Largest, largest_of

#: A magnitude, or a tilt, is predicted with a reading at this share of its zone, not at the fold.
READING_SHARE = 0.5
#: A surface is predicted from so many assumed measurements, each from so many draws. Its u then scatters by about 15
#: per cent from seed to seed, 25 where form drowns in noise (docs/methods/choosing.md).
NOISY, SURFACE_DRAWS = 4, 250


@dataclass(frozen=True)
class Prediction:
    """`u`, mm or rad: half the 95 % interval, over 2. Of a zone from zero, whose interval may end at zero, it is how
    far the upper end lies above the assumed truth, over 2. None with the reason why nothing can be stated."""

    u: float | None
    reason: str | None = None
    largest: Largest | None = None


@dataclass(frozen=True)
class Trial:
    """A case, run: the value and the draws of every requirement, by id; `cannot` why not, for the others."""

    seed: int
    cannot: Mapping[str, str]
    value: Mapping[str, Measurand] = field(default_factory=dict)
    drawn: Mapping[str, Measurand] = field(default_factory=dict)
    largest: Mapping[str, Largest] = field(default_factory=dict)

    def predict(self, r: Requirement) -> Prediction | None:
        """What can be said of a requirement; None where it cannot be measured at all."""
        if r.id not in self.drawn:
            return None
        return _stated(r, self.value[r.id], self.drawn[r.id], self.seed, self.largest.get(r.id))


def tried(case: Case, *, draws: int, seed: int, contributions: bool = True) -> Trial:
    """Run a case over `draws` draws."""
    if not case.job.requirements:
        return Trial(seed, case.cannot)
    try:
        chain = _with_form(Chain(case.job, case.instruments))
        value = chain.run()
        drawn = run_draws(chain, seed, draws, _no_tick)
    except NumericalError as error:
        return Trial(seed, {**case.cannot, **{r.id: str(error) for r in case.job.requirements}})
    largest = largest_of(chain, drawn, seed) if contributions else {}
    return Trial(seed, {**case.cannot, **chain.unmeasured}, value, drawn, largest)


def _no_tick() -> None:
    """Progress is counted class by class."""


def _stated(r: Requirement, value: Measurand, drawn: Measurand, seed: int, largest: Largest | None) -> Prediction:
    if value.kind == "smooth" or not np.isfinite(drawn.vector()).all():
        statement = state(r, value, drawn, seed)
        if statement.interval is None:
            return Prediction(None, statement.reason)
        return Prediction((statement.interval[1] - statement.interval[0]) / 4.0, None, largest)
    true, read_as = _assumed(r, value, drawn)
    statements = [state(r, v, d, seed) for v, d in read_as]
    below = value.less_from is not None  # an angle near 180 degrees fails downwards
    above = [true - s.interval[0] if below else s.interval[1] - true for s in statements if s.interval is not None]
    if not above:
        return Prediction(None, statements[0].reason)
    return Prediction(max(0.0, float(np.mean(above))) / 2.0, None, largest)


def _assumed(r: Requirement, value: Measurand, drawn: Measurand) -> tuple[float, list[tuple[Measurand, Measurand]]]:
    """The true value that is assumed, and the measurands as some real measurements would read them.

    A position or tilt deviates by half its zone, where its errors are largest (a plane by the same all over). Heights
    carry the noise of a draw, which then is no longer among the draws: form that is read without noise would seem far
    better known than it can be.
    """
    limit = r.upper if value.less_from is None or r.lower is None else value.less_from - r.lower
    half = READING_SHARE * (limit or 0.0)
    if value.kind == "magnitude":
        step = half / value.scale * _worst(drawn.vectors[0] - value.vectors[0])
        value, drawn = _shifted(value, step), _shifted(drawn, step)
        return single(value), [(value, drawn)]
    if value.kind == "place":
        off = np.array([half / value.scale])  # the whole plane, square to itself
        value, drawn = _shifted(value, off), _shifted(drawn, off)
    elif value.directions is not None and value.uv_mm is not None:
        size = np.ptp(value.uv_mm @ value.directions.T, axis=0)
        step = half * _worst((drawn.vectors[0] - value.vectors[0]) * size) / size
        value, drawn = _shifted(value, step), _shifted(drawn, step)
    return single(value), [_noisy(value, drawn, k) for k in range(NOISY)]


def _noisy(value: Measurand, drawn: Measurand, k: int) -> tuple[Measurand, Measurand]:
    """A surface read with the noise of the draw before the last k, and the draws before all of these."""
    if value.heights_mm is None or drawn.heights_mm is None:
        raise ValueError("a surface without heights")
    noise = drawn.heights_mm[-1 - k] - value.heights_mm
    kept = slice(0, min(SURFACE_DRAWS, len(drawn.heights_mm) - NOISY))
    read = replace(value, heights_mm=value.heights_mm + noise)
    return read, replace(
        drawn, heights_mm=drawn.heights_mm[kept] + noise, vectors=tuple(v[kept] for v in drawn.vectors)
    )


def _shifted(m: Measurand, step: Array) -> Measurand:
    """The measurand with its vectors moved by `step` (k,); a plane's heights lean or rise with them."""
    heights = m.heights_mm
    if heights is not None and m.kind == "place":
        heights = heights + step
    elif heights is not None and m.uv_mm is not None and m.directions is not None:
        heights = heights + m.uv_mm @ m.directions.T @ step
    return replace(m, vectors=tuple(v + step for v in m.vectors), heights_mm=heights)


def _worst(errors: Array) -> Array:
    """The unit direction (k,) in which errors (draws, k) are largest."""
    _, axes = np.linalg.eigh(errors.T @ errors)
    return axes[:, -1]


def _with_form(chain: Chain) -> Chain:
    """The chain with the assumed form among its sources, as the residuals of a judged part would bring it there."""
    if not chain.points.rows:
        return chain
    found = {}
    for name, surface in chain.value_surfaces.items():
        residuals = surface.feature.residuals_mm
        free = len(residuals) - AT_LEAST[surface.feature.nominal.kind]
        sd = float(np.sqrt((residuals**2).sum() / free)) if free > 0 else 0.0
        if sd > 1e-6:
            found[name] = (sd, float(free))
    return chain.with_form(FormErrors(found))
