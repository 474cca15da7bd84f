"""An invented result: a pump housing with forty requirements of every kind that a report has to show."""

import math
from statistics import NormalDist

import numpy as np

from trysquare.chance.sources import LINKS
from trysquare.chance.statement import P_GRID
from trysquare.jobs.result import (
    AxisCloud,
    Contribution,
    Floor,
    Input,
    Interpretation,
    Judged,
    Next,
    Part,
    Result,
    Rule,
    Seen,
    Spot,
    Stated,
    Station,
    Tie,
)  # fmt: skip

_Z = [NormalDist().inv_cdf(p) for p in P_GRID]
_GUARD = 1.645
_RNG_SEED = 5

_FORM, _MAG, _SMOOTH = "extreme", "magnitude", "smooth"


def _zone(kind, ident, name, characteristic, on, datums, zone, value, u):  # type: ignore[no-untyped-def]
    return ident, name, characteristic, on, datums, None, 0.0, zone, value, u, kind


def _two(ident, name, characteristic, on, nominal, low, high, value, u):  # type: ignore[no-untyped-def]
    lower = None if low is None else nominal + low
    upper = None if high is None else nominal + high
    return ident, name, characteristic, on, "", nominal, lower, upper, value, u, _SMOOTH


#: id, name, characteristic, on, datums, nominal, lower, upper, value, u, kind
_ROWS = [
    _zone(_FORM, "10", "Base, whole", "flatness", "base", "", 0.25, 0.163, 0.019),
    _zone(_FORM, "11", "Motor seat", "flatness", "motor-seat", "", 0.12, 0.058, 0.011),
    _zone(_FORM, "12", "Suction flange", "flatness", "suction-flange", "", 0.16, 0.137, 0.015),
    _zone(_FORM, "13", "Discharge flange", "flatness", "discharge-flange", "", 0.35, 0.214, 0.028),
    _zone(_MAG, "14", "Motor seat to A", "parallelism", "motor-seat", "A", 0.28, 0.104, 0.023),
    _two("20", "Bearing bore, front", "size", "bore-front", 210, 0, 0.072, 210.029, 0.0071),
    _zone(_MAG, "21", "Bearing bore, front, to A", "perpendicularity", "bore-front", "A", 0.12, 0.051, 0.012),
    _two("22", "Bearing bore, rear", "size", "bore-rear", 180, 0, 0.063, 180.037, 0.0066),
    _two("30", "Seal seat 1", "size", "seal-1", 145, -0.02, 0.08, 145.031, 0.0082),
    _two("31", "Seal seat 2", "size", "seal-2", 145, -0.02, 0.08, 145.057, 0.0082),
    _two("32", "Seal seat 3", "size", "seal-3", 145, -0.02, 0.08, 145.016, 0.0082),
    _zone(_MAG, "34", "Dowel hole 1", "position", "dowel-1", "A B C", 0.40, 0.171, 0.028),
    _zone(_MAG, "35", "Dowel hole 2", "position", "dowel-2", "A B C", 0.40, 0.226, 0.033),
    _zone(_MAG, "36", "Dowel hole 3", "position", "dowel-3", "A B C", 0.40, 0.341, 0.041),
    _zone(_MAG, "37", "Dowel hole 4", "position", "dowel-4", "A B C", 0.40, 0.138, 0.030),
    _zone(_MAG, "38", "Bearing bore, rear, to A", "perpendicularity", "bore-rear", "A", 0.20, 0.089, 0.022),
    _two("40", "Flange faces apart", "distance", "suction-flange discharge-flange", 2520, -0.6, 0.6, 2520.21, 0.071),
    _two("41", "Bores apart, front", "distance", "bore-front bore-rear", 1200, -0.4, 0.4, 1200.06, 0.049),
    _two("42", "Bores apart, rear", "distance", "bore-front bore-rear", 1200, -0.4, 0.4, 1199.77, 0.051),
    _two("43", "Diagonals, difference", "distance", "dowel-1 dowel-3", 0, -0.8, 0.8, 0.66, 0.094),
    _two("44", "Flange axis, tilt", "angle", "suction-flange base", math.radians(60), math.radians(-0.05),
         math.radians(0.05), math.radians(60.012), math.radians(0.0074)),
    _zone(_MAG, "50", "Motor seat, front", "parallelism", "motor-seat", "B", 0.25, 0.344, 0.020),
    _zone(_MAG, "51", "Motor seat, rear, to the axis of both bearing bores taken together", "parallelism", "motor-seat",
          "B", 0.25, 0.117, 0.021),
    _zone(_MAG, "52", "Foot holes, front", "position", "foot-1", "A B C", 0.50, 0.279, 0.035),
    _zone(_MAG, "53", "Foot holes, rear", "position", "foot-2", "A B C", 0.50, 0.236, 0.037),
    _two("54", "Motor face to axis", "distance", "motor-seat bore-front", 640, -0.3, 0.3, 639.93, 0.032),
    _two("60", "Seat height, left", "distance", "motor-seat base", 412, -0.3, 0.3, 412.11, 0.026),
    _two("61", "Seat height, right", "distance", "motor-seat base", 412, -0.3, 0.3, 411.621, 0.027),
    _two("62", "Seat slope", "distance", "motor-seat base", 0, -0.5, 0.5, 0.023, 0.029),
    _zone(_MAG, "70", "Cover hole 1", "position", "cover-1", "A B C", 0.60, 0.304, 0.044),
    _zone(_MAG, "71", "Cover hole 2", "position", "cover-2", "A B C", 0.60, 0.538, 0.043),
    _zone(_MAG, "72", "Cover hole 3", "position", "cover-3", "A B C", 0.60, 0.259, 0.042),
    _two("73", "Lug width", "size", "lug", 48, -0.1, 0.1, 48.019, 0.013),
    _zone(_MAG, "80", "Volute, cast face, to A B C", "position", "volute", "A B C", 2.0, 4.58, 0.13),
    _two("90", "Wall left at the volute", "distance", "volute bore-front", 13, 0, None, 14.36, 0.31),
    _two("91", "Wall left at the foot", "distance", "foot-1 base", 11, 0, None, 11.31, 0.27),
    _two("92", "Total width over flanges", "distance", "suction-flange discharge-flange", 2540, None, 0, 2537.8, 0.14),
]  # fmt: skip
_AT = {
    "base": (600, 400, 0), "motor-seat": (300, 400, 412), "suction-flange": (0, 400, 300),
    "discharge-flange": (2520, 400, 300), "bore-front": (900, 250, 420), "bore-rear": (2100, 250, 420),
    "seal-1": (1200, 250, 420), "seal-2": (1500, 250, 420), "seal-3": (1800, 250, 420), "dowel-1": (150, 80, 0),
    "dowel-2": (150, 720, 0), "dowel-3": (2370, 720, 0), "dowel-4": (2370, 80, 0), "foot-1": (400, 60, 60),
    "foot-2": (2000, 60, 60), "cover-1": (1200, 700, 500), "cover-2": (1500, 700, 500), "cover-3": (1800, 700, 500),
    "lug": (2450, 400, 520), "volute": (1700, 560, 330),
}  # fmt: skip
_SIZE = {"base": 900, "motor-seat": 420, "suction-flange": 260, "discharge-flange": 260, "volute": 380}


