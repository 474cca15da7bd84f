"""A new revision against an earlier one: what is new, dropped or changed, and what the readings at hand can judge."""

from dataclasses import dataclass

from .job import Attribute, Job, Requirement
from .register_lines import Line, Register, of_job
from .states import mismatched, reason_of


@dataclass(frozen=True)
class Change:
    """What one requirement says otherwise than before."""

    what: str
    old: str
    new: str


@dataclass(frozen=True)
class Changed:
    """A requirement of both revisions that is not the same in both; numbered anew where the numbers differ."""

    old: Line
    new: Line
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class Need:
    """A requirement of the new revision that the readings at hand do not decide: why, and what to measure."""

    id: str
    why: str
    features: tuple[str, ...]


@dataclass(frozen=True)
class Comparison:
    """Two revisions, requirement by requirement, and what is to be done at the part."""

    old: Register
    new: Register
    added: tuple[Line, ...]
    dropped: tuple[Line, ...]
    changed: tuple[Changed, ...]
    unchanged: tuple[str, ...]
    at_hand: tuple[str, ...]
    needed: tuple[Need, ...]

    @property
    def features(self) -> tuple[str, ...]:
        """Features to be measured, each once."""
        return tuple(dict.fromkeys(name for need in self.needed for name in need.features))


def compare(old: Register, job: Job, source: str) -> Comparison:
    """Compare the register of `job` with an earlier one; `source` names the job.

    Requirements are the same where their numbers are, or else where one and only one line on either side asks the same
    of the same features and datums under another number.
    """
    new = of_job(job, source)
    pairs = {id_: id_ for id_ in new.lines if id_ in old.lines}
    pairs |= _renumbered(old, new, pairs)
    both = [_changed(old.lines[pairs[id_]], line) for id_, line in new.lines.items() if id_ in pairs]
    needed = _needed(job)
    waiting = {need.id for need in needed}
    return Comparison(
        old=old, new=new,
        added=tuple(line for id_, line in new.lines.items() if id_ not in pairs),
        dropped=tuple(line for id_, line in old.lines.items() if id_ not in pairs.values()),
        changed=tuple(one for one in both if one.changes),
        unchanged=tuple(one.new.id for one in both if not one.changes),
        at_hand=tuple(id_ for id_ in new.lines if id_ not in waiting),
        needed=needed,
    )  # fmt: skip


def _renumbered(old: Register, new: Register, known: dict[str, str]) -> dict[str, str]:
    """New number: old number, for lines that only one on either side can be."""
    before, now = _alone(old, set(known.values())), _alone(new, set(known))
    return {now[asked]: before[asked] for asked in now.keys() & before.keys()}


def _alone(register: Register, known: set[str]) -> dict[tuple[str, ...], str]:
    """Lines that have no like among those without a partner, by what they ask."""
    left = [line for id_, line in register.lines.items() if id_ not in known]
    asked = [line.alike() for line in left]
    return {line.alike(): line.id for line in left if asked.count(line.alike()) == 1}


def _changed(old: Line, new: Line) -> Changed:
    """What both say, and say otherwise."""
    changes = [Change("number", old.id, new.id)] if old.id != new.id else []
    for what, words in new.facts.items():
        if what in old.facts and old.facts[what] != words:
            changes.append(Change(what, old.facts[what], words))
    return Changed(old, new, tuple(changes))


def _needed(job: Job) -> tuple[Need, ...]:
    seen = {name for station in job.stations if station.readings is not None for name in station.readings.on}
    by_hand = {id_ for hand in job.hand for id_ in hand.requirement}
    wrong_state = {r.id for r in mismatched(job)}
    found = [_need(job, r, seen, by_hand, wrong_state) for r in job.requirements]
    found += [_unrecorded(attribute) for attribute in job.attributes]
    return tuple(need for need in found if need is not None)


def _need(
    job: Job, requirement: Requirement, seen: set[str], by_hand: set[str], wrong_state: set[str]
) -> Need | None:  # fmt: skip
    """Why a requirement cannot be judged from the readings; None where it can, as far as readings go."""
    if requirement.id in wrong_state:
        return Need(requirement.id, reason_of(job, requirement), tuple(job.needed(requirement)))
    missing = tuple(name for name in job.needed(requirement) if name not in seen)
    if requirement.id in by_hand or not missing:
        return None
    return Need(requirement.id, f"no reading on {', '.join(missing)}", missing)


def _unrecorded(attribute: Attribute) -> Need | None:
    return None if attribute.records else Need(attribute.id, "nobody recorded it", attribute.on)
