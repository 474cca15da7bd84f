"""Curved surfaces laid flat: cylinder, cone and torus unrolled, the sphere as one or two discs of true areas."""

import math
from dataclasses import dataclass

import numpy as np

from ..core.arrays import Array
from . import fit_map
from .fit_map import Map
from .fit_marks import Contact
from .fit_scale import step_below
from .format import plain
from .svg import num, text, trace

_LEFT, _TOP, _FOOT = 46.0, 12.0, 44.0  # room for the figures
_CAP = math.radians(60)  # polar angle below which a cap is drawn for itself


@dataclass(frozen=True)
class Chart:
    """A surface to unroll: degrees across (n), heights (n), residuals (n), contacts, and what is written across and
    above. `whole`: across is a full turn; `step`: of the figures upwards, 0 for a round one.
    """

    across: Array
    up: Array
    residuals: Array
    contacts: list[Contact]
    names: tuple[str, str]
    whole: bool = True
    step: float = 0.0


def unrolled(c: Chart, width: float, height: float) -> str:
    """The map of a surface, unrolled, in a box of that size."""
    right, foot = width, height - _FOOT
    start, end = (-180.0, 180.0) if c.whole else _padded(c.across)
    low, high = _padded(c.up)
    x = _LEFT + (c.across - start) / (end - start) * (right - _LEFT)
    y = foot - (c.up - low) / (high - low) * (foot - _TOP)
    box = trace([(_LEFT, _TOP), (right, _TOP), (right, foot), (_LEFT, foot)], close=True)
    body = fit_map.surface(Map(np.column_stack([x, y]), c.residuals, c.contacts, outline=box))
    for tick in _ticks(start, end, 90.0 if c.whole else step_below((end - start) / 3)):
        at = _LEFT + (tick - start) / (end - start) * (right - _LEFT)
        anchor = "end" if at > right - 12 else "start" if at < _LEFT + 12 else "middle"
        body += text(at, foot + 16, f"{plain(tick)}°", size=12, fill="ink-3", anchor=anchor)
    for tick in _ticks(low, high, c.step or step_below(max(float(np.ptp(c.up)), 1e-300) / 2)):
        level = foot - (tick - low) / (high - low) * (foot - _TOP)
        body += text(_LEFT - 6, level + 4, plain(tick), size=12, fill="ink-3", anchor="end")
    body += text(_LEFT, foot + 32, c.names[0], size=12, fill="ink-3")
    return body + text(_LEFT, _TOP - 4, c.names[1], size=12, fill="ink-3")


def _padded(values: Array) -> tuple[float, float]:
    low, high = float(values.min()), float(values.max())
    room = 0.06 * (high - low) or 1.0
    return low - room, high + room


def _ticks(low: float, high: float, step: float) -> list[float]:
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [round(k * step, 9) for k in range(first, last + 1)]


def discs(local: Array, residuals: Array, contacts: list[Contact], width: float) -> tuple[str, float, str]:
    """The map of a sphere from unit directions (n, 3) about its pole, its height, and what it is.

    Lambert's azimuthal projection, which keeps areas true: a half sphere from its pole, two where points lie beyond
    its rim, or a cap for itself where all lie near the pole.
    """
    farthest = math.acos(max(-1.0, min(1.0, float(local[:, 2].min()))))
    two, reach = farthest > math.pi / 2 + 0.05, 150.0
    rim = min(1.08 * farthest, math.pi / 2) if farthest < _CAP else math.pi / 2
    behind = two & (local[:, 2] < 0)
    height = np.where(behind, -local[:, 2], local[:, 2])
    k = reach / math.sqrt(2 - 2 * math.cos(rim)) * np.sqrt(2 / np.maximum(1 + height, 1e-9))
    middle = np.where(behind, 0.75 * width, (0.25 if two else 0.5) * width)
    x = middle + k * local[:, 0] * np.where(behind, -1.0, 1.0)
    xy = np.column_stack([x, reach + 8 - k * local[:, 1]])
    places = [(0.25 * width, "seen from the pole"), (0.75 * width, "seen from the other pole")]
    places = places if two else [(0.5 * width, f"{plain(round(math.degrees(rim), 1))}° about the pole")]
    body = fit_map.surface(Map(xy, residuals, contacts, outline="".join(_rim(x, reach + 8, reach) for x, _ in places)))
    body += "".join(text(x, 2 * reach + 28, w, size=12, fill="ink-3", anchor="middle") for x, w in places)
    return body, 2 * reach + 36, "The map keeps areas true."


def _rim(x: float, y: float, r: float) -> str:
    return f"M{num(x - r)} {num(y)}a{num(r)} {num(r)} 0 1 0 {num(2 * r)} 0a{num(r)} {num(r)} 0 1 0 {num(-2 * r)} 0z"
