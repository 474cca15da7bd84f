"""Class files: TOML, read strictly. Every figure carries its unit and its origin."""

import difflib
import math
import tomllib
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

from ...core.errors import FormatError, InputError
from ...core.units import quantity
from .. import arm, cartesian, hand, tracker
from ..parameters import Parameter, dof_from_doubt, from_half_width
from .classes import CHARACTERISTICS, KINDS, PLACES, TOUCHES, Cost, InstrumentClass

#: Model -> parameter -> inside unit, of everything the model takes.
UNITS = {
    "tracker": {**tracker.NEEDED, **tracker.OPTIONAL},
    "arm": dict(arm.NEEDED),
    "cartesian": {**cartesian.NEEDED, **cartesian.OPTIONAL},
    "hand": {**hand.NEEDED, **hand.OPTIONAL},
}
_KIND = {"mm": "length", "rad": "angle", "1": "ratio", "K": "difference", "1/K": "expansion"}
_KEYS = ("name", "summary", "model", "least", "reach", "where", "touches", "characteristics", "features", "needs",
         "cost", "source")  # fmt: skip
_COST_KEYS = ("job_EUR", "minutes_per_feature", "origin")
#: Keys of a figure: `u` or `limit` (half-width) says how large it is.
FIGURE_KEYS = ("u", "limit", "value", "distribution", "dof", "doubt", "origin", "action")
_SOURCE_KEYS = (*FIGURE_KEYS, "scope", "link")


