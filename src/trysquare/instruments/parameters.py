"""One figure of an instrument: how wrong one of its parts may be, what shares the error, and where the figure is from.

The catalogue and a certificate both end here; the models of instruments are built from a dict of name to `Parameter`.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from ..chance.sources import Source
from ..core.errors import InputError

#: Half-width of a distribution over its standard deviation (GUM 4.3.7, 4.3.9, JCGM 101 6.4).
HALF_WIDTH = {"rectangular": math.sqrt(3.0), "triangular": math.sqrt(6.0), "arcsine": math.sqrt(2.0)}


@dataclass(frozen=True)
class Parameter:
    """`u` is a standard uncertainty in `unit`: "mm", "rad" or "1" (relative: mm/mm, or rad/mm/mm as the model says).

    `value` is the nominal value of the same thing where the model needs one: the length of a link of an arm, the
    correlation length of a smooth error field, mm. Zero where the figure is an error only.
    """

    u: float
    unit: str
    link: str
    scope: str
    distribution: str = "normal"
    dof: float = math.inf
    origin: str = "declared"
    action: str = ""
    value: float = 0.0

    def source(self, name: str) -> Source:
        """The error source of this name: scope, link, distribution and degrees of freedom as declared here."""
        return Source(
            name=name, link=self.link, u=self.u, unit=self.unit, scope=self.scope, distribution=self.distribution,
            dof=self.dof, origin=self.origin, action=self.action,
        )  # fmt: skip


def from_half_width(half_width: float, distribution: str, *, where: str) -> float:
    """Standard uncertainty of a permissible error or half-width +-a, after GUM 4.3.7 and 4.3.9.

    Raises `InputError` for "normal", whose half-width says nothing without a coverage.
    """
    if distribution not in HALF_WIDTH:
        raise InputError(
            where, "the distribution of a half-width", f"be one of {', '.join(HALF_WIDTH)}", f'"{distribution}"',
            "Give u, the standard uncertainty, instead.",
        )  # fmt: skip
    return half_width / HALF_WIDTH[distribution]


def dof_from_doubt(doubt: float, *, where: str) -> float:
    """Degrees of freedom 1 / (2 r^2) of a standard uncertainty known to the relative doubt r (GUM G.4.2)."""
    if not 0 < doubt < 1:
        raise InputError(where, "the doubt", "lie between 0 and 1", repr(doubt), 'Write "25 %" or 0.25 for a quarter.')
    return 1.0 / (2.0 * doubt * doubt)


def require(parameters: Mapping[str, Parameter], names: tuple[str, ...], *, where: str) -> None:
    """Raise `InputError` that names the first parameter a model needs and does not find."""
    for name in names:
        if name not in parameters:
            raise InputError(
                where, "the class", f"give all of {', '.join(names)}", f'no "{name}"', "Add it, with u = 0 if absent."
            )
