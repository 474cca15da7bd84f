"""The job file's tables for what a drawing says without a number at each feature: general tolerances, attributes."""

from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Field, model_validator

from ...core.errors import InputError
from ...tolerances.general import General, general
from .quantities import Angle, PositiveLength, refuse
from .schema_drawing import REVISION, Features, Name, Table, Text

KINDS = ("gauge", "thread", "visual", "other")


class GeneralTable(Table):
    """For dimensions and features that have no tolerance of their own; printed with every result that uses it.

    A text alone is the standard: `general = "ISO 2768-mK"`.
    """

    standard: Text = Field(
        description="ISO 2768 with the classes f, m, c, v (dimensions) and H, K, L (features), or `ISO 22081`.",
        examples=["ISO 2768-mK"],
    )
    linear: PositiveLength | None = Field(
        None, description="ISO 22081: plus or minus, for linear sizes.", examples=[0.1]
    )
    angular: Angle | None = Field(None, description="ISO 22081: plus or minus, for angles.", examples=["0.5 deg"])

    @model_validator(mode="after")
    def _known(self) -> Self:
        try:
            self.stated()
        except InputError as error:
            refuse(error.rule, error.found, error.way_out)
        return self

    def stated(self) -> General:
        """What the drawing states."""
        return general(self.standard, linear_mm=self.linear, angular_rad=self.angular)


def _table(value: Any) -> Any:
    return {"standard": value} if isinstance(value, str) else value


GeneralTolerance = Annotated[GeneralTable, BeforeValidator(_table, json_schema_input_type=GeneralTable | str)]


class Attribute(Table):
    """A requirement that is accepted or not and has no number: a gauge, a thread, a look."""

    id: Name = Field(description="Its number; each once, among the requirements too.", examples=["90"])
    name: Text | None = Field(None, description="What people call it.", examples=["Thread for the eye bolt"])
    what: Literal["gauge", "thread", "visual", "other"] = Field(description="What kind it is.", examples=["thread"])
    demand: Text = Field(
        description="What must hold, and how one looks.", examples=["M20 - 6H: go gauge enters, no-go gauge does not"]
    )
    on: Features | None = Field(None, description="The feature it is on, or two.", examples=["bore-1"])
    sheet: Text | None = Field(None, description="Sheet of the drawing.", examples=["1"])
    grid: Text | None = Field(None, description="Field of the sheet.", examples=["C4"])
    revision: Text | None = Field(None, description=REVISION, examples=["B"])
    critical: bool = Field(False, description="Marked as critical on the drawing.", examples=[True])
    key: bool = Field(False, description="Marked as a key characteristic on the drawing.", examples=[True])


class Recorded(Table):
    """What was found of the attributes, by whom and when: no instrument, no uncertainty."""

    readings: Text | None = Field(
        None, description="Its file; none while the job is only planned.", examples=["attributes.csv"]
    )
