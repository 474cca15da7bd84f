"""Drawings that are well written and yet not sane, one topic a file; each finding cites what its rule rests on.

Run on a drawing without errors: every feature that a requirement names is there, and every requirement has its limits.
"""

from ....job import Job
from ...findings import Findings
from .circles import circles
from .ladder import ladder
from .lengths import lengths
from .letters import letters
from .register import register
from .rule_one import rule_one
from .twice import twice


def sanity(job: Job, findings: Findings) -> None:
    """Add what is not sane: an error where no part can hold the drawing, a warning, a note where it is only odd."""
    ladder(job, findings)
    rule_one(job, findings)
    twice(job, findings)
    lengths(job, findings)
    letters(job, findings)
    circles(job, findings)
    register(job, findings)
