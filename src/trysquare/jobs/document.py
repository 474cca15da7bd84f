"""The result document of one job, from what was found for each requirement."""

import platform
from collections.abc import Mapping, Sequence
from importlib.metadata import version

import numpy as np

from ..chance.decision import Decision, judge_statement
from ..chance.law import Law
from ..chance.normal_decision import Prior, p_beyond
from ..chance.statement import P_GRID
from ..core.arrays import Array
from ..instruments.base import PointInstrument
from ..instruments.hand import HandTool
from . import attributes
from .advice import Case, advise
from .chain import Chain
from .found import Found
from .interpret import interpretations
from .job import Job
from .joint import joint_risk
from .layout import floor_of, seen, tie_of
from .result import AxisCloud, Input, Judged, Part, Result, Rule, Stated
from .systems import systems_of
from .texts import part_text, rule_text, temperature_text, zone_text

#: Points of a cloud that a report draws.
_CLOUD = 200


def document(
    job: Job,
    chain: Chain,
    found: Mapping[str, Found],
    *,
    seed: int,
    draws: int,
    instruments: Mapping[str, PointInstrument | HandTool],
    warnings: Sequence[str] = (),
) -> Result:
    """The result document; `warnings` of the run come after those of the job, each once."""
    rule = job.decision
    decisions = {
        id_: judge_statement(f.statement, *f.limits, prove=rule.prove, probability=rule.probability)
        for id_, f in found.items()
    }
    lines = {id_: f.requirement.line for id_, f in found.items()} | {a.id: a.line for a in job.attributes}
    judged = [_judged(chain, f, decisions[id_], instruments) for id_, f in found.items()]
    judged = sorted([*judged, *map(attributes.judged, job.attributes)], key=lambda j: lines[j.id])
    return Result(
        title=job.title,
        part_name=job.part.name,
        drawing=job.part.drawing,
        revision=job.part.revision,
        serial=job.part.serial,
        place=job.place.name,
        measured=job.part.measured,
        temperature_text=temperature_text(job),
        standard=job.standard,
        rule=Rule(
            standard=rule.rule, who_proves=rule.who_proves, prove=rule.prove, probability=rule.probability,
            text=rule_text(rule),
        ),
        seed=seed,
        draws=draws,
        versions=_versions(),
        inputs=[Input(file=i.file, sha256=i.sha256, bytes=i.bytes) for i in job.inputs],
        interpretations=interpretations(job, chain.hand.requirements),
        warnings=list(dict.fromkeys([*job.warnings, *warnings])),
        part=_part(job, judged, joint_risk(found, seed)),
        belief_at=list(P_GRID),
        requirements=judged,
        floor=floor_of(chain),
        tie=tie_of(chain),
        datum_systems=systems_of(job),
    )  # fmt: skip


def _judged(
    chain: Chain, f: Found, decision: Decision, instruments: Mapping[str, PointInstrument | HandTool]
) -> Judged:
    r, s = f.requirement, f.statement
    job, unit = chain.job, "rad" if r.characteristic == "angle" else "mm"
    stations = chain.stations_of(r)
    advice = None
    if decision.verdict == "undecided":
        case = Case(f.limits, job.decision.prove, job.decision.probability, chain.distances_m(r), unit)
        advice = advise(s, f.contributions, {x.name: x for x in chain.sources}, case)
    return Judged(
        id=r.id,
        name=r.name,
        characteristic=r.characteristic,
        kind=s.kind,
        on=list(r.on),
        datums=list(r.datums),
        sheet=r.sheet,
        grid=r.grid,
        critical=r.critical,
        unit=unit,
        nominal=r.nominal,
        lower=r.lower,
        upper=r.upper,
        zone_text=zone_text(r),
        diameter_zone=r.diameter_zone,
        value=s.value,
        u=s.u,
        U=None if s.interval is None else (s.interval[1] - s.interval[0]) / 2,
        interval=s.interval,
        coverage=s.coverage,
        guard=decision.guard,
        acceptance=decision.acceptance,
        verdict=decision.verdict,
        side=decision.side,
        reason=s.reason,
        risk=decision.risk,
        p_conform=_probability(f),
        contributions=f.contributions,
        remainder=f.remainder,
        next=advice,
        belief=None if s.quantiles is None else [float(q) for q in s.quantiles],
        notes=list(s.notes),
        where=seen(chain, r),
        axis=_cloud(f),
        code=r.code,
        revision=r.revision,
        key=r.key,
        state=r.state,
        measured_by=[f"{instruments[i].name}, station {n}" if n else instruments[i].name for i, n in stations],
    )


def _probability(f: Found) -> Stated | None:
    """Probability of conformity, only where the job names a prior and the number is smooth (JCGM 106:2012, 7)."""
    prior, s, r = f.requirement.prior, f.statement, f.requirement
    if prior is None or s.kind != "smooth" or s.value is None or not s.u:
        return None
    named = Prior((r.nominal or 0.0) + prior.mean, prior.sd, prior.origin)
    return Stated(value=1.0 - p_beyond(s.value, Law(s.u), *f.limits, named), prior=str(named))


def _cloud(f: Found) -> AxisCloud | None:
    """Where axis or centre may be against a position zone, at the end that lies further off."""
    if f.value is None or f.drawn is None or f.requirement.characteristic != "position" or f.requirement.upper is None:
        return None
    worst = int(np.argmax([np.linalg.norm(v) for v in f.value.vectors]))
    return AxisCloud(
        value=_pair(f.value.vectors[worst]),
        draws=[_pair(v) for v in f.drawn.vectors[worst][:_CLOUD]],
        radius=f.requirement.upper / f.value.scale,
        width_only=not f.requirement.diameter_zone,
    )


def _pair(vector: Array) -> tuple[float, float]:
    return float(vector[0]), float(vector[1]) if len(vector) > 1 else 0.0


def _part(job: Job, judged: list[Judged], risk: float | None) -> Part:
    count = {v: sum(j.verdict == v for j in judged) for v in ("accept", "undecided", "reject")}
    verdict = "reject" if count["reject"] else "undecided" if count["undecided"] else "accept"
    return Part(
        verdict=verdict, joint_risk=risk, accept=count["accept"], undecided=count["undecided"],
        reject=count["reject"], text=part_text(verdict, count, job), sign_off=job.part.sign_off,
    )  # fmt: skip


def _versions() -> dict[str, str]:
    return {"python": platform.python_version(), **{n: version(n) for n in ("trysquare", "numpy", "scipy", "numba")}}
