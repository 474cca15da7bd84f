"""How numbers are written: U with two figures, the value to the same decimals, a true minus sign, zones as on drawings.

Lengths in mm, angles in degrees (the document holds radians).
"""

import math
from dataclasses import dataclass
from typing import Literal

from ..jobs.result import Judged

Kind = Literal["both", "zero", "least", "most", "none"]
MINUS = "−"
_FROM_ZERO = ("magnitude", "extreme")


@dataclass(frozen=True)
class Shown:
    """The numbers of a requirement in the unit they are shown in, with one number of decimals for value and U."""

    value: float | None
    U: float | None
    nominal: float | None
    lower: float | None
    upper: float | None
    interval: tuple[float, float] | None
    acceptance: tuple[float | None, float | None]
    unit: str
    decimals: int
    factor: float

    def figure(self, x: float) -> str:
        """A number to the decimals of the value."""
        return figure(x, self.decimals)


def shown(j: Judged) -> Shown:
    """The numbers of `j` as a reader sees them."""
    factor, unit = (180.0 / math.pi, "°") if j.unit == "rad" else (1.0, "mm")

    def scaled(x: float | None) -> float | None:
        return None if x is None else x * factor

    big_u = scaled(j.U)
    interval = None if j.interval is None else (j.interval[0] * factor, j.interval[1] * factor)
    lower, upper = scaled(j.lower), scaled(j.upper)
    return Shown(
        value=scaled(j.value), U=big_u, nominal=scaled(j.nominal), lower=lower, upper=upper, interval=interval,
        acceptance=(scaled(j.acceptance[0]), scaled(j.acceptance[1])), unit=unit, factor=factor,
        decimals=decimals(big_u) if big_u else _of_zone(lower, upper),
    )  # fmt: skip


def decimals(big_u: float) -> int:
    """Decimals that give an uncertainty two figures, 0 to 7."""
    if not (math.isfinite(big_u) and big_u > 0):
        return 3
    exponent = math.floor(math.log10(float(f"{big_u:.1e}")))
    return min(7, max(0, 1 - exponent))


def _of_zone(lower: float | None, upper: float | None) -> int:
    """Without an uncertainty: enough decimals to see a hundredth of the zone."""
    if lower is None and upper is None:
        return 3
    width = (upper or 0.0) - (lower or 0.0) if lower is not None and upper is not None else 0.0
    return decimals(abs(width) / 10) if width else 3


def figure(x: float, n: int) -> str:
    """A number to `n` decimals with a true minus sign and no negative zero."""
    text = f"{x:.{n}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return text.replace("-", MINUS)


def plain(x: float) -> str:
    """A number as a drawing writes it: no trailing zeros, at most six decimals."""
    text = f"{x:.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text.replace("-", MINUS)


def signed(x: float) -> str:
    """A deviation as a drawing writes it."""
    text = plain(x)
    return text if text.startswith(MINUS) else f"+{text}"


def value_text(j: Judged) -> str:
    """The value to the decimals of its uncertainty, signed where the zone reaches below 0; words where none."""
    s = shown(j)
    if j.kind == "attribute":
        return "recorded" if j.records else "no record"
    if s.value is None:
        return "no value"
    sign = "+" if s.lower is not None and s.lower < 0 and float(f"{s.value:.{s.decimals}f}") > 0 else ""
    return sign + figure(s.value, s.decimals) + ("°" if s.unit == "°" else "")


def u_text(j: Judged) -> str:
    """Expanded uncertainty with two figures, "" where it is not stated."""
    s = shown(j)
    return "" if s.U is None else figure(s.U, s.decimals) + ("°" if s.unit == "°" else "")


def plus_minus(j: Judged) -> str:
    """The uncertainty beside a value in a list."""
    s = shown(j)
    return "" if s.value is None else f"± {u_text(j)}" if s.U is not None else "not stated"


def kind_of(j: Judged) -> Kind:
    """How the zone is bounded: both sides, from zero up, at least, at most, or not at all."""
    if j.upper is not None and j.kind in _FROM_ZERO and not j.lower:
        return "zero"
    if j.lower is None:
        return "none" if j.upper is None else "most"
    return "least" if j.upper is None else "both"


def zone_text(j: Judged) -> str:
    """The zone in words of a drawing: "0 to 0.4", "164 +0 / +0.1", "2520 ± 0.5", "≥ 14", "≤ 2240"."""
    if j.kind == "attribute":
        return "pass or fail"
    s, kind = shown(j), kind_of(j)
    degree = "°" if s.unit == "°" else ""
    if kind == "zero":
        return f"0 to {plain(s.upper or 0.0)}{degree}"
    if kind == "least":
        return f"≥ {plain(s.lower or 0.0)}{degree}"
    if kind == "most":
        return f"≤ {plain(s.upper or 0.0)}{degree}"
    if kind == "none" or s.lower is None or s.upper is None:
        return clean(j.zone_text)
    if s.nominal is None:
        return f"{plain(s.lower)} to {plain(s.upper)}{degree}"
    low, high = signed(s.lower - s.nominal), signed(s.upper - s.nominal)
    nominal = f"{plain(s.nominal)}{degree} "
    return nominal + (f"± {high[1:]}{degree}" if low[1:] == high[1:] and low != high else f"{low} / {high}{degree}")


def frame_zone(j: Judged) -> str:
    """What stands in the second field of a tolerance frame; "" for sizes, distances and angles."""
    if kind_of(j) != "zero" or j.upper is None:
        return ""
    return ("Ø " if j.diameter_zone else "") + plain(shown(j).upper or 0.0)


def clean(text: str) -> str:
    """Text with signs that every typeface of the look has: the diameter sign becomes Ø, odd spaces become spaces."""
    table = {"⌀": "Ø", "\u00a0": " ", "\u202f": " ", "\u2009": " ", "\u2011": "-", "\t": " "}
    return "".join(table.get(c, c) for c in text if c >= " " or c in "\n\t")


def percent(p: float) -> str:
    """A confidence or coverage with one decimal where it has one, two next to 0 and 1."""
    return f"{plain(round(100 * p, 2 if p < 0.001 or p > 0.999 else 1))} %"


def share(p: float) -> str:
    """A share of the variance in whole per cents."""
    return "under 1 %" if 0 < p < 0.0095 else f"{100 * p:.0f} %"
