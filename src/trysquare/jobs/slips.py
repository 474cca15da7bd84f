"""Slips: readings of one aim in one station, or of one place by one tool, that contradict each other.

They are looked for before anything is fitted: a slip that was averaged can be seen nowhere later on. What rests on a
gross one is not stated, and its aim is set aside, so that it moves nothing else (placing the part, tying stations).
"""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ..chance.alarm import gross
from ..chance.outlying import Disagreement, disagreement
from ..chance.sources import Draws
from ..core.arrays import Array
from ..core.errors import FormatError
from ..core.frames import unit
from ..instruments.base import PointInstrument
from ..instruments.effects import VARYING
from ..instruments.hand import HandTool
from .aims import aims_of
from .by_hand import Batch, HandChain, lengths
from .doubts import Doubt, so_many
from .job import Job, Readings, Station
from .points import PointChain, SetUp

#: Draws of the readings that show what the declared errors explain.
DRAWS = 200
_WAY_OUT = "Measure it again, or strike the wrong one"


@dataclass(frozen=True)
class Slip:
    """Repeats that disagree: `line` against the `others` of `file`; `ids` of the readings, where points were seen.

    `aim` is what was aimed at, on the feature or tie point `on`; a hand tool has the id of its requirement there.
    """

    file: str
    line: int
    others: tuple[int, ...]
    aim: str
    on: str
    ids: tuple[str, ...]
    kind: str
    off_mm: float
    times: float
    limit: float

    @property
    def gross(self) -> bool:
        """Whether nothing may be stated of what rests on it."""
        return gross(self.times, self.limit)

    @property
    def doubt(self) -> Doubt:
        """What a gross one throws in doubt."""
        lines = _listed([*self.others, self.line])
        reason = (
            f'cannot be stated: the readings of "{self.aim}" ({self.file}, {lines}) contradict each other: '
            f"{self._found()}. {_WAY_OUT}"
        )
        if self.kind == "hand":
            return Doubt(reason, requirements=frozenset({self.on}), note="the value is the mean of all readings")
        if self.kind == "tie":
            return Doubt(reason, tie=True)
        return Doubt(reason, features=frozenset({self.on}))

    @property
    def warning(self) -> FormatError:
        """The same for the list of warnings."""
        rule = f"agree with {_listed(self.others)} within the declared errors"
        effect = "; what rests on it is not stated" if self.gross else ""
        return FormatError(
            self.file, self.line, f'the reading of "{self.aim}"', rule, self._found(), f"{_WAY_OUT}{effect}."
        )

    def _found(self) -> str:
        return (
            f"{_length(self.off_mm)} apart, {so_many(self.times)} times the standard uncertainty of their difference, "
            f"where the declared errors explain {self.limit:.0f} times at most"
        )


def slips(job: Job, instruments: Mapping[str, PointInstrument | HandTool]) -> tuple[Slip, ...]:
    """All slips among the readings, in their order. The job's own seed draws, so that all who look see the same.

    Raises
    ------
    InputError : a reading that its instrument cannot have given.
    """
    seeing = {k: v for k, v in instruments.items() if not isinstance(v, HandTool)}
    tools = {k: v for k, v in instruments.items() if isinstance(v, HandTool)}
    points, hand = PointChain(_repeated(job), seeing), HandChain(job, tools)
    draws = Draws(job.seed, 0, DRAWS)
    batches = [b for b in hand.batches if len(set(b.keys)) < len(b.keys)]
    among = sum(len(setup.sighting) for setup in points.setups) + sum(len(b.keys) for b in batches)
    found = [slip for setup in points.setups for slip in _seen(points, setup, draws, among)]
    return (*found, *(slip for batch in batches for slip in _by_hand(batch, draws, among)))


def set_aside(job: Job, found: Sequence[Slip]) -> Job:
    """The job without the readings of aims in which there is a gross slip."""
    return without(job, [id_ for slip in found if slip.gross for id_ in slip.ids])


def without(job: Job, ids: Collection[str]) -> Job:
    """The job without these readings of points."""
    if not ids:
        return job
    dropped = frozenset(ids)
    return replace(job, stations=tuple(_kept(s, lambda id_: id_ not in dropped) for s in job.stations))


def _repeated(job: Job) -> Job:
    """The job with nothing but the repeats of aims."""
    stations = []
    for station in job.stations:
        aims = aims_of(station, frozenset(job.ties)) if station.readings else None
        ids = station.readings.ids if station.readings else ()
        rows = [] if aims is None else aims.order[np.repeat(aims.counts > 1, aims.counts)].tolist()
        stations.append(_kept(station, {ids[i] for i in rows}.__contains__))
    return replace(job, stations=tuple(stations))


