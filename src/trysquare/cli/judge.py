"""trysquare judge: a measured part, from readings to verdicts, with a report."""

import argparse
import sys
from pathlib import Path

from .answer import Answer
from .options import DRAWS, whole
from .progress import shown


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of INTERFACE: JOB, --readings, --draws, --seed, --out, --gate; and threads, no PDF."""
    parser.add_argument("job", metavar="JOB", help="a job folder, or its job.toml")
    parser.add_argument("--readings", metavar="DIR", help="read the readings from this folder instead of the job's")
    parser.add_argument(
        "--draws",
        type=whole("--draws", *DRAWS),
        metavar="N",
        help="draws of all errors (default: as the job says, 2000)",
    )
    parser.add_argument(
        "--seed", type=whole("--seed", 0), metavar="S", help="seed of the draws (default: as the job says)"
    )
    parser.add_argument("--out", metavar="DIR", help="write result.json, requirements.csv, report.html and report.pdf")
    parser.add_argument(
        "--threads", type=whole("--threads", 1), metavar="N", help="threads (default: one per processor)"
    )
    parser.add_argument("--no-pdf", action="store_true", help="leave the PDF out")
    parser.add_argument("--gate", action="store_true", help="exit 1 when the part is rejected")


def run(args: argparse.Namespace) -> Answer:
    """Load, judge, write, summarise."""
    from ..core.files import check_out
    from ..core.threads import thread_count, threads
    from ..jobs.judge import judge
    from ..jobs.loading.load import load
    from ..report.terminal import knows_unicode, summary
    from ..report.write import write_all

    job = load(Path(args.job), readings=None if args.readings is None else Path(args.readings))
    if args.out is not None:
        check_out(Path(args.out))
    with threads(args.threads or thread_count()), shown("judging") as progress:
        result = judge(job, draws=args.draws, seed=args.seed, progress=progress)
    files = [] if args.out is None else write_all(result, Path(args.out), pdf=not args.no_pdf)
    text = summary(result, files=files, unicode=knows_unicode(sys.stdout.encoding))
    rejected = args.gate and result.part.verdict == "reject"
    return Answer(result.model_dump(mode="json"), text, 1 if rejected else 0)
