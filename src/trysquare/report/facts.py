"""What a report says of the part and the document as a whole: title block, conclusion, rule, agreement, versions."""

from ..jobs.result import Result
from .format import clean, figure, percent
from .words import sentence

#: Below this chance the stations are not said to agree.
_CHANCE = 0.01
_POORLY = " less well than the noise of their readings explains (as they also do where tie points are read in one face)"


def conclusion(result: Result) -> tuple[str, str]:
    """The part's verdict in one sentence, and what else is said of the part."""
    first, stop, rest = sentence(result.part.text).partition(". ")
    return (f"{first}.", rest) if stop else (first, "")


def warning_lines(result: Result) -> list[str]:
    """What has to be known of the whole measurement."""
    return [sentence(w) for w in result.warnings]


def rule_lines(result: Result) -> list[str]:
    """The rule, what the hatch means, and who must sign."""
    lines = [sentence(result.rule.text)]
    if result.part.joint_risk is not None and result.part.verdict != "reject":
        most = result.belief_at[-1] if result.belief_at else 1.0
        joint = percent(min(most, result.part.joint_risk))
        lines[0] += f" All together: confidence that at least one lies beyond its limits {joint}."
    lines.append(legend(result))
    if result.part.sign_off and result.part.sign_off not in result.part.text:
        lines.append(f"Release needs the signature of {clean(result.part.sign_off)}.")
    return lines


def legend(result: Result) -> str:
    """How to read a strip."""
    if result.rule.prove == "conformity":
        notch = "Notch in the clear: accept; in the hatch: undecided; beyond: reject."
    else:
        notch = "Notch up to the end of the hatch: accept, as not proven beyond; farther out: reject."
    return f"{notch} Hump: where the true value may be. Bar: its interval."


def title_block(result: Result) -> list[tuple[str, str]]:
    """What stands in the title block: label, text."""
    part = clean(result.part_name) + (f" {clean(result.serial)}" if result.serial else "")
    drawing = clean(result.drawing or "not named") + (f", issue {clean(result.revision)}" if result.revision else "")
    return [
        ("part", part), ("drawing", drawing), ("place", clean(result.place)),
        ("measured", clean(result.measured or "not said")),
        ("part temperature", clean(result.temperature_text)),
    ]  # fmt: skip


def rule_facts(result: Result) -> list[tuple[str, str]]:
    """How the verdicts were made: label, text."""
    rule = result.rule
    prove = f"{rule.prove} must be proven by the {rule.who_proves} with a confidence of {percent(rule.probability)}"
    versions = ", ".join(f"{clean(k)} {clean(v)}" for k, v in sorted(result.versions.items()))
    return [
        ("Drawing standard", clean(result.standard)), ("Rule", f"{clean(rule.standard)}; {prove}."),
        ("Draws", f"{result.draws} with seed {result.seed}; the same inputs and seed give the same result."),
        ("Versions", versions),
    ]  # fmt: skip


def tie_text(result: Result) -> str:
    """How well the stations agree."""
    if result.tie is None:
        return ""
    t = result.tie
    poorly = "" if t.p >= _CHANCE else _POORLY
    return (
        f"The stations agree{poorly}: chi-square {figure(t.chi_square, 1)} on {t.dof} degrees of freedom "
        f"(p = {t.p:.2g}); "
        f"the largest residual is {figure(t.largest_residual_mm, 3)} mm at {clean(t.at)}."
    )