def sample(count: int = 40) -> Result:
    """The result with `count` of its forty requirements."""
    chosen = [_judged(row) for row in _ROWS] + _special()
    chosen = chosen[: count - 3] + chosen[-3:] if count < len(chosen) else chosen
    totals = {verdict: sum(j.verdict == verdict for j in chosen) for verdict in ("accept", "undecided", "reject")}
    bad = totals["reject"]
    return Result(
        title="Pump housing, after machining", part_name="Pump housing", drawing="PH-310", revision="C", serial="0417",
        place="Hall 2, bay 4", measured="2026-11-20, 06:40 to 08:25", temperature_text="23.8 °C ± 0.6",
        standard="ISO 8015:2011",
        rule=Rule(standard="ISO 14253-1:2017", who_proves="supplier", prove="conformity", probability=0.95,
                  text="ISO 14253-1: the supplier proves conformity with a confidence of at least 95 %."),
        seed=12, draws=2000, versions={"trysquare": "0.1.0", "numpy": "2.4.6", "python": "3.11"},
        inputs=[Input(file=name, sha256=f"{i + 7:02x}" * 32, bytes=1200 + 377 * i)
                for i, name in enumerate(("job.toml", "station-1.csv", "station-2.csv", "bores.csv"))],
        interpretations=[
            Interpretation(about="Size of bores", text="ISO 14405-1: two-point size by default; a bore measured at "
                           "places is judged by the place nearest a limit."),
            Interpretation(about="36", text="ISO 5458: the position zone of a hole is a cylinder about the exact axis; "
                           "the median line is taken as the axis of the associated cylinder, because twelve points "
                           "do not show its bends."),
        ],
        warnings=["Air pressure was not measured at station 2; the value of station 1 was used with ± 2 hPa."],
        part=Part(verdict="reject" if bad else "undecided", joint_risk=None, **totals, sign_off="the welding engineer "
                  "named in the plant’s release procedure",
                  text=f"Reject: {bad} of {len(chosen)} requirements are proven not to conform, {totals['undecided']} "
                  "cannot be decided."),
        belief_at=list(P_GRID), requirements=chosen, floor=_floor(),
        tie=Tie(chi_square=31.2, dof=30, p=0.41, largest_residual_mm=0.043, at="T3"),
    )  # fmt: skip


