"""trysquare choose: which instruments would hold this drawing, in this place, and the cheapest set."""

import argparse
import sys
from pathlib import Path

from .answer import Answer
from .options import whole
from .progress import shown


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of INTERFACE: JOB, --instruments; and draws, seed, output folder, threads."""
    parser.add_argument("job", metavar="JOB", help="a job folder, or its job.toml; readings are not needed")
    parser.add_argument("--instruments", metavar="DIR", help="class files (*.toml) in place of the catalogue")
    parser.add_argument("--draws", type=int, metavar="N", default=500, help="draws of all errors (default 500)")
    parser.add_argument(
        "--seed", type=whole("--seed", 0), metavar="S", help="seed of the draws (default: as the job says)"
    )
    parser.add_argument("--out", metavar="DIR", help="write choice.json and choice.html")
    parser.add_argument(
        "--threads", type=whole("--threads", 1), metavar="N", help="threads (default: one per processor)"
    )


def run(args: argparse.Namespace) -> Answer:
    """Load, try every class, write, summarise."""
    from ..choose.matrix import choose
    from ..choose.text import summary
    from ..core.files import check_out
    from ..core.threads import thread_count, threads
    from ..instruments.catalogue import classes
    from ..jobs.loading.load import load
    from ..report.choice_view import write_choice
    from ..report.terminal import knows_unicode, plain_letters

    job = load(Path(args.job), measured=False)
    known = classes(None if args.instruments is None else Path(args.instruments))
    if args.out is not None:
        check_out(Path(args.out))
    with threads(args.threads or thread_count()), shown("choosing") as progress:
        choice = choose(job, known=known, draws=args.draws, seed=args.seed, progress=progress)
    files = [] if args.out is None else write_choice(choice, Path(args.out))
    text = summary(choice, files=files)
    if not knows_unicode(sys.stdout.encoding):
        text = "\n".join(plain_letters(line) for line in text.split("\n"))
    return Answer(choice.model_dump(mode="json"), text)
