"""python -m bench [NAME ...] [--quick]: run benchmarks, print their rows, keep their results.

Every file bench/NAME.py has run(quick) -> dict with "rows", a list of dicts. The result is written whole to
bench/results/NAME.json with the facts of the machine; a quick run only prints, so that it never replaces full figures.
"""

import argparse
import ast
import datetime
import importlib
import json
import os
import platform
import sys
from importlib.metadata import version
from pathlib import Path
from typing import Any

from trysquare.core.errors import InputError, TrysquareError
from trysquare.core.files import write_atomic

HERE = Path(__file__).parent
WIDTH = 120


def names() -> dict[str, str]:
    """Benchmarks and the first line of their docstring."""
    files = sorted(path for path in HERE.glob("*.py") if not path.stem.startswith("_"))
    return {
        path.stem: (ast.get_docstring(ast.parse(path.read_text("utf-8"))) or "").partition("\n")[0] for path in files
    }


def machine() -> dict[str, Any]:
    """What the figures depend on: the kind of machine, and the versions."""
    libraries = {name: version(name) for name in ("numpy", "scipy", "numba")}
    return {
        "processor": _processor(), "processors": os.cpu_count(), "architecture": platform.machine(),
        "python": platform.python_version(), **libraries, "date": datetime.date.today().isoformat(),
    }  # fmt: skip


def _processor() -> str:
    """The kind of processor, as the system tells it; empty where it does not."""
    told = Path("/proc/cpuinfo")
    lines = told.read_text("utf-8").splitlines() if told.exists() else []
    named = (line.partition(":")[2].strip() for line in lines if line.startswith("model name"))
    return next(named, platform.processor())


def table(rows: list[dict[str, Any]]) -> str:
    """Rows as a plain table, or as one block each where a table would be too wide."""
    keys = list(dict.fromkeys(key for row in rows for key in row))
    cells = [[_cell(row.get(key)) for key in keys] for row in rows]
    widths = [max(len(key), *(len(line[i]) for line in cells)) for i, key in enumerate(keys)]
    if sum(widths) + 2 * len(widths) <= WIDTH:
        lines = [keys, *cells]
        return "\n".join("  ".join(cell.ljust(w) for cell, w in zip(line, widths)).rstrip() for line in lines)
    label = max(map(len, keys))
    return "\n\n".join("\n".join(f"{key:<{label}}  {_cell(x)}" for key, x in row.items()) for row in rows)


def _cell(x: object) -> str:
    return "-" if x is None else f"{x:.4g}" if isinstance(x, float) else str(x)


def run(name: str, quick: bool) -> None:
    """Run one benchmark, print it, and keep it unless it was quick."""
    result = importlib.import_module(f"bench.{name}").run(quick=quick)
    rows = result.get("rows")
    if not isinstance(rows, list) or not rows:
        raise InputError(f"bench/{name}.py", "its result", 'hold a list "rows"', f"{list(result)}", "Correct it.")
    heading = " ".join(f"{key}: {x}." for key, x in result.items() if key != "rows" and not isinstance(x, (dict, list)))
    sys.stdout.write(f"\n== {name}{' (quick)' if quick else ''}\n{heading}\n{table(rows)}\n")
    if not quick:
        text = json.dumps({"machine": machine(), **result}, indent=1, ensure_ascii=False, allow_nan=False)
        write_atomic(HERE / "results" / f"{name}.json", text + "\n")


def main(argv: list[str] | None = None) -> int:
    """Run what was named; with nothing named, list what there is. Exit code 2 for an unknown name."""
    parser = argparse.ArgumentParser(prog="python -m bench", description="Benchmarks: speed, accuracy, coverage.")
    parser.add_argument("name", nargs="*", help="benchmarks to run, or all")
    parser.add_argument("--quick", action="store_true", help="a small run, printed but not kept")
    args, known = parser.parse_args(argv), names()
    if not args.name:
        width = max(map(len, known), default=0)
        sys.stdout.write("".join(f"  {name:<{width}}  {about}\n" for name, about in known.items()))
        return 0
    try:
        for name in known if args.name == ["all"] else args.name:
            if name not in known:
                raise InputError("bench", "a name", f"be one of {', '.join(known)}", f'"{name}"', "Correct it.")
            run(name, args.quick)
    except TrysquareError as error:
        sys.stderr.write(f"{error}\n")
        return error.exit_code
    return 0


if __name__ == "__main__":
    sys.exit(main())
