"""Which instrument would hold this drawing, in this place: the same job tried with every class."""

import platform
from collections.abc import Mapping
from functools import partial
from importlib.metadata import version

from ..core.arrays import Progress
from ..core.errors import InputError
from ..instruments.catalogue import InstrumentClass, classes
from ..jobs.job import Job, Requirement
from ..jobs.result import Input, Rule
from ..jobs.runs import side_by_side
from ..jobs.texts import rule_text, temperature_text, zone_text
from .case import Case
from .cells import column
from .conclude import assumptions, cautions, conclusion, lab_list
from .result import Candidate, Cell, Choice, Wanted
from .sets import Offer, cheapest_sets, offer
from .words import limits_of, zone_of

#: Draws that a prediction takes: its u is then stable to about 4 %.
DRAWS = 500
#: Fewer would not fill the tails of an interval.
FEWEST_DRAWS = 100


def choose(
    job: Job,
    *,
    known: Mapping[str, InstrumentClass] | None = None,
    draws: int = DRAWS,
    seed: int | None = None,
    progress: Progress | None = None,
) -> Choice:
    """Try the job with every class of instrument and say which would hold what, and the cheapest sets.

    `known` are the classes by name, else those of the house. Nothing is read but the job as loaded (its readings, if
    any, are not used) and nothing is written. The same job, seed and draws give the same document to the last digit.

    Raises
    ------
    InputError : too few draws, no requirement, or figures of a class that are wrong. Cancelled, from `progress`.
    """
    if draws < FEWEST_DRAWS:
        raise InputError("choose", "the number of draws", f"be at least {FEWEST_DRAWS}", f"{draws}", "Draw more.")
    if not job.requirements:
        raise InputError("choose", "the job", "have a requirement", "none", "Write what the drawing asks.")
    among = classes() if known is None else known
    chosen = job.seed if seed is None else seed
    done = 0

    def tick() -> None:
        nonlocal done
        done += 1
        if progress is not None:
            progress(done / len(among))

    tasks = [partial(column, job, c, known=among, draws=draws, seed=chosen) for c in among.values()]
    columns = dict(zip(among, side_by_side(tasks, tick), strict=True))
    return _document(job, among, columns, draws, chosen)


def _document(
    job: Job,
    known: Mapping[str, InstrumentClass],
    columns: Mapping[str, tuple[Case, dict[str, Cell]]],
    draws: int,
    seed: int,
) -> Choice:
    cells = {r.id: {name: column[r.id] for name, (_, column) in columns.items()} for r in job.requirements}
    order = [r.id for r in job.requirements]
    offers = {name: offer(job, c, [i for i in order if cells[i][name].word == "holds"]) for name, c in known.items()}
    sets = cheapest_sets(list(offers.values()), order)
    lab = lab_list(job, known, cells)
    rule = job.decision
    return Choice(
        title=job.title,
        part_name=job.part.name,
        place=job.place.name,
        temperature_text=temperature_text(job),
        standard=job.standard,
        rule=Rule(
            standard=rule.rule, who_proves=rule.who_proves, prove=rule.prove, probability=rule.probability,
            text=rule_text(rule),
        ),
        seed=seed,
        draws=draws,
        versions={name: version(name) for name in ("trysquare", "numpy", "scipy", "numba")}
        | {"python": platform.python_version()},
        inputs=[Input(file=i.file, sha256=i.sha256, bytes=i.bytes) for i in job.inputs],
        conclusion=conclusion(job, sets, lab, known),
        matrix=[cells[id_][name] for id_ in order for name in known],
        sets=sets,
        lab=lab,
        requirements=[_wanted(r) for r in job.requirements],
        instruments=[_candidate(columns[name][0], columns[name][1], offers[name], order) for name in known],
        assumptions=assumptions(job),
        cautions=cautions(known, [name for name, o in offers.items() if o.holds]),
        warnings=list(job.warnings),
    )  # fmt: skip


def _wanted(r: Requirement) -> Wanted:
    return Wanted(
        id=r.id, name=r.name, characteristic=r.characteristic, zone_text=zone_text(r),
        unit="rad" if r.characteristic == "angle" else "mm", lower=r.lower, upper=r.upper, width=zone_of(r).width,
        limits=limits_of(r),
    )  # fmt: skip


def _candidate(case: Case, column: Mapping[str, Cell], o: Offer, order: list[str]) -> Candidate:
    words = [column[i].word for i in order]
    reasons = [column[i].why for i in order]
    alike = reasons[0] if len(set(reasons)) == 1 else "measures nothing that is asked here"
    how = case.how if any(words) else alike.rstrip(".")
    return Candidate(
        name=case.cls.name, where=case.cls.where, by_hand=case.cls.by_hand, how=how, needs=list(case.cls.needs),
        cost=o.cost([i for i in order if column[i].word == "holds"]), holds=words.count("holds"),
        holds_if=words.count("holds if"),
    )  # fmt: skip
