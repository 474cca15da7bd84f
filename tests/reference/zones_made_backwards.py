"""Minimum zones and touching shapes made backwards: points whose optimum is known, with its multipliers.

The idea is that of null-space data (A. B. Forbes, H. D. Minh, Int. J. Metrol. Qual. Eng. 3 (2012) 145) carried over to
the largest residual: take one contact more than the shape has freedoms. The rows of their Jacobian have one relation
sum m_i J_i = 0. Where m_i > 0 the contact is laid on the outer side of the zone, where m_i < 0 on the inner one: the
alternation that E. Stiefel (Numerische Mathematik 1, 1959) proves optimal. A touching shape has its radius for
objective, so the relation is that of the other freedoms, and all m_i must have one sign. Every other point is put
strictly inside. With no m_i zero the optimum is strict to first order, whatever the curvature of the distances.
"""

from dataclasses import dataclass

import numpy as np
from null_space_data import pose
from null_space_shapes import Array

#: freedoms without the radius, with it
ROUND = {"circle": 3, "sphere": 4, "cylinder": 5}
LEAST = 0.04  # share of each contact in the multipliers


@dataclass(frozen=True)
class MadeZone:
    """Points whose zone is `width` wide about `radius`, or whose touching shape has the radius itself.

    `contacts` and `sides` hold it; moving contact i outwards by d changes the half-width (of a zone) or the radius (of
    a touching shape) by `shares[i]` d, to first order.
    """

    points: Array
    at: Array
    frame: Array
    radius: float
    width: float
    contacts: Array
    sides: Array
    shares: Array
    outwards: Array


def _rows(kind: str, rng: np.random.Generator, n: int, radius: float, length: float, arc: float):
    """Feet, normals and Jacobian in the frame of the shape; the last column of a round shape is its radius."""
    one, zero = np.ones(n), np.zeros(n)
    theta, z = rng.uniform(-arc / 2, arc / 2, n), rng.uniform(-length / 2, length / 2, n)
    c, s = np.cos(theta), np.sin(theta)
    radial, axial = np.stack([c, s, zero], 1), np.stack([zero, zero, one], 1)
    if kind == "line":  # in the plane of u and w
        u = np.stack([one, zero, zero], 1)
        return z[:, None] * axial, u, np.stack([z, one], 1)
    if kind == "plane":
        x = rng.uniform(-radius, radius, n)
        return np.stack([x, z, zero], 1), axial, np.stack([x, z, one], 1)
    if kind == "circle":
        return radius * radial, radial, np.stack([c, s, one], 1)
    if kind == "cylinder":
        return radius * radial + z[:, None] * axial, radial, np.stack([c, s, c * z, s * z, one], 1)
    up = rng.uniform(-1, 1, n)
    normal = np.sqrt(1 - up * up)[:, None] * radial + up[:, None] * axial
    return radius * normal, normal, np.column_stack([normal, one])


def _shares(J: Array) -> Array:
    """The one relation between the rows, absolute values adding up to 1."""
    m = np.linalg.svd((J / np.linalg.norm(J, axis=0)).T)[2][-1]
    return m / np.abs(m).sum()


def _contacts(kind: str, rng: np.random.Generator, radius: float, length: float, arc: float, touching: bool):
    """Contacts with a relation in which each counts; of one sign for a touching shape."""
    k = ROUND.get(kind, 3 if kind == "plane" else 2) + 1 - touching
    for _ in range(200_000):
        feet, normals, J = _rows(kind, rng, k, radius, length, arc)
        m = _shares(J[:, :-1] if touching else J)
        if np.abs(m).min() > LEAST and (not touching or (m > 0).all() or (m < 0).all()):
            return feet, normals, np.abs(m) if touching else m
    raise AssertionError("no contacts found")


def zone(
    kind: str, seed: int, radius: float, length: float, width: float, *, touching: int = 0, n: int = 60,
    offset: float = 0.0, arc: float = 2 * np.pi,
) -> MadeZone:  # fmt: skip
    """A zone; with `touching` +1 points inside a circumscribed shape, -1 outside an inscribed one, within `width`."""
    rng = np.random.default_rng(seed)
    feet, normals, shares = _contacts(kind, rng, radius, length, arc, bool(touching))
    inner_feet, inner_normals, _ = _rows(kind, rng, n - len(feet), radius, length, arc)
    if touching:
        e = -touching * rng.uniform(0.02, 1.0, len(inner_feet)) * width
        at_contacts = np.zeros(len(feet))
        sides = np.full(len(feet), touching)
    else:
        e = rng.uniform(-0.49, 0.49, len(inner_feet)) * width
        sides = np.sign(shares).astype(int)
        at_contacts = sides * width / 2
    local = np.concatenate([feet + at_contacts[:, None] * normals, inner_feet + e[:, None] * inner_normals])
    order = rng.permutation(n)
    frame, at = pose(rng, offset)
    if kind in ("line", "circle"):  # in a plane: the columns of the points' own x and y
        plane = [0, 2] if kind == "line" else [0, 1]
        a = rng.uniform(0, 2 * np.pi)
        turn = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
        shift = at[:2]
        points, outwards = local[:, plane] @ turn.T + shift, normals[:, plane] @ turn.T
        return MadeZone(
            points[order], shift, turn.T, radius, width, np.argsort(order)[: len(feet)], sides, shares, outwards
        )
    points = local @ frame.T + at
    return MadeZone(
        points[order], at, frame.T, radius, width, np.argsort(order)[: len(feet)], sides, shares, normals @ frame.T
    )


