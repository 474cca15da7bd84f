"""A job in memory: frozen records with inside units (mm, rad, degC, Pa, 1) and read-only arrays.

Made by `load.load` from a job folder, whose format docs/job-file.md describes; nothing here reads a file.
"""

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array
from ..tolerances.general import General
from ..tolerances.nominal import Nominal

#: Characteristics that a requirement may ask for: exactly one each.
CHARACTERISTICS = ("size", "radius", "distance", "angle", "flatness", "parallelism", "perpendicularity", "position")
#: Those with a nominal and two limits; the others have a zone from 0.
DIMENSIONS = ("size", "radius", "distance", "angle")


@dataclass(frozen=True)
class InputFile:
    """A file that was read, so that a result can say which bytes it rests on. `file` is relative to the folder."""

    file: str
    sha256: str
    bytes: int


@dataclass(frozen=True)
class PartInfo:
    """Which part, in which state, and who must sign where it can hurt someone."""

    name: str
    drawing: str | None
    revision: str | None
    serial: str | None
    measured: str | None
    state: str
    supports: str | None
    safety_critical: bool
    sign_off: str | None


@dataclass(frozen=True)
class Zone:
    """A piece of the part with one material. `alpha`, `u_alpha` 1/K; `gradient` (3,) K/mm from `anchor_mm`.

    `temperature_degC` None: nobody measured it; then nothing is corrected and `u_temperature` (K) is large.
    """

    name: str
    material: str
    alpha: float
    u_alpha: float
    alpha_origin: str
    temperature_degC: float | None
    u_temperature: float
    gradient: Array
    anchor_mm: Array


@dataclass(frozen=True)
class Air:
    """The air on the line of sight, with standard uncertainties. `assumed`: nobody measured it."""

    temperature_degC: float
    u_temperature: float
    pressure_Pa: float
    u_pressure: float
    humidity_percent: float
    u_humidity: float
    co2_ppm: float
    u_co2: float
    assumed: bool


@dataclass(frozen=True)
class Place:
    name: str
    altitude_m: float | None
    air: Air


@dataclass(frozen=True)
class Prior:
    """What was known before the measurement, as a deviation from the nominal (mm or rad), and from where."""

    mean: float
    sd: float
    origin: str


@dataclass(frozen=True)
class DecisionRule:
    """ISO 14253-1: who must prove what, with which probability."""

    rule: str
    who_proves: str
    prove: str
    probability: float
    prior: Prior | None


@dataclass(frozen=True)
class Feature:
    """A feature of the drawing. `points`: how many to plan; `form_*` the prior of its own form, mm, where known."""

    name: str
    nominal: Nominal
    zone: str
    points: int | None
    form_expected_mm: float | None
    form_wavelength_mm: float | None


@dataclass(frozen=True)
class Requirement:
    """What the drawing says, once. `nominal`, `lower`, `upper` are absolute, mm or rad; a zone has lower 0.

    `line` is its line in the job file; `prior` its own or the decision's. `code` is that of ISO 286 where the size has
    one; `said` what the drawing's code or general tolerance was taken to mean. `state` is the one that the drawing
    demands ("free" or "restrained"), None where it says nothing.
    """

    id: str
    name: str
    characteristic: str
    on: tuple[str, ...]
    datums: tuple[str, ...]
    nominal: float | None
    lower: float | None
    upper: float | None
    diameter_zone: bool
    operator: str
    direction: Array | None
    sheet: str | None
    grid: str | None
    critical: bool
    prior: Prior | None
    line: int
    code: str | None = None
    said: tuple[str, ...] = ()
    revision: str | None = None
    key: bool = False
    state: str | None = None


@dataclass(frozen=True)
class Record:
    """What somebody found of an attribute: "accept", "reject" or "undecided", by whom, when; `line` of `file`."""

    result: Literal["accept", "reject", "undecided"]
    by: str
    when: str
    note: str
    file: str
    line: int


