"""The end of the page: how the drawing was read, what the result was made from, who signs."""

from html import escape

from ..jobs.result import Result
from .facts import rule_facts, tie_text
from .format import clean


def closing(result: Result, digest: str) -> str:
    """Interpretations, agreement of the stations, inputs, versions, signature."""
    parts = [_readings(result), _made_from(result, digest), _inputs(result), _signature(result)]
    return f'<footer class="end">{"".join(parts)}</footer>\n'


def _readings(result: Result) -> str:
    items = "".join(
        f"<dt>{escape(clean(i.about))}</dt><dd>{escape(clean(i.text))}</dd>" for i in result.interpretations
    )
    tie = f'<p class="cap">{escape(tie_text(result))}</p>' if result.tie else ""
    body = f"<dl>{items}</dl>" if items else '<p class="quiet">Nothing was left open.</p>'
    return f"<section><h2>How the drawing was read</h2>{body}{tie}</section>"


def _made_from(result: Result, digest: str) -> str:
    items = "".join(f"<dt>{escape(k)}</dt><dd>{escape(v)}</dd>" for k, v in rule_facts(result))
    return (
        f"<section><h2>How the verdicts were made</h2><dl>{items}</dl>"
        f'<p class="cap">Result document, SHA-256: <span style="overflow-wrap:anywhere">{digest}</span></p></section>'
    )


def _inputs(result: Result) -> str:
    rows = "".join(
        f'<tr><td>{escape(clean(i.file))}</td><td>{i.bytes}</td><td class="hash">{escape(i.sha256)}</td></tr>'
        for i in result.inputs
    )
    head = "<tr><th>file</th><th>bytes</th><th>SHA-256</th></tr>"
    return f'<section class="wide"><h2>Inputs</h2><table><thead>{head}</thead><tbody>{rows}</tbody></table></section>'


def _signature(result: Result) -> str:
    if not result.part.sign_off:
        return ""
    who = escape(clean(result.part.sign_off))
    lines = "".join(f"<span>{word}</span>" for word in ("name", "date", "signature"))
    return (
        f'<section class="wide"><h2>Release</h2><p>Release needs the signature of {who}.</p>'
        f'<div class="sign">{lines}</div></section>'
    )
