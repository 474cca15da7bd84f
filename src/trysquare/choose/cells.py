"""The cells of the matrix for one class: predictions turned into words."""

from collections.abc import Mapping
from functools import partial

from ..instruments.catalogue import InstrumentClass
from ..jobs.job import Job, Requirement
from .case import Case, case_of
from .largest import Largest
from .predict import Prediction, Trial, tried
from .remedies import Outlook, Workshop
from .result import Cell
from .words import HOLDS, LIMITED, ZoneWidth, acceptance, acceptance_text, left_of, percent, target_u, zone_of

#: How an action begins that leaves the part's maker less than the whole zone.
KEEPS = "the maker keeps to"


def column(
    job: Job, cls: InstrumentClass, *, known: Mapping[str, InstrumentClass], draws: int, seed: int
) -> tuple[Case, dict[str, Cell]]:
    """Every requirement of the job with one class of instrument, by id, and the case that was tried."""
    case = case_of(job, cls, known=known)
    trial = tried(case, draws=draws, seed=seed)
    workshop = Workshop(job, case, known, draws=draws, seed=seed)
    make = partial(_cell, job, cls.name, trial, workshop)
    return case, {r.id: make(r) for r in job.requirements}


def _cell(job: Job, name: str, trial: Trial, workshop: Workshop, r: Requirement) -> Cell:
    p, zone = job.decision.probability, zone_of(r)
    target = target_u(zone, p)
    prediction = trial.predict(r)
    if prediction is None or prediction.u is None:
        word = None if prediction is None else "send out"
        why = trial.cannot.get(r.id) if prediction is None else prediction.reason
        return Cell(
            requirement=r.id, instrument=name, predicted_u=None, target_u=target, word=word, why=_sentence(why or "")
        )
    left = left_of(zone, prediction.u, p)
    outlook = None
    if left is not None and target is not None and left < HOLDS:
        outlook = workshop.outlook(r, prediction, needed=target)
    word, why, action, then = _word(r, zone, prediction, left, outlook, p)
    largest = prediction.largest
    return Cell(
        requirement=r.id, instrument=name, predicted_u=prediction.u, target_u=target, word=word, why=why, left=left,
        action=action, action_u=then, acceptance=acceptance(r, prediction.u, p),
        largest=None if largest is None else largest.name,
        largest_share=None if largest is None else largest.share,
    )  # fmt: skip


def _word(
    r: Requirement, zone: ZoneWidth, now: Prediction, left: float | None, outlook: Outlook | None, p: float
) -> tuple[str, str, str | None, float | None]:
    """Word, reason, action and the u it brings."""
    u, tail = now.u or 0.0, _tail(now.largest)
    keep = f"{KEEPS} {acceptance_text(r, acceptance(r, u, p))}"
    if left is None:
        return "holds if", f"{zone.note[:1].upper()}{zone.note[1:]}; {keep}{tail}.", keep, None
    if left >= HOLDS:
        return "holds", f"{percent(left)} of the zone is left for the maker{tail}.", None, None
    after = None if outlook is None else left_of(zone, outlook.u, p)
    if outlook is not None and after is not None and after >= HOLDS:
        why = f"Now {percent(left)} of the zone is left for the maker, with the action {percent(after)}{tail}."
        return "holds if", why, outlook.action, outlook.u
    if left >= LIMITED:
        return "holds if", f"Doubt leaves {percent(left)} of the zone: {keep}{tail}.", keep, None
    eats = f"Doubt eats {percent(1 - left)} of the zone" if left > 0 else "Doubt fills the zone"
    return "send out", f"{eats}{tail}.", None, None


def _tail(largest: Largest | None) -> str:
    return "" if largest is None else f"; {percent(largest.share)} of the doubt is {largest.name}"


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "!")) else ".") if text else ""
