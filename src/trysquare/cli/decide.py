"""decide: accept, reject or undecided, from a value and its uncertainty; or the risks of a process."""

import argparse
import json
import math
import re
import textwrap
from pathlib import Path
from typing import Any

from ..core.errors import FormatError, InputError
from .answer import Answer

_WIDTH = 80
_LENGTHS = {
    "value": "the value found, mm or with its unit",
    "u": "its standard uncertainty",
    "lower": "lower limit",
    "upper": "upper limit",
    "prior-mean": "mean of the parts, known before measuring",
    "prior-sd": "their standard deviation",
    "process-mean": "mean of the process: risks over all parts",
    "process-sd": "its standard deviation",
    "process-median": "median of a lognormal process",
    "acceptance-lower": "readings below are rejected",
    "acceptance-upper": "readings above are rejected",
}
_NUMBERS = {
    "df": "degrees of freedom of u: Student's t instead of normal",
    "probability": "of the proof, 0.95 unless agreed otherwise",
    "process-log-sd": "standard deviation of the logarithm",
    "target-consumer-risk": "find the equal guard with this share of wrongly accepted parts",
    "cost-wrong-accept": "cost of a wrong acceptance: find the cheapest equal guard",
    "cost-wrong-reject": "cost of a wrong rejection",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser._negative_number_matcher = re.compile(r"^-(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?$")  # so that -1e-3 is a value
    for name, text in _LENGTHS.items():
        parser.add_argument(f"--{name}", metavar="MM", help=text)
    for name, text in _NUMBERS.items():
        parser.add_argument(f"--{name}", metavar="X", type=float, help=text)
    parser.add_argument(
        "--prove",
        choices=("conformity", "non-conformity"),
        help="what must be proven; against non-conformity accept only means: not proven",
    )
    parser.add_argument("--prior", choices=("flat",), help="nothing known of the part before measuring")
    parser.add_argument("--process-distribution", choices=("normal", "lognormal"), help="of the parts")
    parser.add_argument("--from", dest="file", metavar="FILE.json", help="a list of questions, options in snake_case")
    parser.add_argument("--gate", action="store_true", help="exit with 1 when a verdict is reject")


def run(args: argparse.Namespace) -> Answer:
    options = {k: v for k, v in vars(args).items() if k not in ("json", "file", "gate") and v is not None}
    document = _many(args.file, options) if args.file else _one(options)
    rejected = any(item.get("verdict") == "reject" for item in document.get("decisions", [document]))
    text = _list_text(document["decisions"]) if args.file else _text(document, options)
    return Answer(document, text, 1 if args.gate and rejected else 0)


def _one(options: dict[str, Any]) -> dict[str, Any]:
    from ..chance.answers import decide

    return decide(options, where="trysquare decide")


def _many(file: str, options: dict[str, Any]) -> dict[str, Any]:
    from ..chance.answers import decide_all

    if options:
        raise InputError(
            "trysquare decide", "the options of each question", "stand in the file", f"also {', '.join(options)}",
            "Move them into the file.",
        )  # fmt: skip
    try:
        return decide_all(json.loads(Path(file).read_text("utf-8-sig")), where=file)
    except OSError as error:
        raise InputError(file, "the file", "be readable", error.strerror or str(error), "Check the path.") from None
    except UnicodeDecodeError:
        raise FormatError(file, None, "the file", "be UTF-8", "other bytes", "Save it as UTF-8.") from None
    except json.JSONDecodeError as error:
        raise FormatError(file, error.lineno, "the file", "be JSON", error.msg, "Correct it there.") from None
    except RecursionError:
        raise FormatError(file, None, "the file", "be JSON", "lists in lists in lists", "Write one list.") from None


def _text(document: dict[str, Any], options: dict[str, Any]) -> str:
    from ..chance.question import read

    question = read(options, where="trysquare decide")
    places = _places(question.u or 1.0)
    lenient = question.prove == "non-conformity" and document["risk_kind"] == "specific"
    rows: list[tuple[str, str]] = []
    if question.value is not None:
        rows.append(("value", f"{question.value:.{places}f} mm, u {question.u:.{places}f} mm"))
        rows.append((f"{100 * document['coverage']:g} % interval", _span(document["interval_mm"], places)))
    rows.append(("limits", _span([question.lower, question.upper], places)))
    rows.append(("guard band", _guard(document, places)))
    rows.append(("not rejected" if lenient else "accepted", _accepted(document, places)))
    if "p_conform" in document:
        p = document["p_conform"]
        rows.append(("conforms", f"{_percent(p['value'])} ({p['prior']})"))
    rows += _risk_rows(document)
    head = [_head(document)] if document["verdict"] else []
    return "\n".join([*head, _fill(document["text"]), "", *(_fill(text, f"  {label:<16}") for label, text in rows)])


def _head(document: dict[str, Any]) -> str:
    """The verdict; beside an accept that proves nothing, that it does not."""
    unproven = document["verdict"] == "accept" and document["proven"] is None
    return "accept (not rejected: conformity is not proven)" if unproven else str(document["verdict"])


def _risk_rows(document: dict[str, Any]) -> list[tuple[str, str]]:
    consumer, producer = _percent(document["consumer_risk"]), _percent(document["producer_risk"])
    if document["risk_kind"] == "specific":
        basis = document["risk_basis"]
        return [("risk", f"{consumer} if accepted, {producer} if rejected ({basis})")]
    rows = [
        ("of all parts", f"{_percent(document['conforming_fraction'])} conform ({document['risk_basis']})"),
        ("", f"{_percent(document['accepted_fraction'])} are accepted"),
        ("", f"{consumer} are accepted wrongly, {producer} are rejected wrongly"),
    ]
    if "expected_cost" in document:
        rows.append(("expected cost", f"{document['expected_cost']:.4g} a part"))
    return rows


def _guard(document: dict[str, Any], places: int) -> str:
    guards = [g for g in document["guard_mm"] if g is not None]
    if not guards:
        return f"none: {document['rule']}"
    sides = guards if len(set(guards)) > 1 else guards[:1]
    size = " and ".join(f"{abs(g):.{places + 1}f} mm {'inside' if g >= 0 else 'outside'}" for g in sides)
    return f"{size} the limit{'s' if len(guards) > 1 else ''} ({document['rule']})"


def _accepted(document: dict[str, Any], places: int) -> str:
    words = {"all": "every value", "none": "no value"}
    return words.get(document["accepts"]) or _span(document["acceptance_mm"], places + 1)


def _span(pair: list[float | None], places: int) -> str:
    low, high = (None if x is None else f"{x:.{places}f}" for x in pair)
    if low is None or high is None:
        return f"up to {high} mm" if low is None else f"from {low} mm"
    return f"{low} to {high} mm"


def _places(u: float) -> int:
    """Decimals that show `u` with two figures."""
    return max(0, min(12, 1 - math.floor(math.log10(u))))


def _percent(p: float) -> str:
    from ..chance.decision import percent

    return percent(p)


def _fill(text: str, label: str = "") -> str:
    """Wrapped at 80 columns behind its label, figures kept together with their per cent sign."""
    held = text.replace(" %", "\N{NO-BREAK SPACE}%")
    lines = textwrap.fill(held, _WIDTH, initial_indent=label, subsequent_indent=" " * len(label))
    return lines.replace("\N{NO-BREAK SPACE}%", " %")


def _list_text(documents: list[dict[str, Any]]) -> str:
    lines = []
    for i, document in enumerate(documents, 1):
        if "error" in document:
            error = document["error"]
            word, text = "error", f"{error['what']} must {error['rule']}; got {error['found']}. {error['way_out']}"
        else:
            word, text = document["verdict"] or "process", document["text"]
        lines.append(_fill(text, f"{i:>4} {word:<10} "))
    return "\n".join(lines) if lines else "No questions in the file."
