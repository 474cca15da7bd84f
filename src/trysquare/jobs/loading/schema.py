"""The job file, format trysquare-job/1: what `job.toml` may say.

docs/job-file.md and docs/job.schema.json are made from these classes (`python -m docs.make`).
"""

from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from .quantities import (
    Altitude,
    Difference,
    Expansion,
    Length,
    PartsPerMillion,
    PerCent,
    PositiveLength,
    Pressure,
    RawFigure,
    Temperature,
    refuse,
)
from .schema_drawing import (
    Association,
    Direction,
    Feature,
    Letter,
    LetterOrAll,
    Name,
    Point,
    Prior,
    Requirement,
    Table,
    Text,
)
from .schema_register import Attribute, GeneralTolerance, Recorded

FORMAT = "trysquare-job/1"
INSTRUMENT_FORMAT = "trysquare-instrument/1"
STANDARDS = ("ISO 8015:2011", "ASME Y14.5-2018", "ASME Y14.5-2009")


def _standard(value: str) -> str:
    known = ", ".join(STANDARDS)
    if value in STANDARDS:
        return value
    if any(edition.startswith(value) for edition in STANDARDS):
        refuse(f"name its edition: one of {known}", f'"{value}"', "Look beside the title block of the drawing.")
    refuse(f"be one of {known}", f'"{value}"', "ISO and ASME give different verdicts on the same numbers: say which.")


def _not_negative(value: float) -> float:
    if value < 0:
        refuse("be zero or above", "", "Write a standard uncertainty.")
    return value


Standard = Annotated[str, AfterValidator(_standard), Field(json_schema_extra={"enum": list(STANDARDS)})]
U = AfterValidator(_not_negative)
_U = "Its standard uncertainty."


class Gradient(Table):
    along: Direction = Field(description="Direction in which it grows warmer.", examples=[[0, 0, 1]])
    per_m: Difference = Field(description="Kelvin per metre.", examples=[0.6])


class PartTemperature(Table):
    value: Temperature = Field(description="Temperature at the anchor, degC.", examples=[23.8], ge=-60, le=200)
    u: Annotated[Difference, U] = Field(description=_U + " K.", examples=[0.3], le=50)
    gradient: Gradient | None = Field(None, description="How it grows along the part, if it does.")


class UncertainExpansion(Table):
    value: Expansion = Field(description="Coefficient of thermal expansion.", examples=["10.5 ppm/K"])
    u: Annotated[Expansion, U] = Field(description=_U, examples=["0.5 ppm/K"])


class Zone(Table):
    """A piece of the part of one material. Readings are brought to 20 degC (ISO 1) by it."""

    name: Name = Field(description="Its name.", examples=["body"])
    material: Text = Field(description="Its material; from the table, or any with `expansion`.", examples=["steel"])
    expansion: UncertainExpansion | None = Field(None, description="From a certificate; replaces the table.")
    temperature: PartTemperature | None = Field(
        None, description="Missing: nothing is corrected, the uncertainty grows, and a warning says so."
    )
    anchor: Point | None = Field(None, description="The point of the part that stays; default the origin.",
                                 examples=[[0, 0, 0]])  # fmt: skip


class Part(Table):
    """The part on the floor."""

    name: Text = Field(description="What it is.", examples=["Pump housing"])
    drawing: Text | None = Field(None, description="Number of the drawing.", examples=["PH-310"])
    revision: Text | None = Field(None, description="Revision of the drawing.", examples=["C"])
    serial: Text | None = Field(None, description="Serial number of the part.", examples=["0007"])
    measured: Text | None = Field(None, description="When, in words.", examples=["2026-11-20, 06:40 to 08:25"])
    state: Literal["free", "restrained"] = Field("free", description="How it was measured.", examples=["free"])
    supports: Text | None = Field(
        None, description="How it was held; needed for `restrained`.", examples=["three pads under the flange"]
    )
    safety_critical: bool = Field(False, description="A wrong verdict could hurt someone.", examples=[True])
    sign_off: Text | None = Field(
        None, description="Who must sign; needed for `safety_critical`.", examples=["the welding engineer of the plant"]
    )
    zone: Annotated[list[Zone], Field(min_length=1)] = Field(description="Its zones, one material each.")


