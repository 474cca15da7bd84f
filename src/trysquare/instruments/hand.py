"""Hand tools that read one length: calliper, micrometer, bore gauge, height gauge.

A reading lands directly on a requirement. It is taken at the temperature of the part and brought to 20 degC (ISO 1).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..chance.sources import Draws, Source
from ..core.arrays import Array, finite
from ..core.errors import InputError
from .effects import check
from .parameters import Parameter

_REFERENCE_DEGC = 20.0  # ISO 1:2022

#: parameter -> unit
NEEDED = {"indication": "mm", "resolution": "mm", "repeatability": "mm"}
OPTIONAL = {
    "indication_proportional": "1", "indication_local": "mm", "feel": "mm", "setting": "mm",
    "tool_temperature": "K", "tool_expansion": "1/K",
}  # fmt: skip
#: parameter -> (words for the source, what one could do about it), in the order they are listed
WORDS = {
    "repeatability": ("repeatability", "average more readings"),
    "resolution": ("reading the display", "use a tool with a finer step"),
    "feel": ("feel of the operator", "use the ratchet, or let a second operator repeat"),
    "indication": ("indication", "have the tool calibrated and correct its error"),
    "indication_proportional": ("indication, in proportion to the length", "set the tool near the size measured"),
    "indication_local": ("indication at this size", "set the tool to a gauge block of this size"),
    "setting": ("setting standard", "have the setting standard calibrated to a smaller uncertainty"),
    "tool_temperature": ("tool warmer or colder than the part", "let tool and setting standard lie on the part"),
    "tool_expansion": ("expansion of the tool", "measure nearer to 20 degC"),
}


@dataclass(frozen=True)
class HandTool:
    """A tool, known by its name and the parameters of its class or certificate.

    `indication` is shared by all readings of the tool, with a part in proportion to the length if there is one;
    `indication_local` by the readings at one place (one size); `resolution` and `repeatability` belong to a reading,
    `feel` to the operator, `setting` to the ring or rod the tool was set on. `tool_expansion` holds the coefficient of
    the scale (or of the setting standard) as its `value`; `tool_temperature` is how far the tool may differ from the
    part, with what it surely differs as its `value`.
    """

    name: str
    parameters: Mapping[str, Parameter]

    def sources(self) -> tuple[Source, ...]:
        """All its sources. Those of temperature act on lengths through the expansion."""
        return tuple(self._source(p) for p in WORDS if p in self.parameters)

    def lengths(
        self, reading_mm: npt.ArrayLike, *, part_alpha: float = 0.0, part_temperature_degC: npt.ArrayLike = 20.0
    ) -> Array:
        """Readings (n,) brought to 20 degC, (n,) mm. `part_alpha` 1/K, the part's temperature one or (n,).

        Scale and part both grow: L20 = reading (1 + a_tool (T_tool - 20)) / (1 + a_part (T_part - 20)).
        """
        reading = _readings(reading_mm)
        part = np.asarray(part_temperature_degC, dtype=np.float64) - _REFERENCE_DEGC
        tool = part + self._value("tool_temperature")
        return reading * (1 + self._value("tool_expansion") * tool) / (1 + part_alpha * part)

    def length_errors(
        self,
        reading_mm: npt.ArrayLike,
        reading_ids: Sequence[str],
        draws: Draws,
        *,
        places: Sequence[str] | None = None,
        operator: str = "operator",
        part_alpha: float = 0.0,
        part_temperature_degC: npt.ArrayLike = 20.0,
        part_alpha_errors: npt.ArrayLike = 0.0,
        part_temperature_errors: npt.ArrayLike = 0.0,
    ) -> Array:
        """Errors (draws, n) of `lengths` of the same readings, mm, to be added to them.

        `reading_ids` (n,) names each reading once in the job, `places` (n,) what was measured (repeats share it). The
        errors (draws,) of the part's expansion and temperature are those of its zone.

        Raises `InputError` for readings that are not above zero, or names that do not match them in number.
        """
        reading = _readings(reading_mm)
        where = list(reading_ids if places is None else places)
        if len(reading_ids) != len(reading) or len(where) != len(reading):
            raise InputError(
                f'hand tool "{self.name}"', "the names of readings and places", f"be {len(reading)}, one each",
                f"{len(reading_ids)} and {len(where)}", "Name every reading.",
            )  # fmt: skip
        read = reading + self._reading_errors(reading, reading_ids, where, operator, draws)
        part = np.asarray(part_temperature_degC, dtype=np.float64) - _REFERENCE_DEGC + _column(part_temperature_errors)
        tool = part + self._value("tool_temperature") + self._draw("tool_temperature", [self.name], draws)
        alpha_tool = self._value("tool_expansion") + self._draw("tool_expansion", [self.name], draws)
        alpha_part = part_alpha + _column(part_alpha_errors)
        value = self.lengths(reading, part_alpha=part_alpha, part_temperature_degC=part_temperature_degC)
        return read * (1 + alpha_tool * tool) / (1 + alpha_part * part) - value

    def _reading_errors(
        self, reading: Array, ids: Sequence[str], places: Sequence[str], operator: str, draws: Draws
    ) -> Array:
        """Errors (draws, n) of the display itself, mm."""
        n, mine = len(reading), [self.name]
        total = np.zeros((len(draws), n))
        for parameter, keys in (
            ("repeatability", ids), ("resolution", ids), ("indication_local", places), ("feel", [operator]),
            ("indication", mine), ("setting", mine),
        ):  # fmt: skip
            total += self._draw(parameter, keys, draws)
        return total + self._draw("indication_proportional", mine, draws) * reading

    def _draw(self, parameter: str, keys: Sequence[str], draws: Draws) -> Array:
        """Errors (draws, keys); zeros (draws, 1) without this parameter."""
        if parameter not in self.parameters:
            return np.zeros((len(draws), 1))
        return draws.of(self._source(parameter), keys)

    def _source(self, parameter: str) -> Source:
        label, action = WORDS[parameter]
        given = self.parameters[parameter]
        return Source(
            name=f"{self.name}: {label}", link=given.link, u=given.u, unit=given.unit, scope=given.scope,
            distribution=given.distribution, dof=given.dof, origin=given.origin, action=given.action or action,
        )  # fmt: skip

    def _value(self, parameter: str) -> float:
        return self.parameters[parameter].value if parameter in self.parameters else 0.0


def from_parameters(name: str, parameters: Mapping[str, Parameter]) -> HandTool:
    """The tool `name` of these parameters. Raises `InputError` for one that is missing, unknown or in a wrong unit."""
    check(parameters, NEEDED, OPTIONAL, f'hand tool "{name}"')
    return HandTool(name, dict(parameters))


def _readings(reading_mm: npt.ArrayLike) -> Array:
    reading = finite(np.atleast_1d(np.asarray(reading_mm, dtype=np.float64)), where="hand tool")
    if reading.ndim != 1 or not (reading > 0).all():
        raise InputError(
            "hand tool", "the readings", "be one list of lengths above zero", f"{reading.ravel()[:5]}",
            "Correct the readings; give deviations as full lengths.",
        )  # fmt: skip
    return reading


def _column(errors: npt.ArrayLike) -> Array:
    """(draws,) to (draws, 1); one number stays."""
    array = np.asarray(errors, dtype=np.float64)
    return array[:, None] if array.ndim else array
