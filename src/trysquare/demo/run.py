"""The demo from nothing: simulate the measurement, judge it, write the job, the truth and the report."""

import json
import tempfile
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from ..choose.matrix import choose
from ..choose.result import Choice
from ..core.arrays import Array, Progress
from ..core.files import write_together
from ..jobs.chain import Chain
from ..jobs.instruments import instruments_of
from ..jobs.job import Job
from ..jobs.judge import judge
from ..jobs.loading.load import load
from ..jobs.result import Result
from ..jobs.simulated.simulate import simulate
from ..jobs.simulated.true_shape import Truth
from ..jobs.simulated.true_values import TrueValue, true_values
from ..jobs.simulated.write_readings import hand_csv, station_csv
from .agreement import Agreement, agreement, true_there
from .scenario import FILES, FOLDER, TRUTH_SEED, survey, truth

#: Draws for choosing: enough for two figures of U.
CHOICE_DRAWS = 300
TRUTH_FORMAT = "trysquare-truth/1"
_HEADING = ("Simulated: no such part exists. The truth behind these readings is in truth.json.",)


@dataclass(frozen=True)
class Demo:
    """What the demo made: the job's folder and files, its result, and how that stands against the truth.

    `true` is what is true of each requirement, `there` its true value at the place where it was judged.
    """

    job: Path
    files: dict[str, str]
    result: Result
    true: dict[str, TrueValue]
    there: dict[str, float]
    agreement: Agreement


def run_demo(out: Path, *, seed: int = TRUTH_SEED, draws: int | None = None, progress: Progress | None = None) -> Demo:
    """Measure the fan bearer by simulation and judge it; `seed` draws the true errors, the job has its own.

    Nothing is written below `out`: see `write_job`.

    Raises
    ------
    InputError : the seed is that of the job. Cancelled, from `progress`.
    """
    files, true = measured(seed)
    with tempfile.TemporaryDirectory(prefix="trysquare-demo-") as folder:
        for name, text in files.items():
            Path(folder, name).write_text(text, encoding="utf-8")
        job = load(Path(folder))
    result = judge(job, draws=draws, progress=progress)
    there = true_there(result, true, local_readings(job))
    return Demo(out / "job", files, result, true, there, agreement(result, true, there))


def choose_demo(*, progress: Progress | None = None) -> Choice:
    """Which instruments would hold the fan bearer: asked before anything is measured."""
    return choose(load(FOLDER, measured=False), draws=CHOICE_DRAWS, progress=progress)


def local_readings(job: Job) -> dict[str, Array]:
    """What was read of every number, by id: one value, or one for each place."""
    return {id_: m.vectors[0] for id_, m in Chain(job, instruments_of(job)).run().items() if m.kind == "smooth"}


def measured(seed: int) -> tuple[dict[str, str], dict[str, TrueValue]]:
    """The texts of the whole job folder with readings, by file name, and what is true of each requirement."""
    job = load(FOLDER, measured=False)
    part, plan = truth(seed), survey()
    taken = simulate(job, instruments_of(job), part, plan)
    true = true_values(job, part, plan)
    files = {name: (FOLDER / name).read_text(encoding="utf-8") for name in FILES}
    for station in taken.stations:
        if station.readings is not None:
            files[station.readings.file] = station_csv(station.readings, heading=_HEADING)
    files |= {hand.file: hand_csv(hand, heading=_HEADING) for hand in taken.hand}
    files["truth.json"] = json.dumps(truth_document(job, part, true), indent=1, ensure_ascii=False) + "\n"
    return files, true


def truth_document(job: Job, part: Truth, true: dict[str, TrueValue]) -> dict[str, Any]:
    """What is true: of each requirement its value (mm or rad), of each feature how it differs from its nominal."""
    return {
        "format": TRUTH_FORMAT,
        "title": job.title,
        "seed": part.seed,
        "judging_seed": job.seed,
        "requirements": [asdict(true[r.id]) for r in job.requirements],
        "features": {name: asdict(shape) for name, shape in part.shapes.items()},
    }


def write_job(demo: Demo) -> list[Path]:
    """Write the job folder, all files or none.

    Raises
    ------
    StoreError : the folder cannot be written.
    """
    files = {demo.job / name: text for name, text in demo.files.items()}
    write_together(files)
    return list(files)
