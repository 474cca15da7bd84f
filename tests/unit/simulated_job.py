"""A small job for simulated measurements: two stations around a block, its features seen from either side."""

from pathlib import Path

import numpy as np

from trysquare.jobs.instruments import instruments_of
from trysquare.jobs.loading.load import load
from trysquare.jobs.simulated.survey import HandVisit, Survey, Visit

TEXT = """
format = "trysquare-job/1"
title = "Block"
units = "mm"
standard = "ISO 8015:2011"
seed = 7
tie = ["T1", "T2", "T3", "T4", "T5"]
[part]
name = "Block"
[[part.zone]]
name = "body"
material = "cast iron, grey"
temperature = { value = 25.5, u = 0.4, gradient = { along = [0, 0, 1], per_m = 1.5 } }
anchor = [500, 200, 0]
[place]
name = "Hall"
altitude = "100 m"
[place.air]
temperature = { value = 24, u = 0.5 }
pressure = { value = "100 kPa", u = "50 Pa" }
humidity = { value = 45, u = 10 }
co2 = { value = 450, u = 50 }
[target.ball]
diameter = 38.1
u_radius = "2 um"
centring = "2 um"
[instrument.tracker-1]
class = "laser tracker"
[instrument.gauge-1]
class = "bore gauge"
[instrument.calliper-1]
class = "calliper"
[feature.front]
plane = { point = [500, 0, 300], normal = [0, -1, 0], size = [1000, 600], along = [1, 0, 0] }
[feature.rear]
plane = { point = [500, 400, 300], normal = [0, 1, 0], size = [1000, 600], along = [1, 0, 0] }
[feature.side]
plane = { point = [0, 200, 300], normal = [-1, 0, 0], size = [400, 600], along = [0, 1, 0] }
[feature.bore]
cylinder = { point = [500, 30, 300], axis = [0, 1, 0], diameter = 120, length = 60, inside = true }
[feature.hole]
cylinder = { point = [800, 380, 450], axis = [0, 1, 0], diameter = 80, length = 40, inside = true }
[feature.boss]
cylinder = { point = [200, -15, 450], axis = [0, 1, 0], diameter = 90, length = 30, inside = false }
[feature.ball]
sphere = { point = [700, 100, 700], diameter = 50, inside = false }
[datum]
A = "front"
B = "bore"
C = "side"
[[requirement]]
id = "size"
on = "bore"
size = { nominal = 120, lower = 0, upper = 0.05, operator = "least-squares" }
[[requirement]]
id = "boss"
on = "boss"
size = { nominal = 90, lower = -0.05, upper = 0, operator = "least-squares" }
[[requirement]]
id = "local"
on = "hole"
size = { nominal = 80, lower = -0.1, upper = 0.1 }
[[requirement]]
id = "depth"
on = ["front", "rear"]
distance = { nominal = 400, lower = -0.1, upper = 0.1 }
[[requirement]]
id = "axes"
on = ["bore", "hole"]
distance = { nominal = 335.4102, lower = -0.1, upper = 0.1 }
[[requirement]]
id = "angle"
on = ["front", "side"]
angle = { nominal = "90 deg", lower = "-0.05 deg", upper = "0.05 deg" }
[[requirement]]
id = "flat"
on = "front"
flatness = { zone = 0.05 }
[[requirement]]
id = "parallel"
on = "rear"
parallelism = { zone = 0.1, datums = ["A"] }
[[requirement]]
id = "square"
on = "side"
perpendicularity = { zone = 0.1, datums = ["A"] }
[[requirement]]
id = "axis"
on = "bore"
perpendicularity = { zone = "diameter 0.05", datums = ["A"] }
[[requirement]]
id = "position"
on = "hole"
position = { zone = "diameter 0.2", datums = ["A", "B", "C"] }
[[requirement]]
id = "gauged"
on = "bore"
size = { nominal = 120, lower = 0, upper = 0.05 }
[[requirement]]
id = "span"
on = ["front", "rear"]
distance = { nominal = 400, lower = -0.1, upper = 0.1 }
[[station]]
name = "1"
instrument = "tracker-1"
at = [200, -2600, 900]
[[station]]
name = "2"
instrument = "tracker-1"
at = [900, 3000, 900]
[[hand]]
instrument = "gauge-1"
[[hand]]
instrument = "calliper-1"
"""
TIES = {
    "T1": (-500, -300, 0), "T2": (1500, 700, 100), "T3": (-450, 600, 1200), "T4": (1450, -200, 1300),
    "T5": (500, 200, 1700),
}  # fmt: skip


def block(folder: Path):
    """The job as planned, with its instruments."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "job.toml").write_text(TEXT, encoding="utf-8")
    job = load(folder, measured=False)
    return job, instruments_of(job)


def round_the_block(*, faces=(1,)) -> Survey:
    """Front, side, bore, boss and ball from station 1; rear and hole from station 2; two hand tools."""
    visits = [Visit("1", name, "ball", faces=faces) for name in ("front", "side", "bore", "boss", "ball")]
    visits += [Visit("2", name, "ball", faces=faces) for name in ("rear", "hole")]
    hand = (
        HandVisit("gauge-1", "gauged", {"near": (0.0, -20.0), "far": (1.0, 20.0)}, 2, 25.95),
        HandVisit("calliper-1", "span", {"left": (0.0, 0.0), "right": (0.0, 0.0)}, 2),
    )
    ties = {name: np.array(at, dtype=float) for name, at in TIES.items()}
    return Survey(tuple(visits), ties, tie_target="ball", hand=hand)
