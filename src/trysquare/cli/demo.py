"""trysquare demo: the main job from nothing, on a simulated part whose truth is known."""

import argparse
import sys
import textwrap
from pathlib import Path

from .answer import Answer
from .options import DRAWS, whole
from .progress import shown

_CAUTION = (
    "All this was simulated. Around a real part mind the laser's class, the lifting gear and the rules of the site; "
    "qualified people come first (docs/safety.md)."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options: --out, --seed, --draws, --threads, --no-pdf."""
    parser.add_argument("--out", metavar="DIR", default="demo-out", help="folder to write to (default: demo-out)")
    parser.add_argument(
        "--seed", type=whole("--seed", 0), metavar="S", help="seed of the true errors: another seed, another day"
    )
    parser.add_argument(
        "--draws",
        type=whole("--draws", *DRAWS),
        metavar="N",
        help="draws of the judging (default: as the job says, 2000)",
    )
    parser.add_argument(
        "--threads", type=whole("--threads", 1), metavar="N", help="threads (default: one per processor)"
    )
    parser.add_argument("--no-pdf", action="store_true", help="leave the PDF out")


def run(args: argparse.Namespace) -> Answer:
    """Simulate, judge, write job and report, compare with the truth."""
    from ..core.files import check_out
    from ..core.threads import thread_count, threads
    from ..demo.run import choose_demo, run_demo, write_job
    from ..demo.scenario import TRUTH_SEED
    from ..report.choice_view import write_choice
    from ..report.terminal import knows_unicode, summary
    from ..report.write import write_all

    out, seed = Path(args.out), TRUTH_SEED if args.seed is None else args.seed
    check_out(out)
    with threads(args.threads or thread_count()):
        with shown("choosing instruments") as progress:
            choice = choose_demo(progress=progress)
        with shown("judging the demo") as progress:
            demo = run_demo(out, seed=seed, draws=args.draws, progress=progress)
    chosen = write_choice(choice, out / "choice")
    reports = write_all(demo.result, out / "report", pdf=not args.no_pdf)
    write_job(demo)
    document = {
        "job": str(demo.job), "report": [str(path) for path in reports],
        "choice": [str(path) for path in chosen], "conclusion": choice.conclusion, "seed": seed,
        "truth": demo.agreement.as_dict(), "result": demo.result.model_dump(mode="json"),
    }  # fmt: skip
    before = f"Before anything was measured: {choice.conclusion} The whole matrix: {chosen[-1]}"
    said = [before, demo.agreement.text(), f"The job, its readings and the truth: {demo.job}", _CAUTION]
    text = summary(demo.result, files=reports, unicode=knows_unicode(sys.stdout.encoding))
    said_text = "\n".join(
        textwrap.fill(line, 80, break_on_hyphens=False, break_long_words=False) + "\n" for line in said
    )
    return Answer(document, f"{text}\n{said_text}")