class UncertainTemperature(Table):
    value: Temperature = Field(description="degC.", examples=[24.0], ge=-40, le=100)
    u: Annotated[Difference, U] = Field(description=_U + " K.", examples=[0.5], le=50)


class UncertainPressure(Table):
    value: Pressure = Field(
        description="At the instrument, not reduced to sea level. Pa.", examples=["98.4 kPa"], ge=10_000, le=140_000
    )
    u: Annotated[Pressure, U] = Field(description=_U + " Pa.", examples=["50 Pa"])


class UncertainHumidity(Table):
    value: PerCent = Field(description="Relative humidity, per cent.", examples=[45], ge=0, le=100)
    u: Annotated[PerCent, U] = Field(description=_U + " Per cent.", examples=[10])


class UncertainCO2(Table):
    value: PartsPerMillion = Field(description="Carbon dioxide, ppm.", examples=[450], ge=0, le=2000)
    u: Annotated[PartsPerMillion, U] = Field(description=_U + " ppm.", examples=[50])


class Air(Table):
    """The air along the line of sight. What is missing is assumed, with a large uncertainty, and a warning says so."""

    temperature: UncertainTemperature | None = Field(None, description="Temperature of the air.")
    pressure: UncertainPressure | None = Field(None, description="Pressure of the air.")
    humidity: UncertainHumidity | None = Field(None, description="Relative humidity.")
    co2: UncertainCO2 | None = Field(None, description="Carbon dioxide.")


class Place(Table):
    """Where it is measured."""

    name: Text = Field(description="The place.", examples=["Hall 2, bay 4"])
    altitude: Altitude | None = Field(None, description="Above sea level, with its unit.", examples=["250 m"])
    air: Air | None = Field(None, description="The air, as measured.")


class Decision(Table):
    """Who must prove what (ISO 14253-1)."""

    rule: Literal["ISO 14253-1", "ISO 14253-1:2017"] = Field(
        "ISO 14253-1", description="The rule.", examples=["ISO 14253-1"]
    )
    who_proves: Literal["supplier", "customer"] = Field(
        "supplier", description="Who has to prove.", examples=["supplier"]
    )
    prove: Literal["conformity", "non-conformity"] | None = Field(
        None, description="What is to be proven; default: conformity by the supplier, non-conformity by the customer.",
        examples=["conformity"],
    )  # fmt: skip
    probability: Annotated[float, Field(gt=0.5, lt=1)] = Field(
        0.95, description="With which probability at least.", examples=[0.95]
    )
    prior: Prior | None = Field(None, description="For all requirements in mm that name none of their own.")


class Target(Table):
    """A reflector ball or a probe tip."""

    diameter: PositiveLength = Field(description="Its diameter.", examples=[38.1])
    u_radius: Annotated[Length, U] = Field(description="Standard uncertainty of its radius.", examples=["1.5 um"])
    centring: Annotated[Length, U] = Field(
        0.0, description="Standard uncertainty of its optical centre, in each direction.", examples=["2 um"]
    )
    origin: Text = Field(
        "declared in the job", description="Where the figures are from.", examples=["certificate 2026-03"]
    )


class Nest(Table):
    """A nest that holds a ball above a surface."""

    takes: PositiveLength = Field(description="Diameter of the ball that fits.", examples=[38.1])
    height: Length = Field(description="From the surface to the centre of the ball.", examples=[25.0])
    u_height: Annotated[Length, U] = Field(description=_U, examples=["5 um"])


class Figure(Table):
    """A figure from a certificate. How it is shared and where it acts stay as in the class."""

    u: RawFigure | None = Field(None, description="Standard uncertainty, with its unit.", examples=["0.5 um"])
    limit: RawFigure | None = Field(None, description="Or a permissible error, plus or minus.", examples=["1 um"])
    value: RawFigure | None = Field(None, description="The value itself, where the class has one.", examples=["1 m"])
    distribution: Literal["normal", "rectangular", "triangular", "arcsine"] | None = Field(
        None, description="Default: normal for u, rectangular for a limit.", examples=["rectangular"]
    )
    dof: Annotated[float, Field(gt=0)] | None = Field(None, description="Degrees of freedom of u.", examples=[20])
    doubt: RawFigure | None = Field(None, description="Or the relative uncertainty of u.", examples=["25 %"])
    origin: Text | None = Field(None, description="Where it is from; printed.", examples=["certificate 118, 2026-02"])
    action: Text | None = Field(None, description="What one could do about it.", examples=["send it to be adjusted"])


