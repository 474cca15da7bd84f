"""Attributes in the register: the verdict that somebody recorded, with who and when, and no number beside it."""

from .job import Attribute, Record
from .result import Judged, Recorded, Verdict

#: Why an attribute without a record has no verdict.
NOT_RECORDED = "not recorded: nobody entered what was found of it"


def judged(attribute: Attribute) -> Judged:
    """The line of an attribute in the result document."""
    verdict: Verdict = attribute.records[0].result if attribute.records else "undecided"
    reason = None if verdict == "accept" else _reason(attribute)
    return Judged(
        id=attribute.id,
        name=attribute.name,
        characteristic="attribute" if attribute.what == "other" else attribute.what,
        kind="attribute",
        on=list(attribute.on),
        datums=[],
        sheet=attribute.sheet,
        grid=attribute.grid,
        critical=attribute.critical,
        revision=attribute.revision,
        key=attribute.key,
        unit="1",
        nominal=None,
        lower=None,
        upper=None,
        zone_text=attribute.demand,
        value=None,
        u=None,
        U=None,
        interval=None,
        coverage=0.0,
        guard=(None, None),
        acceptance=(None, None),
        verdict=verdict,
        side=0,
        reason=reason,
        risk=None,
        contributions=[],
        remainder=None,
        belief=None,
        records=[
            Recorded(result=r.result, by=r.by, when=r.when, note=r.note, file=r.file, line=r.line)
            for r in attribute.records
        ],
    )


def _reason(attribute: Attribute) -> str:
    return "; ".join(map(_said, attribute.records)) if attribute.records else NOT_RECORDED


def _said(record: Record) -> str:
    note = f": {record.note}" if record.note else ""
    return f"recorded as {record.result} by {record.by}, {record.when}{note}"
