"""The instruments of a job, built from the catalogue and the figures of their certificates."""

from ..instruments.base import PointInstrument
from ..instruments.catalogue import build
from ..instruments.hand import HandTool
from .job import Job


def instruments_of(job: Job) -> dict[str, PointInstrument | HandTool]:
    """Every instrument that the job names, by its name in the job."""
    return {name: build(spec.class_name, name, overrides=spec.overrides) for name, spec in job.instruments.items()}
