"""Do stated 95 % intervals of a position against two journals at once (A-B) hold the truth? Truth from 0 to 12 um.

A shaft on two journals of 40 and 60 mm, 200 mm apart, with a seat of 80 mm between them, touched at 12, 24 and 18
points with independent errors of 5 um along the normal. The true axis of the seat lies off that of the journals by the
row's truth, in a direction of its own in every virtual measurement. The draws go the whole way from points to seat,
axis and position, as in a job. Negative controls: percentiles of the drawn positions; the same statement with the
journals one after the other (A, then B), which is another datum where they are not coaxial, by the row's `bent` um.
"""

from typing import Any

import numpy as np
from scipy.stats import binom

from trysquare.chance.magnitude import largest, magnitude
from trysquare.core.arrays import Array
from trysquare.tolerances.features import associate
from trysquare.tolerances.measurand import Asked, Measurand, Surface, measurand
from trysquare.tolerances.nominal import Nominal
from trysquare.tolerances.seating import seat

Z = np.array([0.0, 0.0, 1.0])
FRONT = Nominal("cylinder", np.array([0.0, 0.0, -100.0]), Z, 40.0, 30.0)
REAR = Nominal("cylinder", np.array([0.0, 0.0, 100.0]), Z, 60.0, 30.0)
SEAT = Nominal("cylinder", np.array([0.0, 0.0, 0.0]), Z, 80.0, 40.0)
COUNTS = {"front": 12, "rear": 24, "seat": 18}
NOMINALS = {"front": FRONT, "rear": REAR, "seat": SEAT}
S_MM = 0.005
ROWS = ((0.0, 0.0), (3.0, 0.0), (12.0, 0.0), (3.0, 40.0))
_ASKED = Asked("position", ("seat",))


def run(quick: bool = False) -> dict[str, Any]:
    """One row for each true offset and bend of the journals."""
    measurements, draws = (60, 200) if quick else (400, 400)
    rows = [row(truth, bent, measurements, draws) for truth, bent in ROWS]
    return {"rows": rows, "draws": draws}


def row(truth_um: float, bent_um: float, measurements: int, draws: int) -> dict[str, Any]:
    """Coverage of one truth: twice the offset of the seat's axis from that of both journals."""
    rng = np.random.default_rng([2029, int(truth_um), int(bent_um)])
    exact = _points({"front": np.zeros(2), "rear": np.zeros(2), "seat": np.zeros(2)})
    held = control = apart = 0
    for _ in range(measurements):
        a, b = rng.uniform(0.0, 2.0 * np.pi, 2)
        bend = bent_um / 1000 * np.array([np.cos(b), np.sin(b)])
        shifts = {"front": bend, "rear": -bend, "seat": np.zeros(2)}
        middle = _middle(_points(shifts))
        shifts["seat"] = middle + truth_um / 1000 * np.array([np.cos(a), np.sin(a)])
        true = _points(shifts)
        read = {name: p + _errors(rng, exact[name], ()) for name, p in true.items()}
        drawn = {name: p + _errors(rng, exact[name], (draws,)) for name, p in read.items()}
        target = _length(_asked(true, [2]))
        for together in ([2], [1, 1]):
            value, spread = _asked(read, together), _asked(drawn, together)
            said = largest([magnitude(v, d, scale=2.0) for v, d in zip(value.vectors, spread.vectors, strict=True)])
            if said.interval is None:
                raise ValueError("magnitudes are always stated")
            inside = said.interval[0] <= target <= said.interval[1]
            held, apart = held + (inside and together == [2]), apart + (inside and together != [2])
            if together == [2]:
                low, high = np.quantile(_length(spread), [0.025, 0.975], method="weibull")
                control += low <= target <= high
    low, high = binom.interval(0.99, measurements, 0.95)
    return {
        "characteristic": "position to A-B", "truth_um": truth_um, "bent_um": bent_um, "measurements": measurements,
        "coverage_percent": 100.0 * held / measurements,
        "binomial_99_percent": f"{100 * low / measurements:.1f} to {100 * high / measurements:.1f}",
        "percentiles_coverage_percent (negative control)": 100.0 * control / measurements,
        "one_after_the_other_percent (negative control)": 100.0 * apart / measurements,
    }  # fmt: skip


def _points(shifts: dict[str, Array]) -> dict[str, Array]:
    """Points on three rings of every cylinder, its axis shifted across."""
    out = {}
    for name, nominal in NOMINALS.items():
        n = COUNTS[name] // 3
        a, r = np.tile(np.arange(n) * 2 * np.pi / n, 3), (nominal.diameter_mm or 0.0) / 2
        z = nominal.point_mm[2] + np.repeat([-0.4, 0.0, 0.4], n) * (nominal.length_mm or 0.0)
        x, y = shifts[name]
        out[name] = np.column_stack([x + r * np.cos(a), y + r * np.sin(a), z])
    return out


def _middle(points: dict[str, Array]) -> Array:
    """Where the common axis of the journals crosses the middle of the seat."""
    T = seat([points["front"], points["rear"]], [FRONT, REAR], together=[2]).T_datum_part.inverse()
    return np.asarray(T.apply(np.zeros((1, 3)))[0, :2])


def _errors(rng: np.random.Generator, points: Array, lead: tuple[int, ...]) -> Array:
    normals = points * [1.0, 1.0, 0.0]
    normals = normals / np.linalg.norm(normals, axis=-1, keepdims=True)
    return np.asarray(S_MM * rng.normal(size=(*lead, len(points), 1)) * normals)


def _asked(points: dict[str, Array], together: list[int]) -> Measurand:
    seated = seat([points["front"], points["rear"]], [FRONT, REAR], together=together)
    surface = Surface(points["seat"], associate(points["seat"], SEAT, where="seat"))
    return measurand(_ASKED, {"seat": surface}, seated)


def _length(m: Measurand) -> Array:
    """Twice the greater distance of the two ends, (...)."""
    return np.asarray(m.scale * np.max([np.linalg.norm(v, axis=-1) for v in m.vectors], axis=0))
