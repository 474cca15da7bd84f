"""The value of a requirement over all seats of its primary plane: what rocking does to it."""

from collections.abc import Mapping

from ..core.arrays import Array
from ..tolerances.contact import contact_seat
from ..tolerances.measurand import Asked, Surface, measurand
from ..tolerances.rocking import crown, stable_seats
from .job import Job
from .simulated.true_values import single
from .systems import norms_of

#: A spread below this share of the zone is not told (common practice, no source).
_WORTH_TELLING = 0.1


def crowned(job: Job, value: Mapping[str, Surface], errors: Mapping[str, Array]) -> frozenset[str]:
    """Primary datum planes whose middle clearly stands out; `errors` (M, n) are those of their points' heights."""
    primaries = {job.carriers(r.datums[0])[0] for r in job.requirements if r.datums and "-" not in r.datums[0]}
    planes = [n for n in sorted(primaries) if n in value and job.features[n].nominal.kind == "plane"]
    found = {n: crown(value[n].points_mm, errors[n], job.features[n].nominal) for n in planes}
    return frozenset(name for name, one in found.items() if one is not None and one.clear)


def over_seats(job: Job, datums: tuple[str, ...], asked: Asked, surfaces: Mapping[str, Surface]) -> list[float]:
    """The value, as the points read it, on every seat of the primary datum; none unless that is one plane."""
    named = [job.carriers(datum) for datum in datums]
    norms, first = norms_of(job, datums), named[0][0]
    nominal = job.features[first].nominal
    if len(named[0]) > 1 or nominal.kind != "plane":
        return []
    seats = stable_seats(surfaces[first].points_mm, nominal)
    found = []
    flat = [name for names in named for name in names]
    nominals = [job.features[name].nominal for name in flat]
    for laid in seats:
        points = [laid, *(surfaces[name].points_mm for name in flat[1:])]
        seat = contact_seat(points, nominals, [None, *norms[1:]], together=[len(names) for names in named])
        found.append(single(measurand(asked, surfaces, seat)))
    return found


def rocking_note(values: list[float], upper: float | None, *, touching: bool) -> str | None:
    """What the seats make of the value, where there is more than one; least squares (not `touching`) has one seat."""
    if len(values) < 2:
        return None
    low, high = min(values), max(values)
    start = "the primary datum feature" if touching else "the primary datum feature stands out in the middle and"
    end = "" if touching else "; least squares, the datum judged by, has one seat"
    text = (
        f"{start} can stand on {len(values)} facets of what was touched (the force anywhere over its "
        f"middle third): from {low:.4f} to {high:.4f} mm over these seats{end}"
    )
    if upper is None or not low <= upper < high:
        return text if upper is None or high - low > _WORTH_TELLING * upper else None
    return (
        f"{text}, within the limit on some and beyond it on others: the verdict would hang on how the part is set down"
    )
