"""The chain of one job: readings to the measurand of every requirement, as a value or for any draws.

There is one code path: without draws it is the value, with draws it is the Monte Carlo run (JCGM 101:2008, 7).
"""

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import replace
from functools import cached_property

import numpy as np

from ..chance.sources import Draws, Source
from ..core.arrays import Array
from ..core.errors import InputError, NumericalError
from ..core.frames import dot
from ..instruments.base import PointInstrument
from ..instruments.hand import HandTool
from ..tolerances.contact import contact_seat
from ..tolerances.features import associate
from ..tolerances.measurand import Asked, Measurand, Surface, corners_of, measurand, opposite_points
from ..tolerances.seating import Seat, seat
from .by_hand import HandChain
from .form import FormErrors
from .job import Job, Requirement
from .points import PointChain
from .systems import norms_of, touches


class Chain:
    """Prepared once; `run` is pure. `form` holds what the residuals say of each feature's own form."""

    def __init__(self, job: Job, instruments: Mapping[str, PointInstrument | HandTool]) -> None:
        self.job = job
        seeing = {k: v for k, v in instruments.items() if not isinstance(v, HandTool)}
        tools = {k: v for k, v in instruments.items() if isinstance(v, HandTool)}
        self.points = PointChain(job, seeing)
        self.hand = HandChain(job, tools)
        self.form = FormErrors({})
        self.crowned: frozenset[str] = frozenset()
        self.asked: dict[str, Asked] = {}
        self.unmeasured: dict[str, str] = {}
        for requirement in job.requirements:
            if requirement.id not in self.hand.requirements:
                self._ask(requirement)

    def with_form(self, form: FormErrors, *, crowned: frozenset[str] = frozenset()) -> "Chain":
        """The same chain with the form of features among its sources; `crowned` are primary planes that rock."""
        other = copy(self)
        other.form, other.crowned = form, crowned
        other.__dict__.pop("sources", None)
        return other

    @cached_property
    def sources(self) -> tuple[Source, ...]:
        """Every source of the job, each once."""
        found = [*self.points.sources, *self.hand.sources, *self.form.sources]
        return tuple({source.name: source for source in found}.values())

    def run(self, draws: Draws | None = None) -> dict[str, Measurand]:
        """The measurand of every requirement that can be had, by id; with `draws.only`, of those that can move."""
        out: dict[str, Measurand] = {}
        if _moves([*self.points.sources, *self.form.sources], draws):
            asked = self.asked if draws is None else {k: v for k, v in self.asked.items() if k not in self.touching}
            out |= measure(self.job, asked, self.surfaces(draws))
        if _moves(self.hand.sources, draws):
            out |= self.hand.run(draws)
        return out

    def surfaces(self, draws: Draws | None = None) -> dict[str, Surface]:
        """Surface points and associated features in the placed part frame, at 20 degC."""
        out = {}
        for name, points in self.points.run(draws).items():
            if name not in self._usable:
                continue
            nominal, real = self.job.features[name].nominal, points
            if draws is not None and name in self.form.found:
                real = points + self.form.errors(name, self._keys(name), draws)[..., None] * self._normals(name)
            out[name] = Surface(real, associate(real, nominal, where=f'feature "{name}"'), points)
        return out

    @cached_property
    def touching(self) -> dict[str, Measurand]:
        """The values that requirements whose datums touch would have by least squares; their draws are not run."""
        found = {r.id: self.asked[r.id] for r in self.job.requirements if r.id in self.asked and _touches(self.job, r)}
        return measure(replace(self.job, associations={}), found, self.value_surfaces) if found else {}

    @cached_property
    def value_surfaces(self) -> dict[str, Surface]:
        """The surfaces of the value run."""
        return self.surfaces()

    def stations_of(self, requirement: Requirement) -> list[tuple[str, str]]:
        """Instruments and stations (empty for a hand tool) behind a requirement, each once, in order."""
        if requirement.id in self.hand.requirements:
            return [(tool, "") for tool in self.hand.tools_of(requirement.id)]
        found: dict[tuple[str, str], None] = {}
        instruments = {s.station.name: s.instrument.name for s in self.points.setups}
        for name in requirement.on:
            for i in self.points.rows.get(name, ()):
                station = self.points.stations[i]
                found[instruments[station], station] = None
        return list(found)

    def stations_behind(self, requirement: Requirement) -> frozenset[str]:
        """Stations that a requirement rests on, its datums included; none for a hand tool."""
        if requirement.id in self.hand.requirements:
            return frozenset()
        names = self.features_behind(requirement)
        return frozenset(self.points.stations[i] for name in names for i in self.points.rows.get(name, ()))

    def features_behind(self, requirement: Requirement) -> frozenset[str]:
        """Features that a requirement rests on, its datums included; none for a hand tool."""
        if requirement.id in self.hand.requirements:
            return frozenset()
        return frozenset(self.job.needed(requirement))

    def rests_on_crown(self, requirement: Requirement) -> bool:
        """Whether the primary datum of a requirement judged from points rocks."""
        judged = requirement.id in self.asked and requirement.datums
        return bool(judged) and self.job.carriers(requirement.datums[0])[0] in self.crowned

    def distances_m(self, requirement: Requirement) -> dict[str, float]:
        """How far each station stood from the requirement's features, m."""
        if requirement.id in self.hand.requirements or not self.points.setups:
            return {}
        at = self.points.station_positions()
        middle = np.mean([self.job.features[name].nominal.point_mm for name in requirement.on], axis=0)
        return {
            station: float(np.linalg.norm(at[station] - middle)) / 1000 for _, station in self.stations_of(requirement)
        }

    def _keys(self, name: str) -> list[str]:
        return [self.points.offsets.keys[i] for i in self.points.rows[name]]

    def _normals(self, name: str) -> Array:
        return self.points.normals[self.points.rows[name]]

    @cached_property
    def _usable(self) -> dict[str, None]:
        """Features that were measured and whose points carry a fit; why not, for the others, in `_unusable`."""
        return {name: None for name in self.points.rows if name not in self._unusable}

    @cached_property
    def _unusable(self) -> dict[str, str]:
        out: dict[str, str] = {}
        if not self.points.rows:
            return out
        for name, points in self.points.run(None).items():
            try:
                associate(points, self.job.features[name].nominal, where=f'feature "{name}"')
            except (NumericalError, InputError) as error:
                out[name] = str(error)
        return out

    def _ask(self, requirement: Requirement) -> None:
        for name in self.job.needed(requirement):
            if name not in self.points.rows:
                self.unmeasured[requirement.id] = f'not measured: no reading on feature "{name}"'
                return
            if name in self._unusable:
                self.unmeasured[requirement.id] = f"cannot be stated: {self._unusable[name]}"
                return
        if _touches(self.job, requirement):
            try:
                _seat(self.job, requirement.datums, self.value_surfaces)
            except NumericalError as error:
                self.unmeasured[requirement.id] = f"cannot be stated: the datums cannot be laid by touching: {error}"
                return
        pairs = None
        if requirement.characteristic == "size" and requirement.operator == "two-point":
            pairs = opposite_points(self.value_surfaces[requirement.on[0]])
            if len(pairs) == 0:
                self.unmeasured[requirement.id] = (
                    "cannot be stated: a two-point size needs diametrically opposite points, and there are none; "
                    'touch the feature in opposite pairs, or ask for operator = "least-squares"'
                )
                return
        on_plane = self.job.features[requirement.on[0]].nominal.kind == "plane"
        self.asked[requirement.id] = Asked(
            requirement.characteristic, requirement.on, requirement.direction, pairs,
            corners_of(self.value_surfaces[requirement.on[0]])
            if requirement.characteristic == "position" and on_plane else None,
        )  # fmt: skip


