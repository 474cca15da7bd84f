"""`trysquare check JOB --against OLD`: the comparison as a document."""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ..jobs.against import Changed, Comparison
    from ..jobs.register_lines import Line, Register


def against_document(found: "Comparison") -> dict[str, Any]:
    """The comparison, JSON-able; limits in mm or rad."""
    return {
        "old": _register(found.old),
        "new": _register(found.new),
        "added": [_line(line) for line in found.added],
        "dropped": [_line(line) for line in found.dropped],
        "changed": [_changed(one) for one in found.changed],
        "unchanged": list(found.unchanged),
        "at_hand": list(found.at_hand),
        "to_measure": [{"id": n.id, "why": n.why, "features": list(n.features)} for n in found.needed],
        "features_to_measure": list(found.features),
    }


def _register(register: "Register") -> dict[str, Any]:
    return {"source": register.source, **register.head, "requirements": len(register.lines)}


def _line(line: "Line") -> dict[str, Any]:
    facts = {key: line.facts[key] for key in ("characteristic", "features", "datums", "limits")}
    limits = {"lower": line.lower, "upper": line.upper, "unit": line.unit}
    return {"id": line.id, "name": line.name, **facts, **limits, "verdict": line.verdict}


def _changed(one: "Changed") -> dict[str, Any]:
    changes = [{"what": c.what, "old": c.old, "new": c.new} for c in one.changes]
    return {"id": one.new.id, "name": one.new.name, "changes": changes, "old": _line(one.old), "new": _line(one.new)}
