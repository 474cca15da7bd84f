"""What the first member of a batch tells of itself: what refusals and doubts look at."""

from dataclasses import dataclass

from ...core.arrays import Array
from ..kernels.turn_rows import BALL, CONE, HOOP, RING, TORUS, TUBE

WORDS = {RING: "circle", HOOP: "circle", BALL: "sphere", TUBE: "cylinder", CONE: "cone", TORUS: "torus"}


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """What the first member of a batch tells: how its descent ended, its parameters (`radius` the major one of a torus,
    `more` half angle or minor radius), their cofactor, the standard deviation `sd` of a point (None: no degrees of
    freedom), the points (n, 3) that counted; `failed` says that no member did.
    """

    kind: int
    code: int
    failed: bool
    passes: int
    ratio: float
    extent: float
    rival: float
    at: Array
    frame: Array
    radius: float
    more: float
    cofactor: Array
    sd: float | None
    points: Array
    held: tuple[str, ...] = ()
