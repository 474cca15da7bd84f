"""The value of a requirement over all seats of a primary plane that touches: what rocking does to it."""

from collections.abc import Mapping

from ..tolerances.contact import contact_seat
from ..tolerances.measurand import Asked, Surface, measurand
from ..tolerances.rocking import stable_seats
from .job import Job
from .simulated.true_values import single
from .systems import norms_of


def over_seats(job: Job, datums: tuple[str, ...], asked: Asked, surfaces: Mapping[str, Surface]) -> list[float]:
    """The value, as the points read it, on every seat of the primary datum; none unless that is one touching plane."""
    named = [job.carriers(datum) for datum in datums]
    norms, first = norms_of(job, datums), named[0][0]
    nominal = job.features[first].nominal
    if norms[0] is None or len(named[0]) > 1 or nominal.kind != "plane":
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


def rocking_note(values: list[float], upper: float | None) -> str | None:
    """What the seats make of the value, where there is more than one."""
    if len(values) < 2:
        return None
    low, high = min(values), max(values)
    text = (
        f"the primary datum feature can stand on {len(values)} facets of what was touched (the force anywhere over its "
        f"middle third): from {low:.4f} to {high:.4f} mm over these seats"
    )
    if upper is None or not low <= upper < high:
        return text
    return (
        f"{text}, within the limit on some and beyond it on others: the verdict would hang on how the part is set down"
    )
