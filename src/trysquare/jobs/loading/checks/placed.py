"""The part as a whole: its features can be placed together, and every point lies near the drawing then."""

import numpy as np

from ....core.errors import FormatError, TrysquareError
from ....instruments.hand import HandTool
from ...instruments import instruments_of
from ...job import Job
from ...points import PointChain
from ..findings import Findings

#: A point farther off the drawing than this part of the extent of all, and than this in mm, was taken elsewhere or in
#: another unit: no machined part is so far off (common practice, no source).
SLIP, SLIP_MM = 0.02, 1.0


def placed(job: Job, findings: Findings) -> None:
    """Tie the stations and place the part as judging will; the point that lies worst is named if it lies far off."""
    seeing = {name: tool for name, tool in instruments_of(job).items() if not isinstance(tool, HandTool)}
    chain = PointChain(job, seeing)
    if not chain.rows:
        return
    try:
        off, extent = chain.off_drawing()
    except TrysquareError as error:
        findings.errors.append(error)
        return
    worst = int(np.argmax(np.abs(off)))
    limit = max(SLIP * extent, SLIP_MM)
    if abs(off[worst]) > limit:
        file, line, aim, _ = chain.taken(worst)
        findings.in_file(
            FormatError(
                file, line, f'the point "{aim}"',
                f"lie within {limit:.3g} mm of the drawing (2 % of the part's extent) once all features are placed",
                f"{abs(off[worst]):.3g} mm off", "Check on which feature it was taken, and the units in the header; "
                "else the drawing's figures in the job file.",
            )
        )  # fmt: skip
