"""Draws under any seed, any chunks, any company of keys."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from trysquare.chance.sources import DISTRIBUTIONS, Draws, Source

names = st.text(min_size=1, max_size=12)
seeds = st.integers(0, 2**40)


def source(name: str, distribution: str, dof: float) -> Source:
    return Source(name, "reading", 1.5, "um", "reading", distribution, dof)


@settings(max_examples=50, derandomize=True, deadline=None)
@given(seeds, names, st.sampled_from(DISTRIBUTIONS), st.sampled_from([np.inf, 3.0]), st.integers(0, 90), st.data())
def test_a_chunk_is_a_slice_of_the_whole(
    seed: int, name: str, distribution: str, dof: float, start: int, data: st.DataObject
) -> None:
    stop = data.draw(st.integers(start, 100))
    keys = data.draw(st.lists(names, max_size=4))
    one = source(name, distribution, dof)
    whole = Draws(seed, 0, 100).of(one, keys)
    assert np.array_equal(whole[start:stop], Draws(seed, start, stop).of(one, keys))


@settings(max_examples=50, derandomize=True, deadline=None)
@given(seeds, names, st.lists(names, min_size=1, max_size=5), st.randoms(use_true_random=False))
def test_the_order_of_keys_only_moves_columns(seed: int, name: str, keys: list[str], random: object) -> None:
    one = source(name, "normal", np.inf)
    shuffled = sorted(range(len(keys)), key=lambda _: random.random())  # type: ignore[attr-defined]
    there = Draws(seed, 0, 6).of(one, keys)
    assert np.array_equal(there[:, shuffled], Draws(seed, 0, 6).of(one, [keys[i] for i in shuffled]))


@settings(max_examples=50, derandomize=True, deadline=None)
@given(seeds, names, names)
def test_uniform_variates_lie_inside_zero_and_one(seed: int, name: str, key: str) -> None:
    p = Draws(seed, 0, 9).uniform(name, key)
    assert ((p > 0) & (p < 1)).all()