def _moves(sources: Sequence[Source], draws: Draws | None) -> bool:
    """Whether any of the sources acts in these draws."""
    return draws is None or draws.only is None or any(s.name in draws.only for s in sources)


def measure(job: Job, asked: Mapping[str, Asked], surfaces: Mapping[str, Surface]) -> dict[str, Measurand]:
    """The measurand of every requirement in `asked`, by id, on given surfaces: those of a run, or the true ones."""
    seats: dict[tuple[str, ...], Seat] = {}
    out: dict[str, Measurand] = {}
    for requirement in job.requirements:
        if requirement.id not in asked:
            continue
        datums = requirement.datums
        if datums and datums not in seats:
            seats[datums] = _seat(job, datums, surfaces)
        out[requirement.id] = measurand(asked[requirement.id], surfaces, seats.get(datums))
    return out


def _seat(job: Job, datums: tuple[str, ...], surfaces: Mapping[str, Surface]) -> Seat:
    named = [job.carriers(datum) for datum in datums]
    flat = [name for names in named for name in names]
    points, nominals = [surfaces[n].points_mm for n in flat], [job.features[n].nominal for n in flat]
    together, norms = [len(names) for names in named], norms_of(job, datums)
    if all(norm is None for norm in norms):
        return seat(points, nominals, together=together)
    return contact_seat(points, nominals, norms, together=together)


def _touches(job: Job, requirement: Requirement) -> bool:
    return touches(job, requirement.datums)


def residual_errors(drawn: Surface, value: Surface) -> tuple[Array, Array, Array]:
    """Residuals (n,) of the value, errors (draws, n) that the draws put on its points along the normals (n, 3)."""
    normals = np.broadcast_to(_normals_of(value), value.points_mm.shape)
    moved = drawn.points_mm - value.points_mm
    return value.feature.residuals_mm, dot(moved, np.broadcast_to(normals, moved.shape)), normals


def _normals_of(value: Surface) -> Array:
    feature = value.feature
    if feature.nominal.kind in ("plane", "point", "line") and feature.direction is not None:
        return feature.direction
    d = value.points_mm - feature.point_mm
    if feature.direction is not None:
        d = d - dot(d, feature.direction)[..., None] * feature.direction
    return (-1.0 if feature.nominal.inside else 1.0) * d / np.linalg.norm(d, axis=-1, keepdims=True)