@dataclass(frozen=True)
class Attribute:
    """A requirement without a number: a gauge, a thread, a look. `what` is its kind, `demand` what must hold."""

    id: str
    name: str
    what: str
    demand: str
    on: tuple[str, ...]
    sheet: str | None
    grid: str | None
    critical: bool
    line: int
    records: tuple[Record, ...] = ()
    revision: str | None = None
    key: bool = False


@dataclass(frozen=True)
class Target:
    """A reflector ball or a probe tip. `centring_mm`: standard uncertainty of its optical centre, each direction."""

    name: str
    radius_mm: float
    u_radius_mm: float
    centring_mm: float
    origin: str


@dataclass(frozen=True)
class Nest:
    """A nest that holds a ball of diameter `takes_mm` with its centre `height_mm` above the surface."""

    name: str
    takes_mm: float
    height_mm: float
    u_height_mm: float


@dataclass(frozen=True)
class InstrumentSpec:
    """An instrument of a catalogue class. `overrides` replace figures of the class by those of a certificate."""

    name: str
    class_name: str
    serial: str | None
    overrides: dict[str, dict[str, Any]]
    file: str | None


@dataclass(frozen=True)
class Readings:
    """The readings of one station, n rows in file order.

    `on` names a feature or tie point, `aims` what was aimed at ("on/point": repeats share it), `ids` each reading
    once in the job; `targets` and `nests` are "" where there is none. `obs` (n, 3): azimuth rad, elevation rad,
    range mm when `polar`, else x, y, z mm. `lines` (n,) are line numbers in `file`.
    """

    file: str
    on: tuple[str, ...]
    aims: tuple[str, ...]
    ids: tuple[str, ...]
    targets: tuple[str, ...]
    nests: tuple[str, ...]
    face: npt.NDArray[np.int64]
    obs: Array
    lines: npt.NDArray[np.int64]
    polar: bool = True

    def __len__(self) -> int:
        return len(self.ids)


@dataclass(frozen=True)
class Station:
    """A set-up of an instrument. `at_mm` is where it stands, roughly, in the part frame."""

    name: str
    instrument: str
    readings: Readings | None
    at_mm: Array | None
    air: Air


@dataclass(frozen=True)
class HandSet:
    """Readings of one hand tool: `value_mm` (n,) land on requirements; `temperature_degC` (n,) nan where absent."""

    instrument: str
    file: str
    requirement: tuple[str, ...]
    place: tuple[str, ...]
    value_mm: Array
    temperature_degC: Array
    lines: npt.NDArray[np.int64]


@dataclass(frozen=True)
class Job:
    """One part type with what its drawing requires, and how it is measured. All that the folder says, checked."""

    folder: Path
    title: str
    standard: str
    seed: int
    draws: int
    part: PartInfo
    zones: dict[str, Zone]
    place: Place
    decision: DecisionRule
    features: dict[str, Feature]
    datums: dict[str, str]
    requirements: tuple[Requirement, ...]
    targets: dict[str, Target]
    nests: dict[str, Nest]
    ties: tuple[str, ...]
    instruments: dict[str, InstrumentSpec]
    stations: tuple[Station, ...]
    hand: tuple[HandSet, ...]
    inputs: tuple[InputFile, ...]
    warnings: tuple[str, ...]
    general: General | None = None
    attributes: tuple[Attribute, ...] = ()
    associations: dict[str, str] = field(default_factory=dict)

    def carriers(self, datum: str) -> tuple[str, ...]:
        """Features behind one entry of a datum list: that of a letter, or those of a common datum such as "A-B"."""
        return tuple(self.datums[letter] for letter in letters_of(datum))

    def needed(self, requirement: Requirement) -> list[str]:
        """Features that a requirement rests on, each once: its own, then those of its datums."""
        return list(dict.fromkeys([*requirement.on, *(n for d in requirement.datums for n in self.carriers(d))]))


def letters_of(datum: str) -> tuple[str, ...]:
    """The letters of one entry of a datum list: one, or those of a common datum."""
    return tuple(datum.split("-"))
