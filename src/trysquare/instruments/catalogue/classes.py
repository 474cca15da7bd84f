"""What a class of instrument is: its figures, its reach, its cost, and what it can measure."""

from collections.abc import Mapping
from dataclasses import dataclass

from ..parameters import Parameter

CHARACTERISTICS = ("size", "radius", "distance", "angle", "flatness", "parallelism", "perpendicularity", "position")
KINDS = ("plane", "cylinder", "circle", "sphere", "line", "point")
PLACES = ("hall", "laboratory")
TOUCHES = ("reflector", "tip", "surface", "mark", "jaws", "anvils")


@dataclass(frozen=True)
class Cost:
    """What a job costs, as a range: EUR for coming and setting up, minutes for each feature."""

    job_EUR: tuple[float, float]
    minutes_per_feature: tuple[float, float]
    origin: str


@dataclass(frozen=True)
class InstrumentClass:
    """One class of instrument, by its name in the trade.

    `model` is the kind of observation model: tracker, arm, cartesian or hand. `least_mm` to `reach_mm` are distances
    from the instrument, or lengths for a hand tool. `where` is "hall" if it comes to the part, "laboratory" if the part
    goes to it, at 20 degC. `touches` is what meets the surface.
    """

    name: str
    summary: str
    model: str
    least_mm: float
    reach_mm: float
    where: str
    touches: str
    characteristics: tuple[str, ...]
    features: tuple[str, ...]
    needs: tuple[str, ...]
    parameters: Mapping[str, Parameter]
    cost: Cost

    @property
    def by_hand(self) -> bool:
        """Whether it reads one length instead of points."""
        return self.model == "hand"

    def can_measure(self, characteristic: str, kinds: tuple[str, ...], *, inside: bool = False) -> bool:
        """Whether it measures this characteristic on features of these kinds, as to its nature (not its accuracy)."""
        side = "inside" if inside else "outside"
        return characteristic in self.characteristics and all(
            kind in self.features or f"{kind} {side}" in self.features for kind in kinds
        )
