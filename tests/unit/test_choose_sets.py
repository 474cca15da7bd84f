"""Cheapest sets: against brute force over every subset and every way to share the work (independent computation)."""

import itertools
import random
from dataclasses import replace

import pytest

from trysquare.choose.sets import HOURLY_EUR, MOST, Offer, cheapest_sets
from trysquare.core.errors import InputError
from trysquare.instruments.catalogue import Cost, classes

_ORDER = [f"r{i}" for i in range(8)]
_BASE = classes()["calliper"]


def _class(name, job, minutes, where="hall"):
    return replace(_BASE, name=name, where=where, cost=Cost((job, 2.0 * job), (minutes, 2.0 * minutes), "invented"))


def _offers(seed):
    rng = random.Random(seed)
    features = {r: frozenset(rng.sample(["f1", "f2", "f3", "f4"], rng.randint(1, 2))) for r in _ORDER}
    where = ["hall"] * 5 + ["laboratory"]
    return [
        Offer(
            _class(f"tool {i}", rng.choice([5, 40, 60, 300]), rng.choice([0.5, 1, 3]), where[i]),
            frozenset(r for r in _ORDER if rng.random() < 0.45),
            features,
        )
        for i in range(6)
    ]  # fmt: skip


def _price(offers, order):
    """Covered requirements and the middle cost, written anew: the quickest holder in the hall measures each."""
    covered, work = 0, {o.cls.name: set() for o in offers}
    for r in order:
        holders = [o for o in offers if r in o.holds]
        if holders:
            covered += 1
            quickest = min(
                holders, key=lambda o: (o.cls.where != "hall", sum(o.cls.cost.minutes_per_feature), o.cls.name)
            )
            work[quickest.cls.name] |= quickest.features[r]
    cost = sum(
        1.5 * o.cls.cost.job_EUR[0] + len(work[o.cls.name]) * 1.5 * o.cls.cost.minutes_per_feature[0] / 60 * HOURLY_EUR
        for o in offers
    )
    return covered, cost


@pytest.mark.parametrize("seed", range(25))
def test_no_set_of_as_many_holds_more_or_costs_less(seed):
    offers = _offers(seed)
    hall = [o for o in offers if o.cls.where == "hall" and o.holds]
    sets = cheapest_sets(offers, _ORDER)
    steps = [s for s in sets if all(n != "tool 5" for n in s.instruments)]
    assert steps
    for s in steps:
        rivals = [_price(list(c), _ORDER) for c in itertools.combinations(hall, len(s.instruments))]
        best = max(rivals, key=lambda rival: (rival[0], -rival[1]))
        assert s.covers == best[0] == len(s.requirements) == len(s.by)
        assert s.cost.middle == pytest.approx(best[1])
    every = [_price(list(c), _ORDER) for k in range(1, len(hall) + 1) for c in itertools.combinations(hall, k)]
    most = max(covered for covered, _ in every)
    cheapest = min(cost for covered, cost in every if covered == most)
    assert steps[-1].covers == most
    assert cheapest * (1 - 1e-9) <= steps[-1].cost.middle <= cheapest / 0.98**5


@pytest.mark.parametrize("seed", range(25))
def test_the_laboratory_joins_only_for_what_it_adds(seed):
    offers = _offers(seed)
    hall = frozenset().union(*(o.holds for o in offers if o.cls.where == "hall"))
    sets = cheapest_sets(offers, _ORDER)
    chosen = [s for s in sets if s.chosen]
    assert len(chosen) == 1
    adds = offers[5].holds - hall
    assert ("tool 5" in chosen[0].instruments) == bool(adds)
    assert {r for r, name in chosen[0].by.items() if name == "tool 5"} == adds
    assert set(chosen[0].requirements) == hall | adds


def test_brute_force_would_see_a_dear_choice():
    """Negative twin: with one cost doubled the same set is no longer the cheapest."""
    features = {r: frozenset([r]) for r in _ORDER}
    two = [
        Offer(_class("a", 10, 1), frozenset(_ORDER), features),
        Offer(_class("b", 12, 1), frozenset(_ORDER), features),
    ]
    assert cheapest_sets(two, _ORDER)[0].instruments == ["a"]
    dear = [replace(two[0], cls=_class("a", 20, 1)), two[1]]
    assert cheapest_sets(dear, _ORDER)[0].instruments == ["b"]


def test_a_larger_set_must_pay():
    """A second tool that is quicker, but whose coming costs more than it saves, is not listed; a cheap one is."""
    features = {r: frozenset([r]) for r in _ORDER}
    main = Offer(_class("main", 100, 10), frozenset(_ORDER), features)
    dear = Offer(_class("quick", 90, 1), frozenset(_ORDER[:4]), features)
    cheap = replace(dear, cls=_class("quick", 1, 1))
    assert [s.instruments for s in cheapest_sets([main, dear], _ORDER)] == [["main"]]
    assert cheapest_sets([main, cheap], _ORDER)[-1].instruments == ["quick", "main"]


def test_nothing_held_means_no_set():
    empty = [replace(o, holds=frozenset()) for o in _offers(1)]
    assert cheapest_sets(empty, _ORDER) == []


def test_too_many_classes_are_refused():
    features = {r: frozenset([r]) for r in _ORDER}
    many = [Offer(_class(f"t{i}", 10, 1), frozenset(_ORDER), features) for i in range(MOST + 1)]
    with pytest.raises(InputError, match="at most 16"):
        cheapest_sets(many, _ORDER)
