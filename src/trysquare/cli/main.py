"""The command line: one table of commands, each in a file of its own, imported only when called."""

import argparse
import importlib
import json
import os
import sys
from collections.abc import Sequence

#: name: what it does, in one line of help (order of help).
COMMANDS = {
    "demo": "do the main job from nothing: a casting, two stations, a report",
    "judge": "judge a measured part: readings to verdicts, with a report",
    "check": "look for mistakes in a job before anything is measured",
    "choose": "which instrument would hold this drawing, in this place",
    "fit": "fit a line, plane, circle, sphere, cylinder, cone or torus to points",
    "decide": "accept, reject or undecided, from a value and its uncertainty",
    "air": "refractive index of air, with its uncertainty",
}


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; return its exit code (0 answered, 1 reject with --gate, 2 bad input, 3 internal fault)."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    if not arguments or arguments[0] in ("-h", "--help", "help"):
        _print(_overview())
        return 0
    if arguments[0] == "--version":
        from .. import __version__

        sys.stdout.write(f"trysquare {__version__}\n")
        return 0
    return _run(arguments[0], arguments[1:])


def _overview() -> str:
    lines = [f"  {name:<8} {summary}" for name, summary in COMMANDS.items()]
    return (
        "usage: trysquare COMMAND ...\n\n"
        "From choosing the instrument to the verdict: no number without its uncertainty,\n"
        "no verdict without its risk.\n\n" + "\n".join(lines) + "\n\n"
        "trysquare COMMAND --help tells more. Every command takes --json.\n"
    )


def _run(name: str, rest: list[str]) -> int:
    from ..core.errors import InputError, TrysquareError
    from .preparing import preparing

    as_json = "--json" in rest
    try:
        if name not in COMMANDS:
            raise InputError(
                "trysquare", "the command", f"be one of {', '.join(COMMANDS)}", f'"{name}"', _nearest(name)
            )
        module = importlib.import_module(f".{name}", __package__)
        parser = _Parser(prog=f"trysquare {name}", description=COMMANDS[name])
        parser.add_argument("--json", action="store_true", help="one JSON document on standard output, nothing else")
        module.add_arguments(parser)
        with preparing():
            answer = module.run(parser.parse_args(rest))
    except TrysquareError as error:
        sys.stderr.write((json.dumps(error.as_dict(), ensure_ascii=False) if as_json else str(error)) + "\n")
        return error.exit_code
    except KeyboardInterrupt:
        sys.stderr.write(f"trysquare {name}: cancelled. Nothing was written.\n")
        return 130
    except Exception as fault:  # the one place where a fault of ours becomes exit code 3
        return _internal(name, fault, as_json)
    text = json.dumps(answer.document, ensure_ascii=False, allow_nan=False) if as_json else answer.text
    _print(text.rstrip("\n") + "\n")
    return answer.exit_code


def _print(text: str) -> None:
    """Write to standard output; where its reader has gone (`... | head`), stop without complaint."""
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _internal(name: str, fault: Exception, as_json: bool) -> int:
    import traceback

    where = f"trysquare {name}"
    found = f"{type(fault).__name__}: {fault}"
    if as_json:
        error = {"where": where, "what": "the program", "rule": "not fail", "found": found,
                 "way_out": "This is a fault of ours: please report it with the job and the command."}  # fmt: skip
        sys.stderr.write(json.dumps({"error": error}, ensure_ascii=False) + "\n")
    else:
        traceback.print_exception(fault)
        sys.stderr.write(f"{where}: a fault of ours. Please report it with the job and the command.\n")
    return 3


def _nearest(word: str) -> str:
    from .options import near

    return near(word, COMMANDS, "trysquare --help lists them.")


class _Parser(argparse.ArgumentParser):
    """argparse that reports bad options as our own error, with the nearest known option."""

    def error(self, message: str) -> None:  # type: ignore[override]
        from .options import refusal

        raise refusal(self.prog, message, [option for action in self._actions for option in action.option_strings])
