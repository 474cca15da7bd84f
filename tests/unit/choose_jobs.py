"""Jobs and classes for the tests of choosing: the block, a bar of one metre, and classes of other sharpness."""

from collections.abc import Mapping
from dataclasses import replace
from math import inf
from pathlib import Path

from simulated_job import TEXT

from trysquare.instruments.catalogue import InstrumentClass, classes
from trysquare.jobs.job import Job
from trysquare.jobs.loading.load import load

#: Two end faces one metre apart and a bore that helps to place the part; nothing else can err but the instrument and
#: the temperature.
BAR = """
format = "trysquare-job/1"
title = "Bar"
units = "mm"
standard = "ISO 8015:2011"
seed = 11
[part]
name = "Bar"
[[part.zone]]
name = "bar"
material = "steel"
temperature = { value = 20, u = 0.3 }
[place]
name = "Hall"
[feature.left]
plane = { point = [0, 0, 0], normal = [-1, 0, 0], size = [80, 80], along = [0, 1, 0] }
points = 16
[feature.right]
plane = { point = [1000, 0, 0], normal = [1, 0, 0], size = [80, 80], along = [0, 1, 0] }
points = 16
[feature.top]
plane = { point = [500, 0, 40], normal = [0, 0, 1], size = [800, 80], along = [1, 0, 0] }
[[requirement]]
id = "length"
on = ["left", "right"]
distance = { nominal = 1000, lower = -0.05, upper = 0.05 }
"""


def job_of(text: str, folder: Path) -> Job:
    """The job of this text, as planned."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "job.toml").write_text(text, encoding="utf-8")
    return load(folder, measured=False)


def block_job(folder: Path) -> Job:
    """The block of the simulation tests."""
    return job_of(TEXT, folder)


def sharper(by: float, *names: str) -> dict[str, InstrumentClass]:
    """Classes of the catalogue (all, or those named) with every figure `by` times as large."""
    return {
        name: _with(cls, {k: {"u": p.u * by} for k, p in cls.parameters.items()})
        for name, cls in classes().items()
        if not names or name in names
    }


def certain(name: str, figures: Mapping[str, float]) -> dict[str, InstrumentClass]:
    """One class with these figures, all known for sure; those not named are nothing."""
    cls = classes()[name]
    return {name: _with(cls, {k: {"u": figures.get(k, 0.0), "dof": inf} for k in cls.parameters})}


def _with(cls: InstrumentClass, changes: Mapping[str, Mapping[str, float]]) -> InstrumentClass:
    return replace(cls, parameters={k: replace(p, **changes[k]) for k, p in cls.parameters.items()})
