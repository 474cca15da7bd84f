"""The job file's tables for what the drawing shows: features and requirements."""

import math
import re
from typing import Annotated, Any, ClassVar, Literal, Self

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, JsonValue, model_validator

from ..job import CHARACTERISTICS
from .quantities import Angle, Deviation, Length, PositiveLength, Zone, refuse

Text = Annotated[str, Field(min_length=1, pattern=r"\S")]
#: Names are used in reading files and in texts: no commas, quotes or line ends.
Name = Annotated[str, Field(pattern=r'^[^\s,;"#/][^,;"#/\n]*$', max_length=60)]


class Table(BaseModel):
    """A table of the job file: no key but the known ones, no silent change of type."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)


def _not_zero(vector: list[float]) -> list[float]:
    if not 1e-9 < math.hypot(*vector) < 1e9:
        refuse("have a length above zero", "", "Write a direction such as [0, 0, 1].")
    return vector


Direction = Annotated[list[float], Field(min_length=3, max_length=3), AfterValidator(_not_zero)]
Point = Annotated[list[Length], Field(min_length=3, max_length=3)]
_INSIDE = "true for a hole (the material lies outside the diameter), false for a shaft or a boss."


class Plane(Table):
    point: Point = Field(description="A point of the plane, its middle if `size` is given.", examples=[[600, 400, 0]])
    normal: Direction = Field(description="The normal, out of the material.", examples=[[0, 0, -1]])
    size: Annotated[list[PositiveLength], Field(min_length=2, max_length=2)] | None = Field(
        None, description="Extent along `along` and across it; used to plan points.", examples=[[1200, 800]]
    )
    along: Direction | None = Field(None, description="Direction of the first extent.", examples=[[1, 0, 0]])


class Cylinder(Table):
    point: Point = Field(description="The middle of the axis.", examples=[[120, 80, 0]])
    axis: Direction = Field(description="Direction of the axis.", examples=[[0, 0, 1]])
    diameter: PositiveLength = Field(description="Nominal diameter.", examples=[62])
    length: PositiveLength = Field(description="Length of the cylinder.", examples=[40])
    inside: bool = Field(description=_INSIDE, examples=[True])


class Circle(Table):
    point: Point = Field(description="The centre.", examples=[[120, 80, 0]])
    normal: Direction = Field(description="Normal of its plane.", examples=[[0, 0, 1]])
    diameter: PositiveLength = Field(description="Nominal diameter.", examples=[62])
    inside: bool = Field(description=_INSIDE, examples=[True])


class Sphere(Table):
    point: Point = Field(description="The centre.", examples=[[120, 80, 0]])
    diameter: PositiveLength = Field(description="Nominal diameter.", examples=[30])
    inside: bool = Field(description=_INSIDE, examples=[False])


class Line(Table):
    point: Point = Field(description="The middle of the line.", examples=[[0, 400, 0]])
    direction: Direction = Field(description="Direction of the line.", examples=[[1, 0, 0]])
    length: PositiveLength = Field(description="Length of the line.", examples=[900])


class TouchPoint(Table):
    point: Point = Field(description="The point.", examples=[[0, 400, 0]])
    normal: Direction = Field(description="The normal of the surface there, out of the material.", examples=[[0, 0, 1]])


class Form(Table):
    expected: PositiveLength = Field(description="Expected height of the form, crest to trough.", examples=[0.02])
    wavelength: PositiveLength = Field(description="Typical length of its waves.", examples=[80])


def _listed(value: Any) -> Any:
    return [value] if isinstance(value, str) else value


Features = Annotated[
    list[Name],
    Field(min_length=1, max_length=2),
    BeforeValidator(_listed, json_schema_input_type=list[str] | str),
]


def _one_of(kinds: tuple[str, ...]) -> ConfigDict:
    return ConfigDict(json_schema_extra={"oneOf": [{"required": [kind]} for kind in kinds]})


class _OneOf(Table):
    """A table that says one thing out of several."""

    KINDS: ClassVar[tuple[str, ...]] = ()

    @property
    def kind(self) -> str:
        return next(kind for kind in self.KINDS if getattr(self, kind) is not None)

    @model_validator(mode="after")
    def _exactly_one(self) -> Self:
        given = [kind for kind in self.KINDS if getattr(self, kind) is not None]
        if len(given) != 1:
            rule = f"have exactly one of {', '.join(self.KINDS)}"
            refuse(rule, " and ".join(given) or "none", "Split it in two." if given else f"Add {self.KINDS[0]} = ...")
        return self


class Feature(_OneOf):
    """A nominal feature in the part frame: exactly one shape."""

    KINDS = ("plane", "cylinder", "circle", "sphere", "line", "point")
    model_config = _one_of(KINDS)
    plane: Plane | None = Field(None, description="A plane.")
    cylinder: Cylinder | None = Field(None, description="A cylinder.")
    circle: Circle | None = Field(None, description="A circle in space: one section of a bore, say.")
    sphere: Sphere | None = Field(None, description="A sphere.")
    line: Line | None = Field(None, description="A straight line.")
    point: TouchPoint | None = Field(None, description="A point of a surface.")
    zone: Name | None = Field(None, description="Its zone of the part; optional where there is one.", examples=["body"])
    points: Annotated[int, Field(ge=1, le=100_000)] | None = Field(
        None, description="How many points to plan; used by `choose`.", examples=[12]
    )
    form: Form | None = Field(None, description="What is known of the feature's own form, before measuring.")


class Size(Table):
    nominal: PositiveLength = Field(description="Nominal size.", examples=[62])
    lower: Length | None = Field(None, description="Lower deviation from the nominal.", examples=[0])
    upper: Length | None = Field(None, description="Upper deviation from the nominal.", examples=[0.03])
    code: Text | None = Field(
        None, description="Instead of both: letters and grade of ISO 286; capitals for a hole.", examples=["H7"]
    )
    operator: Literal["two-point", "least-squares"] = Field(
        "two-point", description="Which size counts (ISO 14405-1).", examples=["least-squares"]
    )


class Radius(Table):
    nominal: PositiveLength = Field(description="Nominal radius.", examples=[12.5])
    lower: Length | None = Field(None, description="Lower deviation from the nominal.", examples=[-0.1])
    upper: Length | None = Field(None, description="Upper deviation from the nominal.", examples=[0.1])


class Distance(Table):
    nominal: PositiveLength = Field(description="Nominal distance.", examples=[400])
    lower: Length | None = Field(None, description="Lower deviation from the nominal.", examples=[-0.1])
    upper: Length | None = Field(None, description="Upper deviation from the nominal.", examples=[0.1])
    code: Text | None = Field(
        None, description="Instead of both, for a width between two opposite planes: as for a size.", examples=["P9"]
    )
    along: Direction | None = Field(
        None, description="Count only what lies along this direction.", examples=[[1, 0, 0]]
    )


class AngleBetween(Table):
    nominal: Angle = Field(description="Nominal angle, with its unit.", examples=["60 deg"])
    lower: Angle | None = Field(None, description="Lower deviation from the nominal.", examples=["-0.05 deg"])
    upper: Angle | None = Field(None, description="Upper deviation from the nominal.", examples=["0.05 deg"])


class Flatness(Table):
    zone: Zone | None = Field(
        None, description="Width of the zone, between two planes; never a diameter. Missing: the general tolerance.",
        examples=[0.05],
    )  # fmt: skip


def _datum(text: str) -> str:
    if "maximum" in text or "least" in text:
        way_out = f'Write "{text.split()[0]}" to judge it regardless of feature size, or leave the requirement out.'
        refuse("be a letter without a material condition, which this version does not judge", f'"{text}"', way_out)
    if not re.fullmatch(r"[A-Z]{1,2}(-[A-Z]{1,2})*", text):
        refuse("be a capital letter of [datum]", f'"{text}"', 'Write it as on the drawing, such as "A" or "A-B".')
    return text


def _letter(text: str) -> str:
    if "-" in text:
        way_out = f'Give each feature its letter, and write "{text}" in the datums of a requirement.'
        refuse("be one letter", f'"{text}"', way_out)
    return _datum(text)


_ENTRY = "^[A-Z]{1,2}(-[A-Z]{1,2})*$"
Letter = Annotated[str, AfterValidator(_letter), Field(json_schema_extra={"pattern": "^[A-Z]{1,2}$"})]
Entry = Annotated[str, AfterValidator(_datum), Field(json_schema_extra={"pattern": _ENTRY})]
LetterOrAll = Annotated[str, Field(pattern="^(all|[A-Z]{1,2})$")]
Association = Literal[
    "least squares", "outer minimax", "outer squares", "outer sum", "ISO 5459:2011", "ASME Y14.5.1-2019"
]
Letters = Annotated[list[Entry], Field(min_length=1, max_length=3)]
_DATUMS = "Letters of its datum system, in order of precedence; a common datum as `A-B`."
_ASKED: dict[str, JsonValue] = {"x-source": "ISO 1101:2017, ASME Y14.5; from memory"}


class Orientation(Table):
    zone: Zone | None = Field(
        None,
        description="Width of the zone, between two planes; `diameter` before it: a cylinder about the axis. Missing: "
        "the general tolerance.",
        examples=["diameter 0.05"],
    )
    datums: Letters = Field(description=_DATUMS, examples=[["A"]], json_schema_extra=_ASKED)


class Position(Table):
    zone: Zone = Field(
        description="Width of the zone, between two planes; `diameter` before it: a cylinder, or a sphere.",
        examples=["diameter 0.1"],
    )
    datums: Letters = Field(description=_DATUMS, examples=[["A", "B", "C"]], json_schema_extra=_ASKED)
    direction: Direction | None = Field(
        None, description="Across the two planes; needed for an axis or a centre.", examples=[[1, 0, 0]]
    )


class Prior(Table):
    """What was known before measuring. Without it no probability of conformity is stated."""

    mean: Deviation = Field(description="Mean of the deviation from the nominal.", examples=[0])
    sd: Deviation = Field(description="Its standard deviation, above zero.", examples=[0.03])
    origin: Text = Field(
        alias="from", description="Where this is known from; printed.", examples=["process history, 60 parts"]
    )


#: Said of requirements and attributes alike.
REVISION = "Revision of the drawing that brought it in or changed it last."


class Requirement(_OneOf):
    """One line of the drawing: exactly one characteristic, on one feature (two for a distance or an angle)."""

    KINDS = CHARACTERISTICS
    model_config = _one_of(KINDS)
    id: Name = Field(description="Its number; each once.", examples=["20"])
    name: Text | None = Field(None, description="What people call it.", examples=["Bearing bore"])
    on: Features = Field(description="The feature, or two for a distance or an angle.", examples=["bore-1"])
    size: Size | None = Field(None, description="A diameter. `lower` and `upper` are deviations from the nominal.")
    radius: Radius | None = Field(None, description="A radius: half the least squares diameter.")
    distance: Distance | None = Field(None, description="Between two features: a step, a width, a centre distance.")
    angle: AngleBetween | None = Field(None, description="Between the directions of two features.")
    flatness: Flatness | None = Field(None, description="Form of a plane.")
    parallelism: Orientation | None = Field(None, description="Against a datum system.")
    perpendicularity: Orientation | None = Field(None, description="Against a datum system.")
    position: Position | None = Field(None, description="Against a datum system.")
    sheet: Text | None = Field(None, description="Sheet of the drawing.", examples=["1"])
    grid: Text | None = Field(None, description="Field of the sheet.", examples=["C4"])
    revision: Text | None = Field(None, description=REVISION, examples=["B"])
    critical: bool = Field(False, description="Marked as critical on the drawing.", examples=[True])
    key: bool = Field(False, description="Marked as a key characteristic on the drawing.", examples=[True])
    state: Literal["free", "restrained"] | None = Field(
        None, description="State in which the drawing demands it, where it says so; a part measured in the other "
        "state leaves it undecided.", examples=["free"],
    )  # fmt: skip
    prior: Prior | None = Field(None, description="Prior of this requirement; replaces that of `[decision]`.")
