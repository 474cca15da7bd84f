"""The instruments of a case: those of the job where it has some of this class, else one as the class has it."""

from collections.abc import Mapping
from dataclasses import replace
from math import sqrt

from ..core.errors import InputError
from ..instruments.base import PointInstrument
from ..instruments.cartesian import Cartesian
from ..instruments.catalogue import InstrumentClass, build
from ..instruments.hand import HandTool
from ..jobs.job import Job
from .conditions import BLOCK


def built(job: Job, cls: InstrumentClass, known: Mapping[str, InstrumentClass]) -> dict[str, PointInstrument]:
    """The instruments of the job's stations by name, each with the figures of `cls`.

    A certificate of the job counts where it belongs to an instrument of this very class.
    """
    out: dict[str, PointInstrument] = {}
    for name in dict.fromkeys(s.instrument for s in job.stations):
        spec = job.instruments.get(name)
        own = spec.overrides if spec is not None and spec.class_name == cls.name else None
        instrument = build(cls.name, name, own, known=known)
        if isinstance(instrument, HandTool):
            raise InputError(f'class "{cls.name}"', "its model", "see points", "hand", "Choose another class.")
        out[name] = _in_blocks(instrument) if cls.touches == "surface" else instrument
    return out


def tool(cls: InstrumentClass, known: Mapping[str, InstrumentClass]) -> HandTool:
    """The hand tool of a class."""
    made = build(cls.name, cls.name, known=known)
    if not isinstance(made, HandTool):
        raise InputError(f'class "{cls.name}"', "its model", "be a hand tool", cls.model, "Choose another class.")
    return made


def _in_blocks(instrument: PointInstrument) -> PointInstrument:
    """A scanner whose readings are means of blocks: only the noise of single readings falls."""
    if not isinstance(instrument, Cartesian):
        return instrument
    noise = instrument.parameters["noise"]
    return replace(instrument, parameters={**instrument.parameters, "noise": replace(noise, u=noise.u / sqrt(BLOCK))})
