"""The requirements as a table: CSV (RFC 4180), UTF-8, in the order of the job, numbers in the unit beside them."""

import csv
import io

from ..jobs.result import Judged, Result

COLUMNS = (
    "id", "name", "characteristic", "unit", "nominal", "lower", "upper", "value", "U", "interval_low", "interval_high",
    "verdict", "risk", "reason", "code", "recorded_by", "recorded_when",
    "sheet", "grid", "revision", "critical", "key", "state",
)  # fmt: skip


def rows_csv(result: Result) -> bytes:
    """One header line and one line a requirement; an empty cell means "not stated"."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    writer.writerows(_row(j) for j in result.requirements)
    return out.getvalue().encode()


def _row(j: Judged) -> list[str]:
    low, high = j.interval if j.interval is not None else (None, None)
    numbers = [_number(x) for x in (j.nominal, j.lower, j.upper, j.value, j.U, low, high)]
    text = [_text(x) for x in (j.id, j.name, j.characteristic)]
    who, when = ("; ".join(dict.fromkeys(words)) for words in ([r.by for r in j.records], [r.when for r in j.records]))
    last = (j.reason or "", j.code or "", who, when, j.sheet or "", j.grid or "", j.revision or "")
    marks = ("yes" if j.critical else "", "yes" if j.key else "", j.state or "")
    return [*text, j.unit, *numbers, j.verdict, _number(j.risk), *map(_text, last), *marks]


def _number(x: float | None) -> str:
    """The shortest text that reads back as the same number."""
    return "" if x is None else repr(float(x))


def _text(words: str) -> str:
    """Words that a spreadsheet will not take for a formula."""
    return f"'{words}" if words[:1] in ("=", "+", "-", "@", "\t", "\r") else words