def _kept(station: Station, wanted: Callable[[str], bool]) -> Station:
    readings = station.readings
    if readings is None:
        return station
    rows = [i for i, id_ in enumerate(readings.ids) if wanted(id_)]
    if len(rows) == len(readings):
        return station
    return replace(station, readings=_rows(readings, rows) if rows else None)


def _rows(readings: Readings, rows: list[int]) -> Readings:
    def of(names: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(names[i] for i in rows)

    return replace(
        readings, on=of(readings.on), aims=of(readings.aims), ids=of(readings.ids), targets=of(readings.targets),
        nests=of(readings.nests), face=readings.face[rows], obs=readings.obs[rows], lines=readings.lines[rows],
    )  # fmt: skip


def _seen(chain: PointChain, setup: SetUp, draws: Draws, among: int) -> list[Slip]:
    """Slips among the readings of one station."""
    readings, aims = setup.station.readings, setup.aims
    if readings is None:
        return []
    group = np.empty(len(readings), dtype=np.int64)
    group[aims.order] = np.repeat(np.arange(len(aims.counts)), aims.counts)
    shared = [x.name for x in setup.instrument.sources(setup.station.name) if x.scope not in VARYING]
    alone = Draws(draws.seed, draws.start, draws.stop, only=shared)
    axes = _beam(setup.aims.mean(setup.instrument.points(setup.sighting.obs)))[group]
    value, drawn, common = (
        np.einsum("nij,...nj->...ni", axes, setup.instrument.points(chain.readings(setup, d)))
        for d in (None, draws, alone)
    )
    judged = disagreement(value, drawn, group, among=among, common_mm=common if shared else None)
    out = []
    for worst, rows in _worst(judged, group):
        on = readings.on[worst]
        tie = on in chain.job.ties
        slip = _slip(judged, worst, rows, readings.file, [int(line) for line in readings.lines])
        ids = tuple(readings.ids[i] for i in rows)
        aim = on if tie else readings.aims[worst]
        out.append(replace(slip, aim=aim, on=on, ids=ids, kind="tie" if tie else "feature"))
    return out


def _beam(points: Array) -> Array:
    """Axes (m, 3, 3) across, up and along the line of sight to points (m, 3): noises of different kinds lie apart."""
    along = unit(points)
    across = np.stack([-along[:, 1], along[:, 0], 0.0 * along[:, 0]], axis=-1)
    steep = np.linalg.norm(across, axis=-1, keepdims=True) < 1e-6
    across = unit(np.where(steep, [1.0, 0.0, 0.0], across))
    return np.stack([across, np.cross(along, across), along], axis=1)


def _by_hand(batch: Batch, draws: Draws, among: int) -> list[Slip]:
    """Slips among the readings of one tool."""
    group = np.unique([f"{r}\x1f{p}" for r, p in batch.keys], return_inverse=True)[1]
    rows = np.flatnonzero(np.bincount(group)[group] > 1)
    value, drawn = (lengths(batch, d)[..., rows, None] for d in (None, draws))
    judged = disagreement(value, drawn, group[rows], among=among)
    out = []
    for worst, mine in _worst(judged, group[rows]):
        id_, place = batch.keys[rows[worst]]
        slip = _slip(judged, worst, mine, batch.file, [batch.lines[i] for i in rows])
        out.append(replace(slip, aim=f"{id_}, {place}" if place else id_, on=id_))
    return out


def _worst(judged: Disagreement, group: npt.NDArray[np.int64]) -> list[tuple[int, list[int]]]:
    """Row of the reading that is farthest off, and all rows of its aim, for each aim with one beyond the limit.

    Of two readings either may be wrong: the later one is named against the first.
    """
    out = []
    for g in dict.fromkeys(group[judged.times > judged.limit].tolist()):
        rows = np.flatnonzero(group == g)
        worst = rows[-1] if len(rows) == 2 else rows[np.argmax(judged.times[rows])]
        out.append((int(worst), rows.tolist()))
    return out


def _slip(judged: Disagreement, worst: int, rows: list[int], file: str, lines: Sequence[int]) -> Slip:
    off = float(np.linalg.norm(judged.off_mm[worst]))
    others = tuple(lines[i] for i in rows if i != worst)
    return Slip(file, lines[worst], others, "", "", (), "hand", off, float(judged.times[worst]), judged.limit)


def _listed(lines: Sequence[int]) -> str:
    """Lines of a file in words."""
    each = [str(line) for line in sorted(lines)]
    if len(each) == 1:
        return f"line {each[0]}"
    return f"lines {', '.join(each[:-1])} and {each[-1]}"


def _length(mm: float) -> str:
    return f"{1000 * mm:.1f} µm" if mm < 0.1 else f"{mm:.4g} mm" if mm < 1000 else f"{mm / 1000:.4g} m"
