"""Outlines of measured points: the convex hull in the plane."""

from collections.abc import Sequence

from .svg import Point


def hull(points: Sequence[Point]) -> list[Point]:
    """Corners of the convex hull, in order (Andrew's monotone chain, 1979)."""
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return ordered
    lower, upper = _chain(ordered), _chain(ordered[::-1])
    return lower[:-1] + upper[:-1]


def _chain(points: Sequence[Point]) -> list[Point]:
    kept: list[Point] = []
    for p in points:
        while len(kept) > 1 and _turn(kept[-2], kept[-1], p) <= 0:
            kept.pop()
        kept.append(p)
    return kept


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