def read_class(file: Path) -> InstrumentClass:
    """Read one class file.

    Raises
    ------
    FormatError : no TOML, or not UTF-8.
    InputError : a key that is unknown (with the nearest known one) or missing, a value without unit or out of range.
    """
    try:
        data = tomllib.loads(file.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise FormatError(file.name, None, "a class file", "be TOML in UTF-8", str(error), "Correct it.") from None
    except OSError as error:
        raise FormatError(
            file.name, None, "a class file", "be readable", error.strerror or str(error), "Check its name."
        ) from None
    return class_of(data, where=file.name)


def class_of(data: Mapping[str, Any], *, where: str) -> InstrumentClass:
    """The class that a table describes. Raises `InputError` as `read_class`."""
    only_known(data, _KEYS, where, "the key")
    model = _one_of(data, "model", tuple(UNITS), where)
    least, reach = (quantity(_need(data, key, str, where), "length", "mm", where=where) for key in ("least", "reach"))
    if not 0 <= least < reach:
        raise InputError(where, "least and reach", "grow from zero", f"{least:g} and {reach:g} mm", "Correct them.")
    return InstrumentClass(
        name=_need(data, "name", str, where),
        summary=_need(data, "summary", str, where),
        model=model,
        least_mm=least,
        reach_mm=reach,
        where=_one_of(data, "where", PLACES, where),
        touches=_one_of(data, "touches", TOUCHES, where),
        characteristics=_some_of(data, "characteristics", CHARACTERISTICS, where),
        features=_some_of(data, "features", _FEATURES, where),
        needs=tuple(str(text) for text in _need(data, "needs", list, where)),
        parameters=_parameters(_need(data, "source", dict, where), model, where),
        cost=_cost(_need(data, "cost", dict, where), where),
    )


def figure(table: Mapping[str, Any], unit: str, *, where: str) -> dict[str, Any]:
    """Fields of a `Parameter` that a table gives: u or limit, value, distribution, dof or doubt, origin, action.

    `unit` is the inside unit that the model expects. Raises `InputError` for a figure without unit, both or neither of
    u and limit, or both of dof and doubt.
    """
    if ("u" in table) == ("limit" in table):
        found = "both" if "u" in table else "neither"
        raise InputError(where, "a source", "give u or limit, one of them", found, 'Write u = "2 um", say.')
    if "dof" in table and "doubt" in table:
        raise InputError(where, "a source", "give dof or doubt, one of them", "both", "Drop one.")
    default = "rectangular" if "limit" in table else "normal"
    fields: dict[str, Any] = {"distribution": str(table.get("distribution", default))}
    size = _with_unit(table["limit" if "limit" in table else "u"], unit, where)
    fields["u"] = from_half_width(size, fields["distribution"], where=where) if "limit" in table else size
    if "value" in table:
        fields["value"] = _with_unit(table["value"], unit, where)
    fields["dof"] = (
        dof_from_doubt(quantity(table["doubt"], "ratio", "1", where=where), where=where)
        if "doubt" in table
        else float(table.get("dof", math.inf))
    )
    return fields | {key: str(table[key]) for key in ("origin", "action") if key in table}


def only_known(table: Mapping[str, Any], known: Collection[str], where: str, what: str) -> None:
    """Raise `InputError` for the first key that is not known, with the nearest known one."""
    for key in table:
        if key not in known:
            raise InputError(where, what, f"be one of {', '.join(known)}", f'"{key}"', nearest(key, known))


def nearest(word: str, known: Collection[str]) -> str:
    """A way out: the nearest known word."""
    close = difflib.get_close_matches(word, list(known), 1, 0.5)
    return f'Did you mean "{close[0]}"?' if close else "Correct it."


_FEATURES = (*KINDS, *(f"{kind} {side}" for kind in ("cylinder", "circle", "sphere") for side in ("inside", "outside")))


def _parameters(sources: Mapping[str, Any], model: str, where: str) -> dict[str, Parameter]:
    units = UNITS[model]
    only_known(sources, units, where, "a source")
    out = {}
    for name, table in sources.items():
        here = f"{where}, source {name}"
        only_known(table, _SOURCE_KEYS, here, "the key")
        fields = figure(table, units[name], where=here)
        fields["origin"] = _need(table, "origin", str, here)
        out[name] = Parameter(
            unit=units[name], link=_need(table, "link", str, here), scope=_need(table, "scope", str, here), **fields
        )
        out[name].source(f"{where}: {name}")  # checks link, scope, distribution, u and dof
    return out


def _with_unit(text: object, unit: str, where: str) -> float:
    if not isinstance(text, str) or text.strip()[-1:].isdigit():
        raise InputError(
            where, "a figure", f"carry its unit ({_KIND[unit]})", repr(text), 'Write it as text: "0.5 um", "2 arcsec".'
        )
    return quantity(text, _KIND[unit], unit, where=where)


def _need(table: Mapping[str, Any], key: str, kind: type, where: str) -> Any:
    if not isinstance(table.get(key), kind):
        raise InputError(where, f'"{key}"', f"be given, as {kind.__name__}", repr(table.get(key)), "Add it.")
    return table[key]


def _one_of(table: Mapping[str, Any], key: str, allowed: tuple[str, ...], where: str) -> str:
    word = str(_need(table, key, str, where))
    if word not in allowed:
        raise InputError(where, f'"{key}"', f"be one of {', '.join(allowed)}", f'"{word}"', nearest(word, allowed))
    return word


def _some_of(table: Mapping[str, Any], key: str, allowed: tuple[str, ...], where: str) -> tuple[str, ...]:
    words = tuple(str(word) for word in _need(table, key, list, where))
    only_known(dict.fromkeys(words), allowed, where, f'"{key}"')
    return words


def _cost(table: Mapping[str, Any], where: str) -> Cost:
    here = f"{where}, cost"
    only_known(table, _COST_KEYS, here, "the key")
    job, minutes = (_range(table, key, here) for key in ("job_EUR", "minutes_per_feature"))
    return Cost(job, minutes, _need(table, "origin", str, here))


def _range(table: Mapping[str, Any], key: str, where: str) -> tuple[float, float]:
    ends = _need(table, key, list, where)
    if len(ends) != 2 or not 0 <= ends[0] <= ends[1]:
        raise InputError(where, f'"{key}"', "be two numbers, low and high", repr(ends), "Correct it.")
    return float(ends[0]), float(ends[1])
