"""The demo's part as it really is, and how it is measured: all invented.

True deviations were chosen so that three requirements are truly beyond their limits, a few lie close to one, and most
are well within. Errors of the measurement are not chosen: they are drawn from the seed of the truth.
"""

import math
from pathlib import Path

import numpy as np

from ..jobs.simulated.survey import HandVisit, Survey, Visit
from ..jobs.simulated.true_shape import Shape, Truth

#: The job folder as the engineer wrote it, without readings.
FOLDER = Path(__file__).parent / "fan_bearer"
FILES = ("job.toml", "tracker-1.toml")
#: Seed of the true errors. Chosen once, before the first run, and never again.
TRUTH_SEED = 1123

BALL = "ball-38"
_BOTH = (1, 2)

SHAPES = {
    "front": Shape(form_mm=0.035, wavelength_mm=600),
    "rear": Shape((0.0, 0.02, 0.0), (3e-5, 0.0, -1e-5), form_mm=0.028, wavelength_mm=500),
    "left": Shape(turn_rad=(0.0, 0.0, 3e-5), form_mm=0.018, wavelength_mm=400),
    "right": Shape((0.112, 0.0, 0.0), (0.0, 4e-5, 2e-5), form_mm=0.02, wavelength_mm=400),
    "top": Shape(turn_rad=(2e-5, 1e-5, 0.0), form_mm=0.068, wavelength_mm=500),
    "duct": Shape(turn_rad=(-1.4e-4, 0.0, 0.0), form_mm=0.018, wavelength_mm=200),
    "ledge": Shape((0.0, 0.0, -0.012)),
    "slot-left": Shape((-0.01, 0.0, 0.0)),
    "slot-right": Shape((0.01, 0.0, 0.0)),
    "front-seat": Shape((0.012, 0.0, 0.015), (2e-4, 0.0, 1e-4), 0.027, 0.008, 250),
    "rear-seat": Shape((0.055, 0.0, -0.035), (-2e-4, 0.0, 2e-4), 0.0425, 0.004, 250),
    "spigot": Shape((0.015, 0.0, -0.02), (0.0, 0.0, 0.0), -0.03, 0.012, 300),
    "dowel-left": Shape((0.0, 0.0, 0.0), (1.5e-4, 0.0, -1.5e-4), 0.016, 0.005, 100),
    "dowel-right": Shape((-0.0128, 0.0, -0.0079), (1e-4, 0.0, 0.0), 0.018, 0.005, 100),
    "port": Shape((0.05, 0.0, -0.04), (0.0, 0.0, 0.0), 0.03, 0.01, 120),
    "drain": Shape((0.0, 0.0, 0.0), (0.0, 0.0, 0.0), 0.06, 0.03, 60),
    "journal": Shape((0.0, 0.0, 0.0), (0.0, 0.0, 0.0), -0.016, 0.006, 150),
    "bolt-1": Shape((0.06, 0.0, 0.05), (1e-4, 0.0, 2e-4), 0.02, 0.02, 80),
    "bolt-2": Shape((-0.09, 0.0, 0.04), (0.0, 0.0, -2e-4), 0.03, 0.02, 80),
    "bolt-3": Shape((0.1, 0.0, -0.163), (2e-4, 0.0, 0.0), 0.01, 0.02, 80),
    "bolt-4": Shape((0.2, 0.0, 0.17), (-1e-4, 0.0, 1e-4), 0.02, 0.02, 80),
    "bolt-5": Shape((-0.03, 0.0, -0.02), (0.0, 0.0, 1e-4), 0.04, 0.02, 80),
    "bolt-6": Shape((0.08, 0.0, -0.1), (1e-4, 0.0, 1e-4), 0.02, 0.02, 80),
    "sight-ball": Shape((0.0, 0.0, 0.03), form_mm=0.003, wavelength_mm=40),
}

_TIES = {
    "T1": (-900, -600, -150), "T2": (-950, 1200, 1500), "T3": (2500, -500, 1600), "T4": (2550, 1300, -100),
    "T5": (-700, 300, 1900), "T6": (2300, 400, 2000), "T7": (-1100, 400, 600), "T8": (2700, 300, 700),
}  # fmt: skip
_FROM_1 = (
    "front", "left", "duct", "front-seat", "dowel-left", "dowel-right", "port", "bolt-1", "bolt-2", "bolt-3", "bolt-4",
    "bolt-5", "bolt-6", "sight-ball",
)  # fmt: skip
_FROM_2 = ("rear", "right", "rear-seat", "spigot")


def truth(seed: int = TRUTH_SEED) -> Truth:
    """The true part; `seed` draws its form and every error of its measurement."""
    return Truth(seed, SHAPES)


def survey() -> Survey:
    """Every feature from the station that sees it, the top from both, each point in both faces; then the hand tools."""
    visits = [
        *(Visit("1", name, BALL, faces=_BOTH) for name in _FROM_1),
        Visit("1", "top", BALL, rows=(0, 2), faces=_BOTH),
        *(Visit("2", name, BALL, faces=_BOTH) for name in _FROM_2),
        Visit("2", "top", BALL, rows=(1, 2), faces=_BOTH),
    ]
    ties = {name: np.array(at, dtype=np.float64) for name, at in _TIES.items()}
    return Survey(tuple(visits), ties, tie_faces=_BOTH, tie_target=BALL, hand=_hand())


def _hand() -> tuple[HandVisit, ...]:
    """Hand tools; the thermometer on the part beside each place, whose top is warmer."""
    return (
        HandVisit("bore-gauge-280", "14", _places(20.0), 3, _temperature(550)),
        HandVisit("bore-gauge-240", "18", _places(20.0), 3, _temperature(550)),
        HandVisit("bore-gauge-90", "21", _places(12.0), 3, _temperature(150)),
        HandVisit("bore-gauge-90", "23", _places(12.0), 3, _temperature(950)),
        HandVisit("micrometer-125", "36", _places(15.0), 3, _temperature(100)),
        HandVisit("calliper-1", "37", {"front": (0.0, 0.0), "middle": (0.0, 0.0), "back": (0.0, 0.0)}, 3,
                  _temperature(1085)),
        HandVisit("calliper-1", "39", _places(10.0), 2, _temperature(60)),
        HandVisit("height-gauge-1", "38", {"front": (0.0, 0.0), "back": (0.0, 0.0)}, 3, _temperature(1042)),
    )  # fmt: skip


def _places(height_mm: float) -> dict[str, tuple[float, float]]:
    """Three diameters in each of two sections."""
    return {
        f"{section} {turn}": (math.radians(turn), height)
        for section, height in (("near", -height_mm), ("far", height_mm))
        for turn in (0, 60, 120)
    }


def _temperature(z_mm: float) -> float:
    """What the job file says of the casting at this height, degC."""
    return 24.4 + 0.8e-3 * (z_mm - 550.0)
