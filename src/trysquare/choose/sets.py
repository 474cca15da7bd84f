"""The cheapest sets of instruments for what they hold: exact, over all subsets."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from ..core.errors import InputError
from ..instruments.catalogue import InstrumentClass
from ..jobs.job import Job
from .case import features_of
from .result import Cost, Set

#: What an hour of an operator with the instrument costs, EUR: common practice, no source.
HOURLY_EUR = 70.0
#: A larger set that holds no more must cost less by this share.
PAYS = 0.02
#: Subsets are all tried: more classes than this would take too long.
MOST = 16


@dataclass(frozen=True)
class Offer:
    """What one class brings: the requirements it holds, and the features that each takes to measure."""

    cls: InstrumentClass
    holds: frozenset[str]
    features: Mapping[str, frozenset[str]]

    def cost(self, requirements: Collection[str]) -> Cost:
        """Coming and setting up, and the minutes for every feature of these requirements, each measured once."""
        count = len({name for r in requirements for name in self.features[r]})
        job, minutes = self.cls.cost.job_EUR, self.cls.cost.minutes_per_feature
        low, high = (j + count * m / 60.0 * HOURLY_EUR for j, m in zip(job, minutes, strict=True))
        return Cost(low=low, high=high)

    @property
    def rank(self) -> tuple[bool, float, str]:
        """Who measures first what several hold: in the hall, then the quickest."""
        return (self.cls.where == "laboratory", sum(self.cls.cost.minutes_per_feature), self.cls.name)


def offer(job: Job, cls: InstrumentClass, holds: Collection[str]) -> Offer:
    """The offer of a class. With a hand tool a requirement is one reading; else datums are measured too, once."""
    needed = {r.id: frozenset([r.id] if cls.by_hand else features_of(job, r)) for r in job.requirements}
    return Offer(cls, frozenset(holds), needed)


def set_of(offers: Sequence[Offer], order: Sequence[str], *, chosen: bool = False) -> Set:
    """The set of these offers: each requirement, in `order`, by the first in rank that holds it."""
    ranked = sorted(offers, key=lambda o: o.rank)
    by = {}
    for id_ in order:
        holder = next((o for o in ranked if id_ in o.holds), None)
        if holder is not None:
            by[id_] = holder.cls.name
    cost = Cost(low=0.0, high=0.0)
    for o in ranked:
        cost = cost + o.cost([id_ for id_, name in by.items() if name == o.cls.name])
    names = [o.cls.name for o in ranked]
    return Set(instruments=names, cost=cost, covers=len(by), requirements=list(by), by=by, chosen=chosen)


def cheapest_sets(offers: Sequence[Offer], order: Sequence[str]) -> list[Set]:
    """The best sets, by number of instruments, and the one to choose marked.

    First those in the hall: for 1, 2, 3 .. instruments the set that holds most and costs least, up to all that the
    hall can hold; further ones only where they cost at least 2 % less. The last is chosen. Where a laboratory machine
    holds more, it joins the chosen set; by itself it is listed too.

    Raises
    ------
    InputError : more than 16 classes that hold something.
    """
    able = [o for o in offers if o.holds]
    if len(able) > MOST:
        raise InputError(
            "choose", "the classes that hold something", f"be at most {MOST}", f"{len(able)}",
            "Leave out those that are not at hand.",
        )  # fmt: skip
    hall = [o for o in able if o.cls.where == "hall"]
    lab = [o for o in able if o.cls.where == "laboratory"]
    steps = _steps(hall, order)
    members = [o for o in hall if steps and o.cls.name in steps[-1].instruments]
    joined = _cheapest_with(members, lab, order)
    alone = [set_of([o], order) for o in lab]
    best = [*([joined] if joined else steps[-1:]), *sorted(alone, key=_price)][:1]
    out = [*steps, *([joined] if joined else []), *alone]
    seen: dict[tuple[str, ...], Set] = {tuple(s.instruments): s for s in out}
    return [s.model_copy(update={"chosen": s in best}) for s in seen.values()]


def _steps(offers: Sequence[Offer], order: Sequence[str]) -> list[Set]:
    """For 1, 2, 3 .. instruments the set that holds most and costs least, while more is held or it pays."""
    out: list[Set] = []
    for size in range(1, len(offers) + 1):
        best = min((set_of(c, order) for c in combinations(offers, size)), key=lambda s: (-s.covers, *_price(s)))
        if not out or best.covers > out[-1].covers or best.cost.middle < (1.0 - PAYS) * out[-1].cost.middle:
            out.append(best)
    return out


def _cheapest_with(members: Sequence[Offer], lab: Sequence[Offer], order: Sequence[str]) -> Set | None:
    """The chosen set of the hall with the laboratory that holds most of the rest; None where none holds more."""
    held = {id_ for o in members for id_ in o.holds}
    more = [o for o in lab if o.holds - held]
    if not more:
        return None
    return min((set_of([*members, o], order) for o in more), key=lambda s: (-s.covers, *_price(s)))


def _price(s: Set) -> tuple[float, int, list[str]]:
    return (s.cost.middle, len(s.instruments), s.instruments)
