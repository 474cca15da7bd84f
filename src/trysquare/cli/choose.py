"""trysquare choose: which instruments would hold this drawing, in this place, and the cheapest set."""

import argparse
import math
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from .answer import Answer
from .progress import shown

if TYPE_CHECKING:
    from ..choose.result import Choice
    from ..choose.text import Row
    from ..report import choice as view


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of INTERFACE: JOB, --instruments; and draws, seed, output folder, threads."""
    parser.add_argument("job", metavar="JOB", help="a job folder, or its job.toml; readings are not needed")
    parser.add_argument("--instruments", metavar="DIR", help="class files (*.toml) in place of the catalogue")
    parser.add_argument("--draws", type=int, metavar="N", default=500, help="draws of all errors (default 500)")
    parser.add_argument("--seed", type=int, metavar="S", help="seed of the draws (default: as the job says)")
    parser.add_argument("--out", metavar="DIR", help="write choice.json and choice.html")
    parser.add_argument("--threads", type=int, metavar="N", help="threads (default: one per processor)")


def run(args: argparse.Namespace) -> Answer:
    """Load, try every class, write, summarise."""
    from ..choose.matrix import choose
    from ..choose.text import summary
    from ..core.files import check_out
    from ..core.threads import thread_count, threads
    from ..instruments.catalogue import classes
    from ..jobs.load import load
    from ..report.terminal import knows_unicode, plain_letters

    job = load(Path(args.job), measured=False)
    known = classes(None if args.instruments is None else Path(args.instruments))
    if args.out is not None:
        check_out(Path(args.out))
    with threads(args.threads or thread_count()), shown("choosing") as progress:
        choice = choose(job, known=known, draws=args.draws, seed=args.seed, progress=progress)
    files = [] if args.out is None else _write(choice, Path(args.out))
    text = summary(choice, files=files)
    if not knows_unicode(sys.stdout.encoding):
        text = "\n".join(plain_letters(line) for line in text.split("\n"))
    return Answer(choice.model_dump(mode="json"), text)


def _write(choice: "Choice", folder: Path) -> list[Path]:
    """choice.json and choice.html, made before either is written."""
    from ..core.files import write_together
    from ..report.choice_page import choice_page

    page = choice_page(as_view(choice))
    files: dict[Path, bytes | str] = {folder / "choice.json": choice.as_bytes(), folder / "choice.html": page}
    write_together(files)
    return list(files)


def as_view(choice: "Choice") -> "view.Choice":
    """The document as the page draws it: alike requirements in one row, the chosen set framed, classes that hold
    nothing left to the notes."""
    from ..choose.conclude import money
    from ..choose.text import folded
    from ..report import choice as view
    from ..report.words import Piece

    rows = folded(choice)
    chosen = next((s.by for s in choice.sets if s.chosen), {})
    shown_here = [i for i in choice.instruments if i.holds or i.holds_if]
    names = [i.name for i in shown_here]
    out = [f"{i.name}: holds nothing here; {i.how}" for i in choice.instruments if i.name not in names]
    return view.Choice(
        title="What can hold it here",
        place=f"{choice.title}; {choice.place}, part {choice.temperature_text}",
        needs=[_need(row) for row in rows],
        devices=[view.Device(i.name, i.cost.middle, money(i.cost)) for i in shown_here],
        cells=[[_cell(row, name) for name in names] for row in rows],
        picks=[names.index(chosen[row.wanted[0].id]) if row.wanted[0].id in chosen else None for row in rows],
        groups=[view.Group(" + ".join(s.instruments), s.cost.middle, s.covers) for s in choice.sets],
        say=[Piece(choice.conclusion)],
        unit_of_cost=choice.sets[0].cost.currency if choice.sets else "",
        notes=[*choice.cautions, *out, *choice.assumptions, *choice.warnings],
    )


def _need(row: "Row") -> "view.Need":
    from ..report import choice as view

    w = row.wanted[0]
    factor = 180.0 / math.pi if w.unit == "rad" else 1.0
    return view.Need(
        w.id, w.name, w.characteristic, w.zone_text, w.width, limits=w.limits, count=len(row.wanted), factor=factor
    )


def _cell(row: "Row", name: str) -> "view.Cell":
    """The cell with the largest doubt of the row; in words only the action that it hangs on."""
    from ..report import choice as view

    cell = row.worst(name)
    return view.Cell(cell.predicted_u, cell.target_u, cell.word, cell.action or "")
