"""Readings as the text of a reading file, as `readings` reads them: what a simulated measurement leaves behind."""

import math
from collections.abc import Iterable

import numpy as np

from ..job import HandSet, Readings


def station_csv(readings: Readings, *, heading: Iterable[str] = ()) -> str:
    """The reading file of a station; `heading` goes on top as comment lines.

    Angles to 1e-8 deg, lengths to 1e-5 mm: a hundredth of the smallest noise.
    """
    nested = any(readings.nests)
    names = ["on", "point", "face", "target", *(["nest"] if nested else [])]
    angles = ["azimuth [deg]", "elevation [deg]", "range [mm]"]
    rows = [",".join([*names, *(angles if readings.polar else ["x [mm]", "y [mm]", "z [mm]"])])]
    for i, on in enumerate(readings.on):
        point = readings.aims[i].removeprefix(f"{on}/")
        target = readings.targets[i] or ("" if readings.polar else "contact")
        cells = [on, point, str(readings.face[i]), target, *([readings.nests[i]] if nested else [])]
        rows.append(",".join([*cells, *_numbers(readings, i)]))
    return _file(rows, heading)


def hand_csv(hand: HandSet, *, heading: Iterable[str] = ()) -> str:
    """The reading file of a hand tool, values to 1e-5 mm without idle zeros, temperatures to 0.01 K."""
    warm = not np.isnan(hand.temperature_degC).all()
    rows = ["requirement,place,value [mm]" + (",temperature [degC]" if warm else "")]
    for requirement, place, value, degC in zip(
        hand.requirement, hand.place, hand.value_mm, hand.temperature_degC, strict=True
    ):
        row = f"{requirement},{place},{_short(value)}"
        rows.append(row + ("" if not warm else "," if math.isnan(degC) else f",{degC:.2f}"))
    return _file(rows, heading)


def _numbers(readings: Readings, i: int) -> list[str]:
    if not readings.polar:
        return [f"{x:.5f}" for x in readings.obs[i]]
    azimuth, elevation, distance = readings.obs[i]
    return [f"{math.degrees(azimuth) % 360.0:.8f}", f"{math.degrees(elevation):.8f}", f"{distance:.5f}"]


def _short(value: float) -> str:
    text = f"{value:.5f}".rstrip("0")
    return text + "0" if text.endswith(".") else text


def _file(rows: list[str], heading: Iterable[str]) -> str:
    return "\n".join([*(f"# {line}" for line in heading), *rows]) + "\n"
