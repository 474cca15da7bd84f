"""Sentences of the result document."""

import math

from .job import DIMENSIONS, DecisionRule, Job, Requirement


def zone_text(r: Requirement) -> str:
    """The zone as the drawing would write it: "62 +0 / +0.03", "0 to 0.1", "at least 14"; angles in degrees."""
    factor, unit = (180 / math.pi, " deg") if r.characteristic == "angle" else (1.0, "")
    if r.characteristic not in DIMENSIONS:
        return f"0 to {_plain(r.upper or 0.0)}"
    if r.lower is None:
        return f"at most {_plain(factor * (r.upper or 0.0))}{unit}"
    if r.upper is None:
        return f"at least {_plain(factor * r.lower)}{unit}"
    nominal = r.nominal if r.nominal is not None else (r.lower + r.upper) / 2
    low, high = (_signed(factor * (limit - nominal)) for limit in (r.lower, r.upper))
    return f"{_plain(factor * nominal)} {low} / {high}{unit}"


def temperature_text(job: Job) -> str:
    """Part temperatures with their uncertainties, zone by zone."""
    parts = []
    for zone in job.zones.values():
        label = f"{zone.name} " if len(job.zones) > 1 else ""
        if zone.temperature_degC is None:
            parts.append(f"{label}not measured")
        else:
            parts.append(f"{label}{zone.temperature_degC:.1f} °C ± {2 * zone.u_temperature:.1f}")
    return ", ".join(parts)


def rule_text(rule: DecisionRule) -> str:
    """The decision rule in one sentence."""
    return (
        f"{rule.rule}, {rule.who_proves} proves {rule.prove}: a requirement is accepted when the confidence that the "
        f"true value lies beyond a limit is at most {100 * (1 - rule.probability):.3g} %"
        if rule.prove == "conformity"
        else f"{rule.rule}, {rule.who_proves} proves {rule.prove}: a requirement is rejected when the confidence that "
        f"the true value lies beyond a limit is at least {100 * rule.probability:.3g} %; "
        "else it is accepted as not proven beyond, which is no proof that it conforms"
    )


def part_text(verdict: str, count: dict[str, int], job: Job) -> str:
    """The conclusion about the part."""
    total = sum(count.values())
    proven, fails = "proven", "proven not to conform"
    if job.attributes:
        proven, fails = "proven, or recorded where it is an attribute,", f"{fails} or recorded as rejected"
    if verdict == "accept":
        text = f"Accept: all {total} requirements are {proven} to conform."
        if job.decision.prove == "non-conformity":
            text = f"Accept: none of {total} requirements is proven not to conform, which is no proof that all conform."
    elif verdict == "reject":
        text = f"Reject: {count['reject']} of {total} requirements {_is(count['reject'])} {fails}"
        text += f", {count['undecided']} cannot be decided." if count["undecided"] else "."
    else:
        text = f"Undecided: {count['undecided']} of {total} requirements cannot be decided, none is proven to fail."
    if job.part.safety_critical:
        text += f" Safety-critical part: release needs the signature of {job.part.sign_off}."
    return text


def _is(n: int) -> str:
    return "is" if n == 1 else "are"


def _plain(x: float) -> str:
    return f"{x:.6f}".rstrip("0").rstrip(".")


def _signed(x: float) -> str:
    text = _plain(abs(x))
    return f"{'−' if x < 0 and float(text) else '+'}{text}"