def moved(made: MadeZone, i: int, by: float) -> Array:
    """The points with contact i moved outwards by `by`."""
    points = made.points.copy()
    points[made.contacts[i]] += by * made.outwards[i]
    return points


def tangent(kind: str, seed: int, norm: str, *, depth: float = 0.05, n: int = 60, offset: float = 0.0) -> MadeZone:
    """Points on one side of a plane (or a line in a plane) that touches them; its normal points away from them.

    "sum": the sum of the distances is least where the centroid lies among the feet of the contacts; "squares": the
    centroid weighted by the distances does (sum e_i J_i = sum m_c J_c with all m > 0, the Kuhn-Tucker conditions);
    "minimax": the outer plane of the minimum zone. `frame` has the normal last; `width` is what the norm makes least.
    """
    if norm == "minimax":
        made = zone(kind, seed, 150.0, 200.0, depth, n=n, offset=offset)
        outer = made.frame[0] if kind == "line" else made.frame[2]
        frame = made.frame[::-1] if kind == "line" else made.frame
        at = made.at + depth / 2 * outer
        held = made.sides > 0
        return MadeZone(
            made.points, at, frame, 0.0, depth, made.contacts[held], made.sides[held], made.shares[held], outer
        )
    rng = np.random.default_rng(seed)
    k = 3 if kind == "plane" else 2
    for _ in range(200_000):
        plan = rng.uniform(-1, 1, (n, k - 1)) * [150.0, 100.0][: k - 1]
        e = np.r_[np.zeros(k), rng.uniform(0.02, 1.0, n - k) * depth]
        weights = np.ones(n) if norm == "sum" else e
        J = np.column_stack([plan, np.ones(n)])
        m = np.linalg.solve(J[:k].T, weights @ J)
        if (m > LEAST * m.sum()).all():
            break
    else:
        raise AssertionError("no contacts found")
    local = np.column_stack([plan, -e])
    order = rng.permutation(n)
    frame, at = pose(rng, offset)
    if kind == "line":
        a = rng.uniform(0, 2 * np.pi)
        frame, at = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]]), at[:2]
    value = float((weights * e).sum())
    contacts = np.argsort(order)[:k]
    points = (local @ frame.T + at)[order]
    return MadeZone(points, at, frame.T, 0.0, value, contacts, np.ones(k, int), m / m.sum(), frame[:, -1])


def profile(seed: int, width: float, *, level: bool, n: int = 80):
    """Nominal points and normals of an ellipsoid, measured points in another place, the motion back, the contacts.

    Seven contacts hold the zone against six motions, eight where its level is free too (a column of ones).
    """
    rng = np.random.default_rng(seed)
    axes, k = np.array([80.0, 50.0, 30.0]), 7 + level
    for _ in range(200_000):
        d = rng.normal(size=(n, 3))
        d /= np.linalg.norm(d, axis=1)[:, None]
        nominal, normals = axes * d, d / axes
        normals /= np.linalg.norm(normals, axis=1)[:, None]
        J = np.column_stack([normals, np.cross(nominal, normals), np.ones((n, int(level)))])
        m = _shares(J[:k])
        if np.abs(m).min() > LEAST / 2:
            break
    else:
        raise AssertionError("no contacts found")
    e = np.r_[np.sign(m) / 2, rng.uniform(-0.49, 0.49, n - k)] * width + level * 0.3
    R, t = pose(rng, 20.0)
    turn = np.eye(3) + 0.02 * (R - R.T)  # a small turn, as a part lies on its fixtures
    turn = np.linalg.svd(turn)[0] @ np.linalg.svd(turn)[2]
    points = (nominal + e[:, None] * normals) @ turn.T + t
    return points, nominal, normals, (turn.T, -turn.T @ t), np.arange(k)