def quantiles(kind: str, value: float, u: float) -> list[float]:
    """A stand-in belief: normal, or log-normal for amounts that cannot fall below zero."""
    if kind == _SMOOTH:
        return [value + u * z for z in _Z]
    s2 = math.log(1 + (u / value) ** 2)
    return [math.exp(math.log(value) + math.sqrt(s2) * z) for z in _Z]


def _judged(row: tuple) -> Judged:  # type: ignore[type-arg]
    ident, name, characteristic, on, datums, nominal, lower, upper, value, u, kind = row
    belief = quantiles(kind, value, u)
    low = 0.0 if lower is None or kind != _SMOOTH else float(np.interp(lower, belief, P_GRID))
    high = 0.0 if upper is None else 1 - float(np.interp(upper, belief, P_GRID))
    beyond = min(0.9995, low + high)
    verdict = "accept" if beyond <= 0.05 else "reject" if beyond >= 0.95 else "undecided"
    limited = lower is not None and kind == _SMOOTH
    features = on.split()
    axis = _cloud(value, u, upper, characteristic) if kind == _MAG else None
    return Judged(
        id=ident, name=name, characteristic=characteristic, kind=kind, on=features, datums=datums.split(),
        sheet="1", grid="C4", critical=ident in ("20", "36"), unit="rad" if characteristic == "angle" else "mm",
        nominal=nominal, lower=lower, upper=upper, zone_text="", diameter_zone=characteristic == "position",
        value=value, u=u, U=2 * u, interval=(belief[9], belief[-10]), coverage=0.95,
        guard=(_GUARD * u if limited else None, None if upper is None else _GUARD * u),
        acceptance=(lower + _GUARD * u if limited else None, None if upper is None else upper - _GUARD * u),
        verdict=verdict, side=1 if high >= low else -1, risk=beyond, contributions=_contributions(int(ident)),
        remainder=0.02, next=_next(verdict, u, value), belief=belief,
        notes=["Valid for form wavelengths of at least 40 mm and defects of at least 25 mm; the points are 12 mm "
               "apart along each of three rings."] if kind == _FORM else [],
        where=[Seen(feature=f, points_mm=_points(f), stations=["1", "2"]) for f in features], axis=axis,
        measured_by=["laser tracker T-1"],
    )  # fmt: skip


def _next(verdict: str, u: float, value: float) -> Next | None:
    if verdict != "undecided":
        return None
    then = 1.52 * u
    return Next(text="Move station 2 within 5 m", predicted_U=then, predicted_interval=(value - then, value + then))


def _contributions(k: int) -> list[Contribution]:
    big = 0.61 if k % 3 == 0 else 0.32 if k % 3 == 1 else 0.2
    rest = (0.98 - big) / 0.37
    parts = [
        ("repeatability", 0, 0.04), ("part temperature", 1, 0.09), ("air", 1, 0.03), ("target offset", 1, 0.02),
        ("station 1: angles at 4 m", 2, 0.02), ("tie points", 3, 0.10), ("points on A", 4, 0.05),
        ("12 points on it", 5, 0.015), ("evaluation", 6, 0.005),
    ]  # fmt: skip
    listed = [("station 2: angles at 8 m", 2, big), *((n, i, s * rest) for n, i, s in parts)]
    return [Contribution(source=n, link=LINKS[i], share=s) for n, i, s in listed]


