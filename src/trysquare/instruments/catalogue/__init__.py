"""The catalogue of typical classes of instrument: generic figures, each with its origin; no make, no model.

A class is a starting point for choosing. Before a verdict hangs on it, put the figures of the certificate in its place.
"""

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from ...core.errors import InputError
from .. import arm, cartesian, hand, tracker
from ..base import PointInstrument
from ..hand import HandTool
from ..parameters import Parameter
from .classes import Cost, InstrumentClass
from .reading import FIGURE_KEYS, UNITS, class_of, figure, nearest, only_known, read_class

__all__ = ["Cost", "InstrumentClass", "build", "class_of", "classes", "instrument_class", "parameters", "read_class"]


@cache
def classes(folder: Path | None = None) -> Mapping[str, InstrumentClass]:
    """Every class by its name: those of the house, or the class files (*.toml) of `folder` instead.

    Raises `InputError` as `read_class`, and for two files with one name, or a folder without any.
    """
    where = Path(__file__).parent if folder is None else folder
    found: dict[str, InstrumentClass] = {}
    for file in sorted(where.glob("*.toml")):
        read = read_class(file)
        if read.name in found:
            raise InputError(file.name, "the name of a class", "be given once", f'"{read.name}" twice', "Rename one.")
        found[read.name] = read
    if not found:
        raise InputError(str(where), "the folder of classes", "hold *.toml files", "none", "Name another folder.")
    return MappingProxyType(found)


def instrument_class(name: str, *, known: Mapping[str, InstrumentClass] | None = None) -> InstrumentClass:
    """The class of this name. Raises `InputError` that names the nearest known one."""
    among = classes() if known is None else known
    if name not in among:
        raise InputError(
            "instrument", "the class", f"be one of {', '.join(among)}", f'"{name}"', nearest(name, list(among))
        )
    return among[name]


def parameters(
    class_name: str,
    overrides: Mapping[str, Any] | None = None,
    *,
    name: str = "instrument",
    known: Mapping[str, InstrumentClass] | None = None,
) -> dict[str, Parameter]:
    """Figures of a class, with those of a certificate in place of the generic ones.

    `overrides`: {"range_constant": {"u": "0.5 um", "origin": "certificate 118", "dof": 20}}, or the same under the key
    "source". A figure takes u or limit, value, distribution, dof or doubt, origin, action; scope and link stay.
    Raises `InputError` for an unknown source or key (with the nearest known one) or a figure without unit.
    """
    chosen = instrument_class(class_name, known=known)
    given = overrides or {}
    if set(given) == {"source"}:
        given = given["source"]
    out = dict(chosen.parameters)
    only_known(given, out, f'instrument "{name}"', "a source")
    for source, table in given.items():
        where = f'instrument "{name}", source {source}'
        if not isinstance(table, Mapping):
            raise InputError(where, "a source", "be a table", repr(table), 'Write { u = "0.5 um", origin = "..." }.')
        only_known(table, FIGURE_KEYS, where, "the key")
        fields = {"origin": "declared, no origin given"} | figure(table, UNITS[chosen.model][source], where=where)
        out[source] = replace(out[source], **fields)
        out[source].source(source)  # checks the distribution, u and dof
    return out


def build(
    class_name: str,
    name: str,
    overrides: Mapping[str, Any] | None = None,
    *,
    known: Mapping[str, InstrumentClass] | None = None,
) -> PointInstrument | HandTool:
    """The instrument `name` of a class; `name` identifies the very device. Arguments and errors as in `parameters`."""
    figures = parameters(class_name, overrides, name=name, known=known)
    model = instrument_class(class_name, known=known).model
    if model == "hand":
        return hand.from_parameters(name, figures)
    if model == "tracker":
        return tracker.from_parameters(name, figures)
    return arm.from_parameters(name, figures) if model == "arm" else cartesian.from_parameters(name, figures)
