"""Single points far off their neighbours: a defect of the surface there, or a wrong reading; nobody can say which.

They are not averaged in silence. Where one is grossly off, nothing is stated of what rests on its feature until it is
measured again as a point of its own: a second point beside it that lies so too confirms the surface.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from ..chance.alarm import gross
from ..chance.form_noise import fit_columns
from ..chance.lone_points import Lone, Residuals, lone_points
from ..core.errors import FormatError
from ..tolerances.measurand import Surface
from .chain import Chain, residual_errors
from .doubts import Doubt, so_many

#: Shapes whose residuals say on which side of the surface a point lies.
_SHAPES = ("plane", "cylinder", "circle", "sphere")
#: A point that explains the residuals to this part of the worst one may be the wrong one in its stead.
_ALIKE = 0.8
_EITHER = "Either the surface is so there, or the reading is wrong: measure it again, as a point of its own"


@dataclass(frozen=True)
class LonePoint:
    """A point of `feature` (label `aim`, first read in `line` of `file`) far off the others.

    `rivals` are points that would explain the residuals as well were they the wrong one; `ids` the readings of all.
    """

    file: str
    line: int
    aim: str
    feature: str
    rivals: tuple[str, ...]
    ids: tuple[str, ...]
    off_mm: float
    times: float
    limit: float

    @property
    def gross(self) -> bool:
        """Whether nothing may be stated of what rests on it."""
        return gross(self.times, self.limit)

    @property
    def doubt(self) -> Doubt:
        """What a gross one throws in doubt."""
        where = f"{self.file}, line {self.line}"
        reason = f"cannot be stated ({where}): {self._named()} lies {self._found()}. {_EITHER}"
        return Doubt(reason, features=frozenset({self.feature}))

    @property
    def warning(self) -> FormatError:
        """The same for the list of warnings."""
        effect = "; what rests on it is not stated until then" if self.gross else ""
        return FormatError(
            self.file, self.line, self._named(), "lie where its neighbours put it", self._found(),
            f"{_EITHER}{effect}.",
        )  # fmt: skip

    def _named(self) -> str:
        rivals = " or ".join(f'"{aim}"' for aim in self.rivals)
        also = f", or else {rivals} (the others cannot tell which)," if rivals else ""
        return f'the point "{self.aim}"{also}'

    def _found(self) -> str:
        side = "out of" if self.off_mm > 0 else "into"
        return (
            f"{abs(self.off_mm):.3f} mm {side} the material, {so_many(self.times)} times what the declared errors and "
            f"the form of the other points lead to expect (up to {self.limit:.0f} times is chance)"
        )


def lone(chain: Chain, value: Mapping[str, Surface], drawn: Mapping[str, Surface]) -> tuple[LonePoint, ...]:
    """The farthest point of each feature that has one beyond its limit; `drawn` are surfaces of a few hundred draws."""
    names = [name for name in value if value[name].feature.nominal.kind in _SHAPES]
    given = []
    for name in names:
        residuals, errors, normals = residual_errors(drawn[name], value[name])
        given.append(Residuals(residuals, errors, fit_columns(value[name].points_mm, normals)))
    out = []
    for name, found in zip(names, lone_points(given), strict=True):
        if found is None or found.times.max() <= found.limit:
            continue
        out.append(_point(chain, name, found))
    return tuple(out)


def _point(chain: Chain, name: str, found: Lone) -> LonePoint:
    worst = int(found.times.argmax())
    alike = [i for i in (found.times > _ALIKE * found.times[worst]).nonzero()[0].tolist() if i != worst]
    file, line, aim, ids = chain.points.taken(int(chain.points.rows[name][worst]))
    others = [chain.points.taken(int(chain.points.rows[name][i])) for i in alike]
    return LonePoint(
        file, line, aim, name, tuple(label for _, _, label, _ in others), (*ids, *(i for o in others for i in o[3])),
        float(found.off_mm[worst]), float(found.times[worst]), found.limit,
    )  # fmt: skip
