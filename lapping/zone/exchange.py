"""The exchange that finds the closest pair of parallel planes round some values.

Each place has a value that must lie below the top plane and a value that must lie
above the bottom plane; for plain heights they are one. The least distance between the
planes is a linear program, and this is the simplex method on its dual: four values
that hold the planes apart (a *reference*) are kept, the value that sticks out most
comes in, and one of the four leaves so that the weights of the rest stay positive.
E. W. Cheney, Introduction to Approximation Theory (1966), ch. 2, has the theory.
Positions u and v are those of `lapping.planes.Levelled`.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf
from typing import NamedTuple, Protocol

TOP = 1.0
BOTTOM = -1.0
NEITHER = 0.0
"""The side of the stop that keeps the planes from crossing; it has no place."""
NO_PLACE = -1

SMALLEST_PIVOT = 1e-11
MOST_EXCHANGES = 60
"""Float exchanges tried before whole numbers take over; 5 to 20 are usual."""


class Member(NamedTuple):
    """One of the four that hold the planes apart."""

    place: int
    side: float
    u: float
    v: float
    value: float


Triangle = tuple[Member, Member, Member]
STOP = Member(NO_PLACE, NEITHER, 0.0, 0.0, 0.0)


class Extremes(NamedTuple):
    """The places that stick out most above and below a pair of slopes."""

    top_place: int
    top: float
    bottom_place: int
    bottom: float


class Values(Protocol):
    """What the exchange asks of the values."""

    def extremes(self, slope_u: float, slope_v: float) -> Extremes:
        """Give the highest top value and the lowest bottom value, less the slopes."""

    def member(self, place: int, side: float) -> Member:
        """Give one place's value on one side."""

    def some(self, slope_u: float, slope_v: float) -> list[Member]:
        """Give all members of a small set, of a large one those worth trying.

        They must not all lie on one line.
        """


class Reference:
    """Four members, the inverse of their equations and the planes they give.

    A member's equation is side·(level + u·slope_u + v·slope_v) + half = side·value.
    ``columns`` holds the inverse by member; its last entry is the member's weight.
    """

    __slots__ = ("columns", "half", "level", "members", "slope_u", "slope_v")

    def __init__(self, triangle: Triangle) -> None:
        """Start from the plane through three members, and the stop."""
        (_, s0, u0, v0, z0), (_, s1, u1, v1, z1), (_, s2, u2, v2, z2) = triangle
        area = (u1 - u0) * (v2 - v0) - (u2 - u0) * (v1 - v0)
        a0, b0, c0 = (u1 * v2 - u2 * v1) / area, (v1 - v2) / area, (u2 - u1) / area
        a1, b1, c1 = (u2 * v0 - u0 * v2) / area, (v2 - v0) / area, (u0 - u2) / area
        a2, b2, c2 = (u0 * v1 - u1 * v0) / area, (v0 - v1) / area, (u1 - u0) / area
        self.members = [*triangle, STOP]
        self.columns = [
            (s0 * a0, s0 * b0, s0 * c0, 0.0),
            (s1 * a1, s1 * b1, s1 * c1, 0.0),
            (s2 * a2, s2 * b2, s2 * c2, 0.0),
            (
                -(s0 * a0 + s1 * a1 + s2 * a2),
                -(s0 * b0 + s1 * b1 + s2 * b2),
                -(s0 * c0 + s1 * c1 + s2 * c2),
                1.0,
            ),
        ]
        self.level = z0 * a0 + z1 * a1 + z2 * a2
        self.slope_u = z0 * b0 + z1 * b1 + z2 * b2
        self.slope_v = z0 * c0 + z1 * c1 + z2 * c2
        self.half = 0.0

    @classmethod
    def of_places(cls, triangle: Triangle, fourth: Member) -> Reference:
        """Start from four places whose top and bottom values are one."""
        (_, _, u0, v0, z0), (_, _, u1, v1, z1), (_, _, u2, v2, z2) = triangle
        _, _, u, v, z = fourth
        share0 = (u1 - u) * (v2 - v) - (u2 - u) * (v1 - v)
        share1 = (u2 - u) * (v0 - v) - (u0 - u) * (v2 - v)
        share2 = (u0 - u) * (v1 - v) - (u1 - u) * (v0 - v)
        area = share0 + share1 + share2
        rise = (z * area - share0 * z0 - share1 * z1 - share2 * z2) / area
        side = TOP if rise > 0 else BOTTOM
        # The fourth place then pushes the stop out and none of the three.
        push = -side if area > 0 else side
        first, second, third = triangle
        reference = cls(
            (
                first._replace(side=push if share0 > 0 else -push),
                second._replace(side=push if share1 > 0 else -push),
                third._replace(side=push if share2 > 0 else -push),
            )
        )
        if rise != 0.0:
            reference.enter(fourth._replace(side=side), abs(rise))
        return reference

    def outside(self, member: Member) -> float:
        """Say how far a member lies outside its plane, negative when inside."""
        _, side, u, v, value = member
        return side * (value - self.level - u * self.slope_u - v * self.slope_v) - (
            self.half
        )

    def enter(self, member: Member, outside: float) -> bool:
        """Take a member in and let one go; False when no member may go safely."""
        _, side, u, v, _ = member
        su, sv = side * u, side * v
        columns = self.columns
        (a0, b0, c0, w0), (a1, b1, c1, w1), (a2, b2, c2, w2), (a3, b3, c3, w3) = columns
        m0 = side * a0 + su * b0 + sv * c0 + w0
        m1 = side * a1 + su * b1 + sv * c1 + w1
        m2 = side * a2 + su * b2 + sv * c2 + w2
        m3 = side * a3 + su * b3 + sv * c3 + w3
        leaves, least, pivot = -1, inf, SMALLEST_PIVOT
        if m0 > SMALLEST_PIVOT:
            leaves, least, pivot = 0, w0 / m0, m0
        if m1 > SMALLEST_PIVOT and w1 < least * m1:
            leaves, least, pivot = 1, w1 / m1, m1
        if m2 > SMALLEST_PIVOT and w2 < least * m2:
            leaves, least, pivot = 2, w2 / m2, m2
        if m3 > SMALLEST_PIVOT and w3 < least * m3:
            leaves, least, pivot = 3, w3 / m3, m3
        if leaves < 0:
            return False
        a, b, c, w = columns[leaves]
        a /= pivot
        b /= pivot
        c /= pivot
        w /= pivot
        columns[0] = (a0 - m0 * a, b0 - m0 * b, c0 - m0 * c, w0 - m0 * w)
        columns[1] = (a1 - m1 * a, b1 - m1 * b, c1 - m1 * c, w1 - m1 * w)
        columns[2] = (a2 - m2 * a, b2 - m2 * b, c2 - m2 * c, w2 - m2 * w)
        columns[3] = (a3 - m3 * a, b3 - m3 * b, c3 - m3 * c, w3 - m3 * w)
        columns[leaves] = (a, b, c, w)
        self.members[leaves] = member
        self.level += outside * a
        self.slope_u += outside * b
        self.slope_v += outside * c
        self.half += outside * w
        return True


