"""When a reading, a point or a sighting counts as wrong: one rule for all of them."""

#: A healthy job names one of what is tested in one of so many jobs (Bonferroni over all that is tested).
ONE_IN = 1000
#: Beyond this many limits it is wrong, not unlucky, and nothing may be stated of what rests on it: where the noise is
#: known to a quarter, good sightings go there in one job of a thousand or so (own estimate; none of 100 simulated
#: demos).
GROSS = 1.5


def gross(times: float, limit: float) -> bool:
    """Whether `times` standard uncertainties lie so far beyond their limit."""
    return times > GROSS * limit
