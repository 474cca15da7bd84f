"""The workpiece's own form as an error source of smooth and magnitude characteristics.

Where a feature's residuals lie clearly above what the declared errors explain, what is left over acts on each point
along the normal, with its estimated size and degrees of freedom. It treats form as independent from point to point:
right for form shorter than the spacing, too small for long waves that the points cannot tell from tilt or size; the
results say so. The form model of surfaces (`extreme`) does not use it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ..chance.sources import Draws, Source
from ..core.arrays import Array

#: Contributions add the form of all features under this name.
NAME = "form of the workpiece"


@dataclass(frozen=True)
class FormErrors:
    """Standard deviation (mm) and degrees of freedom of the form of features, by name."""

    found: Mapping[str, tuple[float, float]]

    @property
    def sources(self) -> tuple[Source, ...]:
        return tuple(self._source(name) for name in self.found)

    def errors(self, feature: str, keys: Sequence[str], draws: Draws) -> Array:
        """Errors along the normal at the points `keys` of a feature in which form was `found`, (draws, n) mm."""
        return draws.of(self._source(feature), keys)

    def warnings(self) -> list[str]:
        """One sentence where features have form that the declared errors do not explain."""
        if not self.found:
            return []
        names = ", ".join(f"{name} ({1000 * sd:.1f} µm)" for name, (sd, _) in sorted(self.found.items()))
        return [
            f"residuals above the declared errors, taken as form of the workpiece from point to point: {names}; waves "
            "longer than the spacing of the points are not in these figures"
        ]

    def _source(self, feature: str) -> Source:
        sd, dof = self.found[feature]
        return Source(
            f"{NAME}: {feature}", "feature", sd, "mm", "point", dof=dof, origin="residuals of this job",
            action="touch more points on the feature",
        )  # fmt: skip