def wide_triangle(members: Sequence[Member]) -> Triangle:
    """Pick three members that are far from one line."""
    first = min(members, key=lambda m: (m.u, m.v))
    second = max(members, key=lambda m: (m.u, m.v))
    along_u, along_v = second.u - first.u, second.v - first.v

    def off(m: Member) -> float:
        return abs((m.u - first.u) * along_v - (m.v - first.v) * along_u)

    return first, second, max(members, key=off)


def exchange(values: Values, reference: Reference, within: float) -> Extremes | None:
    """Exchange until nothing sticks out by more than ``within``.

    Gives the extremes about the last planes, or None when rounding stood in the way.
    """
    for _ in range(MOST_EXCHANGES):
        found = values.extremes(reference.slope_u, reference.slope_v)
        top_place, top, bottom_place, bottom = found
        over = top - reference.level - reference.half
        under = reference.level - bottom - reference.half
        if over <= within and under <= within:
            return found
        # Both ends of one search are used: a search costs more than an exchange.
        if over >= under:
            first = values.member(top_place, TOP)
            second = values.member(bottom_place, BOTTOM) if under > within else None
        else:
            first = values.member(bottom_place, BOTTOM)
            second = values.member(top_place, TOP) if over > within else None
        if not reference.enter(first, max(over, under)):
            return None
        if second is not None:
            outside = reference.outside(second)
            if outside > within and not reference.enter(second, outside):
                return None
    return None


def weigh(members: Sequence[Member]) -> tuple[list[float], float]:
    """Work out the weights of four members afresh, and the distance they prove.

    The weights of each side sum to 1 and balance the two sides' positions, so every
    pair of planes is at least the weighted difference of the two sides' values apart.
    Four that do not hold planes apart, the stop among them say, prove 0, unweighted.
    """
    (_, s0, u0, v0, z0), (_, s1, u1, v1, z1), (_, s2, u2, v2, z2), last = members
    _, s3, u3, v3, z3 = last
    u1, v1, u2, v2, u3, v3 = u1 - u0, v1 - v0, u2 - u0, v2 - v0, u3 - u0, v3 - v0
    w1 = s1 * (u2 * v3 - u3 * v2)
    w2 = s2 * (u3 * v1 - u1 * v3)
    w3 = s3 * (u1 * v2 - u2 * v1)
    w0 = -s0 * (s1 * w1 + s2 * w2 + s3 * w3)
    total = 0.5 * (w0 + w1 + w2 + w3)
    if total == 0.0 or s0 * s1 * s2 * s3 == 0.0:
        return [], 0.0
    w0 /= total
    w1 /= total
    w2 /= total
    w3 /= total
    if min(w0, w1, w2, w3) < -1e-9:
        return [], 0.0
    proved = w0 * s0 * z0 + w1 * s1 * z1 + w2 * s2 * z2 + w3 * s3 * z3
    return [w0, w1, w2, w3], proved
