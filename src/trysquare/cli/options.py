"""Options of the command line: whole numbers within their limits, and what is wrong with the options, in our words."""

import re
from collections.abc import Callable, Iterable

from ..core.errors import InputError

#: For a quick look fewer than a job file may ask for; the most is the same.
DRAWS = (50, 1_000_000)
_REQUIRED = re.compile(r"the following arguments are required: (?P<what>.+)")
_VALUE = re.compile(r"argument (?P<what>\S+): invalid (?P<kind>\w+) value: '(?P<found>.*)'")
_CHOICE = re.compile(r"argument (?P<what>\S+): invalid choice: '(?P<found>.*?)' \(choose from (?P<among>.+)\)")
_ALONE = re.compile(r"argument (?P<what>\S+): expected (?P<wanted>one|at least one) argument")
_UNKNOWN = re.compile(r"unrecognized arguments: (?P<found>.+)")


def whole(option: str, least: int, most: int | None = None) -> Callable[[str], int]:
    """Reader of a whole number from `least` to `most`, for `type=` of an option.

    The reader raises
    -----------------
    InputError : no whole number, or outside the limits.
    """
    rule = f"be a whole number, at least {least}" + ("" if most is None else f", at most {most}")

    def read(text: str) -> int:
        number = int(text) if re.fullmatch(r"[+-]?\d{1,18}", text) else None
        if number is None or number < least or (most is not None and number > most):
            raise InputError(option, "the value", rule, f'"{text}"', "Correct it, or leave the option out.")
        return number

    return read


def refusal(program: str, message: str, known: Iterable[str]) -> InputError:
    """A complaint of argparse as our own error; `known` are the options that the command has."""
    more = f"{program} --help tells more."
    if found := _REQUIRED.fullmatch(message):
        return InputError(program, found["what"], "be given", "nothing", more)
    if found := _VALUE.fullmatch(message):
        kind = "a whole number" if found["kind"] == "int" else "a number"
        return InputError(program, found["what"], f"be {kind}", f'"{found["found"]}"', more)
    if found := _CHOICE.fullmatch(message):
        among = found["among"].replace("'", "")
        return InputError(program, found["what"], f"be one of {among}", f'"{found["found"]}"', more)
    if found := _ALONE.fullmatch(message):
        return InputError(program, found["what"], "have its value after it", "nothing", more)
    if found := _UNKNOWN.fullmatch(message):
        word = found["found"].split()[0]
        close = near(word, known, more)
        return InputError(program, f'"{word}"', "be an option of this command", "no such option", close)
    return InputError(program, "the options", "be as its help says", message, more)


def near(word: str, known: Iterable[str], otherwise: str) -> str:
    """ "Did you mean ...?", or what else to do."""
    import difflib

    close = difflib.get_close_matches(word, list(known), 1)
    return f'Did you mean "{close[0]}"?' if close else otherwise
