"""The document that `choose` answers: the matrix, the cheapest sets, what must go to the laboratory.

Lengths mm, angles rad, money in the currency named. `null` means "not predicted", never zero. Keys may be added, never
renamed or removed without a new `format`.
"""

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict

from ..jobs.result import Input, Rule

FORMAT = "trysquare-choice/1"
Word = Literal["holds", "holds if", "send out"]


class _Record(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", ser_json_inf_nan="null")


class Cost(_Record):
    """What it costs, as a range."""

    low: float
    high: float
    currency: str = "EUR"

    @property
    def middle(self) -> float:
        """What sets are compared by."""
        return (self.low + self.high) / 2

    def __add__(self, other: "Cost") -> "Cost":
        return Cost(low=self.low + other.low, high=self.high + other.high, currency=self.currency)


class Cell(_Record):
    """One requirement with one class of instrument.

    `word` is null where the class cannot measure it; `why` says so. `left` is the share of the zone that doubt leaves
    to the maker, `acceptance` the values within which the maker must stay, `action` what a "holds if" hangs on and
    `action_u` the u that it is predicted to bring.
    """

    requirement: str
    instrument: str
    predicted_u: float | None
    target_u: float | None
    word: Word | None
    why: str
    left: float | None = None
    action: str | None = None
    action_u: float | None = None
    acceptance: tuple[float | None, float | None] | None = None
    largest: str | None = None
    largest_share: float | None = None


class Wanted(_Record):
    """A requirement, as far as choosing needs it. `limits`: two, from zero up, or one that leaves the other side open;
    `width` is then what lies between nominal and limit, null where they are one."""

    id: str
    name: str
    characteristic: str
    zone_text: str
    unit: Literal["mm", "rad"]
    lower: float | None
    upper: float | None
    width: float | None
    limits: Literal["both", "zero", "least", "most"]


class Candidate(_Record):
    """A class of instrument: how it would be set up here, what it costs by itself, how much it holds."""

    name: str
    where: Literal["hall", "laboratory"]
    by_hand: bool
    how: str
    needs: list[str]
    cost: Cost
    holds: int
    holds_if: int


class Set(_Record):
    """A set of instruments: `covers` requirements are held, each by one of them (`by`, requirement to instrument)."""

    instruments: list[str]
    cost: Cost
    covers: int
    requirements: list[str]
    by: dict[str, str]
    chosen: bool = False


class ToLab(_Record):
    """A requirement that no instrument in the hall holds: `holds` names the laboratory machine, or null for nobody.

    `best` is the instrument in the hall that leaves most of the zone, `left` that share; `action` what it would take.
    """

    requirement: str
    name: str
    holds: str | None
    why: str
    best: str | None = None
    left: float | None = None
    action: str | None = None


class Choice(_Record):
    """The document."""

    format: Literal["trysquare-choice/1"] = FORMAT  # type: ignore[assignment]
    title: str
    part_name: str
    place: str
    temperature_text: str
    standard: str
    rule: Rule
    seed: int
    draws: int
    versions: dict[str, str]
    inputs: list[Input]
    conclusion: str
    matrix: list[Cell]
    sets: list[Set]
    lab: list[ToLab]
    requirements: list[Wanted]
    instruments: list[Candidate]
    assumptions: list[str]
    cautions: list[str]
    warnings: list[str]

    def as_bytes(self) -> bytes:
        """The document as it is written to disk: same job and seed, same bytes."""
        return (self.model_dump_json(indent=1) + "\n").encode()

    def cell(self, requirement: str, instrument: str) -> Cell:
        """The cell of one requirement and one instrument."""
        return next(c for c in self.matrix if (c.requirement, c.instrument) == (requirement, instrument))


def schema() -> dict[str, Any]:
    """JSON Schema of the document."""
    return Choice.model_json_schema()
