"""The result document: what `judge` answers, and all that a report is made from.

Lengths mm, angles rad, temperatures degC. `null` means "not stated", never zero. The JSON Schema is made from these
classes (`schema()`); keys may be added, never renamed or removed without a new `format`.
"""

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict

FORMAT = "trysquare-result/1"
Verdict = Literal["accept", "reject", "undecided"]


class _Record(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", ser_json_inf_nan="null")


class Contribution(_Record):
    """The share of the variance that one source causes at one link; with the remainder they sum to 1."""

    source: str
    link: str
    share: float


class Next(_Record):
    """The cheapest known next step for a requirement, with what it is predicted to bring."""

    text: str
    predicted_U: float | None = None
    predicted_interval: tuple[float, float] | None = None


class Stated(_Record):
    """A probability of conformity; never without the prior that it rests on."""

    value: float
    prior: str


class Seen(_Record):
    """Where the requirement's evidence lies, in part coordinates."""

    feature: str
    points_mm: list[tuple[float, float, float]]
    stations: list[str]


class Recorded(_Record):
    """What somebody found of an attribute, and where it is written down."""

    result: Verdict
    by: str
    when: str
    note: str
    file: str
    line: int


class AxisCloud(_Record):
    """Where the axis, centre or plane may be against its zone: deviations in the plane of the zone, mm."""

    value: tuple[float, float]
    draws: list[tuple[float, float]]
    radius: float
    width_only: bool = False  # a zone between two planes: only the first coordinate counts
    labels: tuple[str, str] = ("x", "y")


class Judged(_Record):
    """One requirement, judged; `belief` lists quantiles of the true value at `belief_at` of the document.

    An attribute has no number: its unit is "1", `zone_text` says what is demanded, `records` what was found of it.
    """

    id: str
    name: str
    characteristic: str
    kind: Literal["smooth", "magnitude", "extreme", "attribute"]
    on: list[str]
    datums: list[str]
    sheet: str | None = None
    grid: str | None = None
    critical: bool = False
    unit: Literal["mm", "rad", "1"]
    nominal: float | None
    lower: float | None
    upper: float | None
    zone_text: str
    diameter_zone: bool = False
    value: float | None
    u: float | None
    U: float | None
    interval: tuple[float, float] | None
    coverage: float
    guard: tuple[float | None, float | None]
    acceptance: tuple[float | None, float | None]
    verdict: Verdict
    side: Literal[-1, 0, 1]
    reason: str | None = None
    risk: float | None
    p_conform: Stated | None = None
    contributions: list[Contribution]
    remainder: float | None
    next: Next | None = None
    belief: list[float] | None
    notes: list[str] = []
    where: list[Seen] = []
    axis: AxisCloud | None = None
    measured_by: list[str] = []
    code: str | None = None
    records: list[Recorded] = []
    revision: str | None = None
    key: bool = False
    state: Literal["free", "restrained"] | None = None


class Station(_Record):
    """A set-up of an instrument, in part coordinates."""

    name: str
    instrument: str
    at_mm: tuple[float, float, float]
    ties: list[str]


class Spot(_Record):
    """A feature or tie point on the floor plan; `outline_mm` are its measured points, in part coordinates."""

    name: str
    at_mm: tuple[float, float, float]
    outline_mm: list[tuple[float, float, float]] = []


class Floor(_Record):
    stations: list[Station]
    features: list[Spot]
    ties: list[Spot]


class Tie(_Record):
    """How well the stations agree: chi-square of the weighted residuals and its degrees of freedom."""

    chi_square: float
    dof: int
    p: float
    largest_residual_mm: float
    at: str


class Input(_Record):
    file: str
    sha256: str
    bytes: int


class Interpretation(_Record):
    """One reading of the drawing that the standard leaves open, or that this edition makes, said aloud."""

    about: str
    text: str


class Datum(_Record):
    """One entry of a datum system: a letter, or a common datum such as "A-B".

    `fixes` names the freedoms that it takes from those that the datums before it left open, after the axes of the part
    frame; `association` how it is laid against its features.
    """

    datum: str
    features: list[str]
    association: str
    fixes: list[str]


class DatumSystem(_Record):
    """A datum system in order of precedence; with `open`, its datums share the six freedoms out between them."""

    datums: list[Datum]
    open: list[str]
    requirements: list[str]


class Rule(_Record):
    standard: str
    who_proves: str
    prove: Literal["conformity", "non-conformity"]
    probability: float
    text: str


class Part(_Record):
    verdict: Verdict
    joint_risk: float | None
    accept: int
    undecided: int
    reject: int
    text: str
    sign_off: str | None = None


class Result(_Record):
    """The document."""

    format: Literal["trysquare-result/1"] = FORMAT  # type: ignore[assignment]
    title: str
    part_name: str
    drawing: str | None
    revision: str | None
    serial: str | None
    place: str
    measured: str | None
    temperature_text: str
    standard: str
    rule: Rule
    seed: int
    draws: int
    versions: dict[str, str]
    inputs: list[Input]
    interpretations: list[Interpretation]
    warnings: list[str]
    part: Part
    belief_at: list[float]
    requirements: list[Judged]
    floor: Floor | None = None
    tie: Tie | None = None
    datum_systems: list[DatumSystem] = []

    def as_bytes(self) -> bytes:
        """The document as it is written to disk: same result, same bytes."""
        return (self.model_dump_json(indent=1) + "\n").encode()


def schema() -> dict[str, Any]:
    """JSON Schema of the document."""
    return Result.model_json_schema()
