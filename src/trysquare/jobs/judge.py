"""The main job: one measured part, from readings to verdicts."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import partial

from ..chance.contributions import shares
from ..chance.form_noise import fit_columns, form_above_noise
from ..chance.sources import Draws, Source
from ..chance.statement import Statement, not_stated
from ..core.arrays import Array, Progress
from ..instruments.base import PointInstrument
from ..instruments.hand import HandTool
from ..tolerances.measurand import Measurand, Surface
from . import states
from .chain import Chain, residual_errors
from .document import document
from .doubts import Doubt, reasons, untied
from .form import NAME as FORM
from .form import FormErrors
from .found import Found
from .instruments import instruments_of
from .job import DIMENSIONS, Job, Requirement
from .lone import LonePoint, lone
from .result import Contribution, Result
from .rocking import crowned, over_seats, rocking_note
from .runs import chunks, parts_alone, run_draws, side_by_side
from .slips import Slip, set_aside, slips, without
from .stating import by_contact, state

#: Draws that the contribution of a source of many streams takes: shares are then stable to 2 points.
CONTRIBUTION_DRAWS = 500
#: Draws that the residuals of features and tie points are tested with.
_TEST_DRAWS = 200
#: A share below this is rounding, not a contribution.
_LEAST = 1e-9
#: Residuals this improbable under the declared errors are form (or an error nobody declared).
_FORM_P = 0.01


@dataclass(frozen=True)
class Group:
    """Sources that are shown as one contribution."""

    name: str
    link: str
    members: tuple[str, ...]


def judge(job: Job, *, draws: int | None = None, seed: int | None = None, progress: Progress | None = None) -> Result:
    """Judge every requirement of `job` and return the result document; nothing is written.

    The same job, seed and number of draws give the same document to the last digit, whatever the number of threads.

    Raises
    ------
    InputError, NumericalError : the readings cannot be placed or tied. Cancelled, from `progress`.
    """
    count, chosen = draws or job.draws, job.seed if seed is None else seed
    instruments = instruments_of(job)
    found_slips = slips(job, instruments)
    chain, lone_found = _settled(set_aside(job, found_slips), instruments, chosen)
    groups = grouped(chain.sources)
    tick = _ticker(progress, len(chunks(count)) + len(groups) + len(job.requirements))
    value, drawn = chain.run(), run_draws(chain, chosen, count, tick)
    misfits = chain.points.suspects(Draws(chosen, 0, _TEST_DRAWS))
    wrong: list[Slip | LonePoint] = [*found_slips, *lone_found]
    doubts = [
        *states.in_doubt(job, unmeasured=chain.unmeasured), *(found.doubt for found in wrong if found.gross),
        *untied(misfits),
    ]  # fmt: skip
    found = found_all(chain, value, drawn, groups, chosen, tick, doubts=reasons(chain, doubts))
    warnings = [*(str(found.warning) for found in wrong), *map(str, misfits), *chain.form.warnings()]
    return document(job, chain, found, seed=chosen, draws=count, instruments=instruments, warnings=warnings)


def found_all(
    chain: Chain,
    value: Mapping[str, Measurand],
    drawn: Mapping[str, Measurand],
    groups: list[Group],
    seed: int,
    tick: Callable[[], None],
    *,
    doubts: Mapping[str, Doubt],
) -> dict[str, Found]:
    """Statement, contributions and measurands of every requirement, by id; `doubts` why some have no statement."""
    parts = parts_alone(chain, seed, CONTRIBUTION_DRAWS, [g.members for g in groups], tick)
    stated = side_by_side([partial(_statement, r, chain, value, drawn, seed) for r in chain.job.requirements], tick)
    out = {}
    for requirement, statement in zip(chain.job.requirements, stated, strict=True):
        id_ = requirement.id
        contributions, remainder = _contributions(id_, drawn, groups, parts)
        if id_ in doubts:
            statement = doubts[id_].statement(statement)
        out[id_] = Found(requirement, statement, value.get(id_), drawn.get(id_), contributions, remainder)
    return out


def grouped(sources: tuple[Source, ...]) -> list[Group]:
    """One group a source, but the form of all features together."""
    form = [s.name for s in sources if s.name.startswith(f"{FORM}: ")]
    out = [Group(s.name, s.link, (s.name,)) for s in sources if s.u > 0 and s.name not in form]
    return out + ([Group(FORM, "feature", tuple(form))] if form else [])


def _statement(
    requirement: Requirement, chain: Chain, value: Mapping[str, Measurand], drawn: Mapping[str, Measurand], seed: int,
) -> Statement:  # fmt: skip
    id_ = requirement.id
    if id_ in chain.unmeasured:
        kind = "smooth" if requirement.characteristic in DIMENSIONS else "magnitude"
        return not_stated(kind, chain.unmeasured[id_])
    if id_ in chain.touching:
        return by_contact(requirement, value[id_], chain.touching[id_], _seats(requirement, chain))
    statement = state(requirement, value[id_], drawn[id_], seed)
    if not chain.rests_on_crown(requirement):
        return statement
    rocks = rocking_note(_seats(requirement, chain), requirement.upper, touching=False)
    return statement if rocks is None else replace(statement, notes=(*statement.notes, rocks))


def _seats(requirement: Requirement, chain: Chain) -> list[float]:
    return over_seats(chain.job, requirement.datums, chain.asked[requirement.id], chain.value_surfaces)


def _contributions(
    id_: str, drawn: Mapping[str, Measurand], groups: list[Group], parts: list[dict[str, Array]]
) -> tuple[list[Contribution], float | None]:
    if id_ not in drawn:
        return [], None
    alone = {g.name: part[id_] for g, part in zip(groups, parts, strict=True) if id_ in part}
    found = shares(alone, drawn[id_].vector())
    links = {g.name: g.link for g in groups}
    rows = [Contribution(source=name, link=links[name], share=share) for name, share in found.ordered if share > _LEAST]
    return rows, found.remainder


def _settled(
    job: Job, instruments: Mapping[str, PointInstrument | HandTool], seed: int
) -> tuple[Chain, tuple[LonePoint, ...]]:
    """The chain with the form of its features, and points far off their neighbours; gross ones are set aside first."""
    found: tuple[LonePoint, ...] = ()
    while True:
        chain = Chain(job, instruments)
        value, drawn = chain.value_surfaces, chain.surfaces(Draws(seed, 0, _TEST_DRAWS))
        more = lone(chain, value, drawn)
        known = {point.feature for point in found}
        gross = tuple(point for point in more if point.gross and point.feature not in known)
        if not gross:
            errors = {name: residual_errors(drawn[name], value[name])[1] for name in value}
            return chain.with_form(_form(value, drawn), crowned=crowned(job, value, errors)), (*found, *more)
        found, job = (*found, *gross), without(job, [id_ for point in gross for id_ in point.ids])


def _form(value: Mapping[str, Surface], drawn: Mapping[str, Surface]) -> FormErrors:
    """What the residuals of each feature say of its form, against the errors that the sources declare."""
    tested = {name: _tested(drawn[name], value[name]) for name in value}
    return FormErrors({name: found for name, found in tested.items() if found is not None})


def _tested(drawn: Surface, value: Surface) -> tuple[float, float] | None:
    residuals, errors, normals = residual_errors(drawn, value)
    found = form_above_noise(residuals, errors, columns=fit_columns(value.points_mm, normals))
    return (found.sd_mm, found.dof) if found is not None and found.p < _FORM_P else None


def _ticker(progress: Progress | None, steps: int) -> Callable[[], None]:
    done = 0

    def tick() -> None:
        nonlocal done
        done += 1
        if progress is not None:
            progress(min(1.0, done / steps))

    return tick