class Instrument(Table):
    """An instrument of the catalogue; figures of its own certificate replace those of the class."""

    format: Literal["trysquare-instrument/1"] | None = Field(
        None, description="In a file of its own only.", examples=[INSTRUMENT_FORMAT]
    )
    class_name: Text = Field(alias="class", description="Class of the catalogue.", examples=["laser tracker"])
    serial: Text | None = Field(None, description="Its serial number.", examples=["T-1"])
    source: dict[Name, Figure] = Field({}, description="By the name of a figure of the class: what replaces it.")


class Station(Table):
    """One set-up of an instrument that sees points."""

    name: Name = Field(description="Its name.", examples=["1"])
    instrument: Text = Field(description="Its instrument: a table, or a file in this folder.", examples=["tracker-1"])
    readings: Text | None = Field(
        None, description="Its reading file; none while the job is only planned.", examples=["station-1.csv"]
    )
    at: Point | None = Field(
        None, description="Where it stands, roughly, in the part frame.", examples=[[3000, -2500, 1200]]
    )
    air: Air | None = Field(None, description="The air here; replaces that of the place.")


class Hand(Table):
    """Readings of a hand tool: each lands on one requirement."""

    instrument: Text = Field(description="The tool: a table, or a file in this folder.", examples=["bore-gauge-1"])
    readings: Text | None = Field(
        None, description="Its reading file; none while the job is only planned.", examples=["bores.csv"]
    )


class JobFile(Table):
    """`job.toml`."""

    format: Literal["trysquare-job/1"] = Field(description="The format of this file.", examples=[FORMAT])
    title: Text = Field(description="Title of the report.", examples=["Pump housing, after machining"])
    units: Literal["mm", "m", "in"] = Field(
        description="Unit of every bare length in this file and of nothing else.", examples=["mm"]
    )
    standard: Standard = Field(description="Standard of the drawing, with its edition.", examples=[STANDARDS[0]])
    general: GeneralTolerance | None = Field(
        None, description="General tolerance of the drawing, for what has none of its own.", examples=["ISO 2768-mK"]
    )
    seed: Annotated[int, Field(ge=0, lt=2**63)] = Field(1, description="Seed of the draws.", examples=[1])
    draws: Annotated[int, Field(ge=200, le=1_000_000)] = Field(2000, description="How many draws.", examples=[2000])
    tie: list[Name] = Field(
        [], description="Names of tie points; stands before the first table.", examples=[["T1", "T2", "T3", "T4"]]
    )
    dropped: list[Name] = Field(
        [], description="Numbers that earlier revisions of the drawing had and this one has not; readings and records "
        "of them are passed over. Stands before the first table.", examples=[["7", "12"]],
    )  # fmt: skip
    part: Part = Field(description="The part.")
    place: Place = Field(description="The place.")
    decision: Decision = Field(Decision(), description="The rule of decision.")
    target: dict[Name, Target] = Field({}, description="Balls and tips, by name.")
    nest: dict[Name, Nest] = Field({}, description="Nests, by name.")
    instrument: dict[Name, Instrument] = Field({}, description="Instruments, by name.")
    feature: dict[Name, Feature] = Field({}, description="Features, by name.")
    datum: dict[Letter, Name] = Field({}, description="Datum features: letter = feature.", examples=[{"A": "base"}])
    association: dict[LetterOrAll, Association] = Field(
        {}, description="How datums are laid against their features: letter, or all = association.",
        examples=[{"all": "least squares"}],
    )  # fmt: skip
    requirement: Annotated[list[Requirement], Field(min_length=1)] = Field(description="The requirements.")
    attribute: list[Attribute] = Field([], description="Requirements without a number.")
    station: list[Station] = Field([], description="The stations.")
    hand: list[Hand] = Field([], description="Hand tools.")
    recorded: list[Recorded] = Field([], description="What was found of the attributes.")
