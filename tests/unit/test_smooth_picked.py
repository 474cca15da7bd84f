"""The worst of several numbers: what may be said of one that was picked for standing out."""

import numpy as np

from trysquare.chance.smooth import picked, smooth


def _runs(among: int, plain: bool) -> tuple[float, float]:
    """Share of intervals that hold the picked number's truth, and of proofs of excess at a truth on the limit."""
    rng = np.random.default_rng(5)
    errors = rng.normal(size=(4000, among))
    held = beyond = 0
    runs = 4000
    for _ in range(runs):
        read = rng.normal(size=among)  # all truths are 0, the upper limit too
        k = int(read.argmax())
        said = smooth(read[k], read[k] + errors[:, k])
        if not plain:
            said = picked(said, read[k] + errors[:, k], among, high=True)
        held += said.interval[0] <= 0.0 <= said.interval[1]
        beyond += said.below(0.0) <= 0.05
    return held / runs, beyond / runs


def test_picked_numbers_are_held_and_rarely_condemned():
    """Analytic: Bonferroni keeps both errors at most at their nominal, 5 %."""
    held, beyond = _runs(4, plain=False)
    assert held >= 0.95 - 0.01
    assert beyond <= 0.05 + 0.01


def test_without_it_they_are_not():
    """Negative twin: taken as it stands, the largest of four is condemned far too often."""
    held, beyond = _runs(4, plain=True)
    assert held < 0.93
    assert beyond > 0.12


def test_accepting_is_left_as_it_was():
    """Analytic: the confidence towards the upper limit is that of the number alone."""
    draws = np.random.default_rng(6).normal(size=2000)
    alone, among = smooth(0.0, draws), picked(smooth(0.0, draws), draws, 3, high=True)
    assert among.below(1.7) == alone.below(1.7)
    assert among.below(-2.3) > 2.5 * alone.below(-2.3)  # three times the doubt that it lies above
