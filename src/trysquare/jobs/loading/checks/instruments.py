"""Instruments: their class is in the catalogue, their figures can be read, and they fit what they are used for."""

from ....core.errors import InputError
from ....instruments.catalogue import instrument_class, parameters
from ...job import InstrumentSpec, Job
from ..findings import Findings
from ..locate import Path
from ..toml_file import Document, named


def figures(spec: InstrumentSpec, document: Document, prefix: Path, findings: Findings) -> None:
    """The class is known, and so is each figure that replaces one of it; `prefix` is its table in `document`."""
    try:
        instrument_class(spec.class_name)
    except InputError as error:
        findings.in_file(document.error((*prefix, "class"), error.rule, error.found, error.way_out))
        return
    for source, table in spec.overrides.items():
        path = (*prefix, "source", source)
        try:
            parameters(spec.class_name, {source: table}, name=spec.name)
        except InputError as error:
            what = f"{named(document.data, path)}: {error.what}"
            findings.in_file(document.error(path, error.rule, error.found, error.way_out, what=what))


def uses(job: Job, findings: Findings) -> None:
    """A station has an instrument that sees points, of the kind its readings are of; a hand tool reads lengths."""
    models = {name: _model(spec) for name, spec in job.instruments.items()}
    for index, station in enumerate(job.stations):
        model = models.get(station.instrument)
        path: Path = ("station", index, "instrument")
        if model == "hand":
            rule, way_out = "be one that sees points", "List it under [[hand]] with the requirements that it reads."
            findings.error(path, rule, f'"{station.instrument}", a hand tool', way_out)
        elif model is not None and station.readings is not None and station.readings.polar != (model == "tracker"):
            _other_readings(job, index, findings)
    for index, hand in enumerate(job.hand):
        if models.get(hand.instrument) not in (None, "hand"):
            rule, way_out = "be a hand tool that reads one length", "List it under [[station]]."
            found = f'"{hand.instrument}", a {job.instruments[hand.instrument].class_name}'
            findings.error(("hand", index, "instrument"), rule, found, way_out)


def _model(spec: InstrumentSpec) -> str | None:
    try:
        return instrument_class(spec.class_name).model
    except InputError:
        return None  # said by `figures`


def _other_readings(job: Job, index: int, findings: Findings) -> None:
    station = job.stations[index]
    class_name = job.instruments[station.instrument].class_name
    polar = station.readings is not None and station.readings.polar
    wanted = "x, y and z" if polar else "azimuth, elevation and range"
    findings.error(
        ("station", index, "readings"), f"give {wanted}, as a {class_name} does",
        "azimuth, elevation and range" if polar else "x, y and z", "Name the right instrument or the right file.",
    )  # fmt: skip
