"""Distance and angle between any two features, each with its definition in words.

Between points there is one distance. Between measured lines and planes there are several, which differ as soon as the
two are not quite parallel: there the caller has to say which is meant, and the answer says it again.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array, finite
from ...core.errors import InputError
from ...core.frames import cross, dot
from .crossings import nearest_of_lines
from .elements import axis_of, face_of, place_of

DISTANCES = ("from first", "from second", "mean", "shortest", "along")
ANGLES = ("acute", "directed")


@dataclass(frozen=True)
class Measure:
    """`value` (...) in mm or rad, as `unit` says, and its `definition` in one sentence."""

    value: Array
    unit: str
    definition: str


def kind_of(feature: Any, where: str) -> str:
    """ "plane", "line" or "point": what a feature counts as in a distance. Circles, spheres and tori are their centres,
    cylinders and cones their axes.
    """
    if getattr(feature, "center_mm", None) is not None:
        return "point"
    if getattr(feature, "normal", None) is not None:
        return "plane"
    if getattr(feature, "direction", None) is not None:
        return "line"
    place_of(feature, where)
    return "point"


def distance_between(
    first: Any, second: Any, *, take: str | None = None, direction: npt.ArrayLike | None = None
) -> Measure:
    """Distance (...) between two features, mm.

    Parameters
    ----------
    first, second : fits or elements. Circles and spheres count as their centres, cylinders and cones as their axes.
    take : which distance, needed where neither feature is a point:
        "from first": from the first's reference point, perpendicular to the second;
        "from second": the other way round;
        "mean": the mean of these two;
        "shortest": between two lines only, along their common perpendicular;
        "along": for any two, the part along `direction` of the join of their reference points, with its sign.
    direction : (3,), for "along" only

    Returns
    -------
    Measure. A distance from a point to a plane, or "from" a reference point to one, has the sign of the plane's normal;
    the others are not negative.

    Raises
    ------
    InputError : no choice where there are several distances, or one that these features do not have.
    RankError : "shortest" between parallel lines; as `line_of_planes` in a batch.
    """
    where = "distance_between"
    kinds = kind_of(first, where), kind_of(second, where)
    if take == "along" or direction is not None:
        return _along(first, second, take, direction)
    if "point" in kinds:
        return _from_point(first, second, kinds) if kinds[0] == "point" else _from_point(second, first, kinds[::-1])
    choices = DISTANCES[:3] if "plane" in kinds else DISTANCES[:4]
    if take not in choices:
        raise InputError(
            where, f"the distance of a {kinds[0]} and a {kinds[1]}", f"be chosen by take: {', '.join(choices)}",
            repr(take), "They are never quite parallel, so these distances differ: say which is meant.",
        )  # fmt: skip
    if take == "shortest":
        near = nearest_of_lines(first, second)
        return Measure(near.distance_mm, "mm", "length of the common perpendicular of the two endless lines")
    if take == "mean":
        both = [np.abs(_perpendicular(a, b)[0]) for a, b in ((first, second), (second, first))]
        return Measure(
            (0.5 * (both[0] + both[1]))[()], "mm",
            "mean of the distances of either reference point from the other feature, perpendicular to that",
        )  # fmt: skip
    given, other, name, rest = (
        (first, second, "first", "second") if take == "from first" else (second, first, "second", "first")
    )
    value, sign = _perpendicular(given, other)
    return Measure(value[()], "mm", f"from the {name}'s reference point, perpendicular to the {rest}{sign}")


def angle_between(
    first: Any, second: Any, *, take: str | None = None, seen_along: npt.ArrayLike | None = None
) -> Measure:
    """Angle (...) between two features, rad.

    Parameters
    ----------
    first, second : planes, lines or axes. A circle counts as its plane, as its normal says.
    take : "acute": between the endless lines or planes, 0 to pi/2; "directed": between the directions and normals as
        they point, 0 to pi, for a line and a plane from -pi/2 to pi/2, positive where it leaves on the normal's side
    seen_along : (3,), optional
        The angle as it appears in the view along this direction: of lines their shadows, of planes their traces.
        A line and a plane: the line's shadow and the plane's trace.

    Returns
    -------
    Measure. Line and plane: the complement of the angle between line and normal.

    Raises
    ------
    InputError : no choice, a feature without direction, or a direction of length 0.

    Notes
    -----
    Method: the arc tangent of vector and scalar product, which keeps its digits near 0, pi/2 and pi.
    """
    where = "angle_between"
    if take not in ANGLES:
        raise InputError(
            where, "the angle", f"be chosen by take: {', '.join(ANGLES)}", repr(take), "Say which of them is meant."
        )
    a, a_plane = _leading(first, where)
    b, b_plane = _leading(second, where)
    view = ""
    if seen_along is not None:
        axis = _direction(seen_along, where)
        a, b = (v - dot(v, axis)[..., None] * axis for v in (a, b))
        view = ", in the view along the given direction"
    sine, cosine = np.linalg.norm(cross(a, b), axis=-1), dot(a, b)
    mixed = a_plane != b_plane
    if mixed:
        sine, cosine = cosine, sine
    value = np.arctan2(np.abs(sine) if take == "acute" else sine, np.abs(cosine) if take == "acute" else cosine)
    value = np.where((sine == 0) & (cosine == 0), np.nan, value)
    what = (
        "complement of the angle between line and normal" if mixed
        else "between the normals" if a_plane else "between the directions"
    )  # fmt: skip
    ends = {"acute": "the acute one", "directed": "positive on the normal's side" if mixed else "as they point"}
    return Measure(value[()], "rad", f"{what}, {ends[take]}{view}")


def _leading(feature: Any, where: str) -> tuple[Array, bool]:
    """The unit vector that leads a feature, and whether it is a normal."""
    if getattr(feature, "normal", None) is not None:
        return face_of(feature, where)[1], True
    return axis_of(feature, where)[1], False


def _direction(direction: npt.ArrayLike | None, where: str) -> Array:
    d = finite(np.asarray([0.0] if direction is None else direction, dtype=np.float64), where=f"{where}: direction")
    if d.shape != (3,) or not np.abs(d).max() > 0:
        raise InputError(where, "the direction", "be (3,) and of a length above 0", f"{d.tolist()}", "Give one.")
    return d / np.linalg.norm(d)


def _along(first: Any, second: Any, take: str | None, direction: npt.ArrayLike | None) -> Measure:
    where = "distance_between"
    if take != "along" or direction is None:
        raise InputError(
            where, "a distance along a direction", 'have take="along" and the direction', repr(take),
            "Give both, or neither.",
        )  # fmt: skip
    join = place_of(second, where) - place_of(first, where)
    return Measure(
        dot(join, _direction(direction, where))[()], "mm",
        "from the first's reference point to the second's, the part along the given direction",
    )  # fmt: skip


def _from_point(point: Any, other: Any, kinds: tuple[str, str]) -> Measure:
    value, sign = _perpendicular(point, other)
    words = {"point": "between the two points", "line": "from the point, perpendicular to the line"}
    return Measure(value[()], "mm", words.get(kinds[1], f"from the point, perpendicular to the plane{sign}"))


def _perpendicular(given: Any, other: Any) -> tuple[Array, str]:
    """Distance of the reference point of `given` from `other`, and what its sign means."""
    where = "distance_between"
    p = place_of(given, where)
    kind = kind_of(other, where)
    if kind == "plane":
        q, n = face_of(other, where)
        return dot(p - q, n), ", positive on its normal's side"
    if kind == "line":
        q, d = axis_of(other, where)
        return np.linalg.norm(cross(p - q, d), axis=-1), ""
    return np.linalg.norm(p - place_of(other, where), axis=-1), ""
