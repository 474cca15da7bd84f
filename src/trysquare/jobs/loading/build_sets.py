"""From the job file's tables to the records of `job`: instruments, stations and hand tools, with their readings."""

from dataclasses import dataclass, field
from pathlib import Path

from pydantic import ValidationError

from ...core.errors import FormatError
from ..job import HandSet, InputFile, InstrumentSpec, Job, Readings, Record, Station
from . import schema
from .build import air_of, vector
from .checks.instruments import figures
from .findings import Findings
from .folder import inside, refuse_outside
from .locate import Path as KeyPath
from .messages import hint, translate
from .readings import no_hand_readings, read_hand, read_station
from .records import read_records
from .schema_register import Recorded
from .toml_file import read_document


@dataclass(frozen=True)
class Sets:
    """Everything that measured, and the files it came from."""

    instruments: dict[str, InstrumentSpec] = field(default_factory=dict)
    stations: tuple[Station, ...] = ()
    hand: tuple[HandSet, ...] = ()
    inputs: tuple[InputFile, ...] = ()
    records: dict[str, tuple[Record, ...]] = field(default_factory=dict)


def sets_of(tables: schema.JobFile, job: Job, readings: Path | None, findings: Findings) -> Sets:
    """Read what measured. `job` holds the drawing; `readings` is the folder of reading files, None for a plan."""
    reader = _Reader(tables, job, readings, findings)
    stations = tuple(reader.station(i, table) for i, table in enumerate(tables.station))
    hand = tuple(reader.hand(i, table) for i, table in enumerate(tables.hand))
    records: dict[str, tuple[Record, ...]] = {}
    for i, table in enumerate(tables.recorded):
        records = reader.recorded(i, table, records)
    return Sets(reader.instruments, stations, hand, tuple(reader.inputs), records)


class _Reader:
    """Owns the list of inputs and the instruments while the stations are gone through."""

    def __init__(self, tables: schema.JobFile, job: Job, readings: Path | None, findings: Findings) -> None:
        self.job, self.folder, self.findings = job, readings, findings
        self.inputs: list[InputFile] = []
        self.dropped = frozenset(tables.dropped)
        self.refused: set[str] = set()  # instrument files already complained about
        self.instruments = {name: _spec(name, table, None) for name, table in tables.instrument.items()}
        for name, table in tables.instrument.items():
            figures(self.instruments[name], findings.document, ("instrument", name), findings)
            if table.format is not None:
                findings.error(("instrument", name, "format"), "stand in a file of its own only", "it in the job file",
                               "Drop it.")  # fmt: skip

    def station(self, index: int, table: schema.Station) -> Station:
        path: KeyPath = ("station", index)
        air = self.job.place.air
        if table.air is not None:
            air = air_of(table.air, self.job.place.altitude_m, (*path, "air"), self.findings)
        instrument = self._instrument(table.instrument, path)
        at = None if table.at is None else vector(table.at)
        return Station(table.name, instrument, self._station_readings(table, path), at, air)

    def hand(self, index: int, table: schema.Hand) -> HandSet:
        path: KeyPath = ("hand", index)
        instrument = self._instrument(table.instrument, path)
        try:
            file = self._file(table.readings, path)
            if file is None or table.readings is None:
                return no_hand_readings(instrument)
            ids = [requirement.id for requirement in self.job.requirements]
            found, source = read_hand(
                file, table.readings, instrument, known=ids, dropped=self.dropped, report=self.findings.in_file
            )
        except FormatError as error:
            self.findings.in_file(error)
            return no_hand_readings(instrument)
        self.inputs.append(source)
        return found

    def recorded(
        self, index: int, table: Recorded, before: dict[str, tuple[Record, ...]]
    ) -> dict[str, tuple[Record, ...]]:
        """The records of attributes so far, with those of one more file; an attribute is recorded in one file."""
        path: KeyPath = ("recorded", index)
        ids = [attribute.id for attribute in self.job.attributes]
        try:
            file = self._file(table.readings, path)
            if file is None or table.readings is None:
                return before
            found, source = read_records(
                file, table.readings, known=ids, dropped=self.dropped, report=self.findings.in_file
            )
        except FormatError as error:
            self.findings.in_file(error)
            return before
        self.inputs.append(source)
        for id_ in found.keys() & before.keys():
            self.findings.error(
                (*path, "readings"), "record each attribute in one file", f'"{id_}" again, as in {before[id_][0].file}',
                "Leave the record that counts.",
            )  # fmt: skip
        return before | found

    def _station_readings(self, table: schema.Station, path: KeyPath) -> Readings | None:
        try:
            file = self._file(table.readings, path)
            if file is None or table.readings is None:
                return None
            found, source = read_station(
                file, table.readings, table.name, known=[*self.job.features, *self.job.ties],
                targets=self.job.targets, nests=self.job.nests, report=self.findings.in_file,
            )  # fmt: skip
        except FormatError as error:
            self.findings.in_file(error)
            return None
        self.inputs.append(source)
        return found

    def _file(self, name: str | None, path: KeyPath) -> Path | None:
        """The reading file, None in a plan; a station or tool without one in a measured job is an error."""
        document = self.findings.document
        if self.folder is None:
            if name is not None:
                refuse_outside(name, document, (*path, "readings"))
            return None
        if name is None:
            raise document.error(
                (*path, "readings"), "be named before the job is judged", "a set-up without readings",
                "Name its reading file, or leave it out of the job until it is measured.",
            )  # fmt: skip
        return inside(self.folder, name, document, (*path, "readings"))

    def _instrument(self, name: str, path: KeyPath) -> str:
        """The name of an instrument in the job, from a table's name or a file's; read once."""
        stem = Path(name).stem
        known = self.instruments.get(stem)
        if name in self.instruments or (known is not None and known.file == name):
            return stem if name not in self.instruments else name
        where: KeyPath = (*path, "instrument")
        if not name.endswith(".toml"):
            rule = "be the name of an [instrument] table, or a file that ends in .toml"
            self.findings.error(where, rule, f'"{name}"', hint(name, self.instruments, f"Add [instrument.{name}]."))
            return name
        if known is not None:
            rule, found = "have a name of its own", f'"{name}", and an instrument "{stem}" beside it'
            self.findings.error(where, rule, found, "Rename one of the two.")
            return stem
        self._read_instrument(name, stem, where)
        return stem

    def _read_instrument(self, name: str, stem: str, where: KeyPath) -> None:
        if name in self.refused:
            return
        self.refused.add(name)
        try:
            document = read_document(inside(self.job.folder, name, self.findings.document, where), name)
            table = schema.Instrument.model_validate(document.data)
        except FormatError as error:
            self.findings.in_file(error)
        except ValidationError as error:
            self.findings.errors.extend(translate(error, schema.Instrument, document))
        else:
            self.refused.discard(name)
            self.instruments[stem] = _spec(stem, table, name)
            figures(self.instruments[stem], document, (), self.findings)
            self.inputs.append(document.source)


def _spec(name: str, table: schema.Instrument, file: str | None) -> InstrumentSpec:
    overrides = {figure: given.model_dump(exclude_none=True) for figure, given in table.source.items()}
    return InstrumentSpec(name, table.class_name, table.serial, overrides, file)