def _cloud(value: float, u: float, upper: float, characteristic: str) -> AxisCloud:
    rng = np.random.default_rng(_RNG_SEED)
    centre = value / 2 * np.array([math.cos(0.8), math.sin(0.8)])
    draws = centre + rng.normal(size=(400, 2)) @ np.diag([u / 2, u / 4.5]) @ np.array([[0.54, 0.84], [-0.84, 0.54]])
    flat = characteristic == "parallelism"
    value_at = (value / 2, 0.0) if flat else tuple(centre)
    draws = draws - centre + np.array(value_at)
    return AxisCloud(value=value_at, draws=[tuple(d) for d in draws.round(6).tolist()], radius=upper / 2,
                     width_only=flat, labels=("across", "along") if flat else ("x", "y"))  # fmt: skip


def _points(feature: str) -> list[tuple[float, float, float]]:
    x, y, z = _AT[feature]
    half = _SIZE.get(feature, 90) / 2
    ring = [2 * math.pi * (i % 4 + 0.3 * (i // 4)) / 4 for i in range(12)]
    if feature in ("base", "motor-seat"):
        return [(x + half * dx, y + half * 0.7 * dy, float(z)) for dx in (-1, -0.3, 0.3, 1) for dy in (-1, 0, 1)]
    if "flange" in feature:
        return [(float(x), y + half * math.cos(a), z + half * math.sin(a)) for a in ring]
    return [(x + half * math.cos(a), y + half * math.sin(a), z - 12.0 * (i // 4)) for i, a in enumerate(ring)]


def _floor() -> Floor:
    places = {"1": (4200.0, -2600.0, 900.0), "2": (-5200.0, 3100.0, 1400.0)}
    ties = {
        "T1": (-900.0, -700.0, 0.0),
        "T2": (3300.0, -600.0, 100.0),
        "T3": (3200.0, 1500.0, 0.0),
        "T4": (-800.0, 1400.0, 300.0),
    }
    return Floor(
        stations=[Station(name=n, instrument="laser tracker T-1", at_mm=p, ties=list(ties)) for n, p in places.items()],
        features=[Spot(name=f, at_mm=tuple(map(float, _AT[f])), outline_mm=_points(f)) for f in _AT],
        ties=[Spot(name=n, at_mm=p) for n, p in ties.items()],
    )


def _special() -> list[Judged]:
    """What cannot be stated: a value without interval, no value at all; and a probability with its prior."""
    refused = _judged(("93", "Discharge nozzle, roundness of the raw casting edge", "flatness", "volute", "", None, 0.0,
                       0.30, 0.12, 0.02, _FORM))  # fmt: skip
    bare: dict[str, object] = {
        "u": None, "U": None, "interval": None, "belief": None, "guard": (None, None), "acceptance": (None, None),
        "verdict": "undecided", "side": 0, "risk": None, "contributions": [], "remainder": None,
    }  # fmt: skip
    few = bare | {
        "notes": [],
        "next": Next(text="Measure at least 25 points, no further apart than 12 mm", predicted_U=0.03),
    }
    few["reason"] = "Cannot be stated for defects under twice the spacing of 24 mm; 25 points would do."
    none = bare | {
        "value": None,
        "where": [],
        "axis": None,
        "reason": "No reading lands on this requirement.",
        "next": None,
    }
    lug = _judged(("94", "Hidden relief groove", "size", "lug", "", 6.0, 5.9, 6.1, 6.0, 0.01, _SMOOTH))
    prior = _judged(("95", "Cover register", "size", "cover-1", "", 120.0, 120.0, 120.04, 120.033, 0.005, _SMOOTH))
    stated = Stated(value=0.958, prior="process history, 60 parts: mean 120.02, sd 0.006 mm")
    return [refused.model_copy(update=few), lug.model_copy(update=none), prior.model_copy(update={"p_conform": stated})]
