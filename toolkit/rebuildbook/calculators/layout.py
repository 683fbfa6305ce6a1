"""Where the fasteners of a joint sit, how they are numbered, and in what order they are taken.

Positions are in metres about the middle of the joint as the fitter sees it: x to the right, y
up, numbers running clockwise from the top. Circles are what flanges and pump heads have,
rectangles and ovals what covers have, rows and manifolds what long bodies have.

References
----------
1. ASME PCC-1, Guidelines for Pressure Boundary Bolted Flange Joint Assembly: the legacy cross
   order in rotational numbering, 4 to 32 bolts; a quadrant pattern among the alternatives (from
   memory).
2. Rows, manifolds and covers from the centre outwards, crossing: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

from scipy.optimize import brentq
from scipy.special import ellipe, ellipeinc

Shape = Literal["circle", "rectangle", "oval", "row", "manifold"]

MOST_FASTENERS = 200


@dataclass(frozen=True, slots=True)
class Layout:
    """The fasteners of one joint: position number k stands at ``positions[k - 1]``.

    ``positions`` are (x, y) in metres; ``numbering`` says in words how the numbers run;
    ``rotation`` is the numbers in the order they are met going round clockwise (along the rows
    of a row or manifold). Left empty it is 1, 2, 3 …; renumbering changes it.

    Raises ValueError for no or more than 200 positions, two in one place, or a ``rotation``
    that is not made of the numbers 1 to n.
    """

    shape: Shape
    positions: tuple[tuple[float, float], ...]
    numbering: str
    rotation: tuple[int, ...] = field(default=())

    def __post_init__(self) -> None:
        _check_count(self.count)
        if len(set(self.positions)) != self.count:
            raise ValueError("two fasteners are given at the same place")
        if not self.rotation:
            object.__setattr__(self, "rotation", tuple(range(1, self.count + 1)))
        check_order(self.rotation, self.count)

    @property
    def count(self) -> int:
        """How many fasteners there are."""
        return len(self.positions)


def circle(count: int, diameter: float, first_angle: float = 0.0) -> Layout:
    """Lay ``count`` fasteners evenly on a bolt circle of ``diameter`` (m).

    ``first_angle`` (rad) is where No. 1 stands, clockwise from the top: half a pitch for a
    flange whose holes straddle the centre line. A single fastener stands in the middle.

    >>> [(round(x, 3), round(y, 3)) for x, y in circle(4, 0.2).positions]
    [(0.0, 0.1), (0.1, 0.0), (0.0, -0.1), (-0.1, -0.0)]
    """
    _check_count(count)
    _check_size("bolt circle diameter", diameter)
    if not math.isfinite(first_angle):
        raise ValueError(f"the angle of the first fastener is {first_angle}; give it in rad")
    if count == 1:
        return Layout("circle", ((0.0, 0.0),), "one fastener")
    turns = [first_angle + 2.0 * math.pi * k / count for k in range(count)]
    points = [(diameter / 2 * math.sin(turn), diameter / 2 * math.cos(turn)) for turn in turns]
    start = "the top" if first_angle == 0.0 else f"{math.degrees(first_angle):.3g}° past the top"
    return Layout("circle", tuple(points), f"clockwise from {start}")


def two_screw(spacing: float) -> Layout:
    """Lay the two screws of a two-eared flange side by side, ``spacing`` (m) apart.

    No. 1 is on the right.
    """
    ears = circle(2, spacing, math.pi / 2)
    return Layout("circle", ears.positions, "from the right-hand one")


def three_screw(diameter: float) -> Layout:
    """Lay the three screws of a three-eared flange on a circle of ``diameter`` (m)."""
    return circle(3, diameter)


def rectangle(columns: int, rows: int, width: float, height: float) -> Layout:
    """Lay the edge screws of a rectangular cover, evenly along each side.

    ``columns`` screws along the top and bottom edge and ``rows`` along each side, corners
    counted in both; ``width`` and ``height`` (m) between the corner screws.

    >>> rectangle(4, 3, 0.3, 0.2).count
    10
    """
    if columns < 2 or rows < 2:
        raise ValueError(
            f"a rectangle of {columns} by {rows} screws has no four corners; "
            "give at least 2 by 2, or a row"
        )
    _check_count(2 * (columns + rows) - 4)
    _check_size("width between the corner screws", width)
    _check_size("height between the corner screws", height)
    across = _evenly(columns, width)
    down = [-y for y in _evenly(rows, height)]
    top, bottom = down[0], down[-1]
    left, right = across[0], across[-1]
    points = [(x, top) for x in across] + [(right, y) for y in down[1:-1]]
    points += [(x, bottom) for x in reversed(across)] + [(left, y) for y in down[-2:0:-1]]
    return Layout("rectangle", tuple(points), "clockwise from the top left corner")


def oval(count: int, width: float, height: float) -> Layout:
    """Lay ``count`` screws on an ellipse of ``width`` and ``height`` (m), evenly along its edge.

    From the top, the edge up to the turn t is a E(t | 1 - b²/a²) with the half axes a (across)
    and b (upright) and E the incomplete elliptic integral of the second kind. An oval as wide
    as high is a circle.
    """
    _check_count(count)
    _check_size("width", width)
    _check_size("height", height)
    if width == height or count == 1:
        return circle(count, width)
    across, upright = width / 2.0, height / 2.0
    shape = 1.0 - (upright / across) ** 2
    quarter = float(ellipe(shape))

    def turn(part: float) -> float:
        wanted = 4.0 * quarter * part
        found = brentq(  # type: ignore[no-untyped-call]
            lambda t: float(ellipeinc(t, shape)) - wanted, 0.0, 2.0 * math.pi
        )
        return float(found)

    turns = [turn(k / count) for k in range(count)]
    points = tuple((across * math.sin(t), upright * math.cos(t)) for t in turns)
    return Layout("oval", points, "clockwise from the top")


def row(count: int, length: float) -> Layout:
    """Lay ``count`` screws in one row, ``length`` (m) between the outer two.

    >>> row(3, 0.2).positions
    ((-0.1, 0.0), (0.0, 0.0), (0.1, 0.0))
    """
    _check_count(count)
    _check_size("length of the row", length)
    points = tuple((x, 0.0) for x in _evenly(count, length))
    return Layout("row", points, "from left to right")


def manifold(rows: int, columns: int, length: float, width: float) -> Layout:
    """Lay ``rows`` rows of ``columns`` screws, as on a manifold or a long head.

    ``length`` (m) between the outer columns, ``width`` (m) between the outer rows.

    >>> [(round(x, 2), round(y, 2)) for x, y in manifold(2, 3, 0.4, 0.1).positions]
    [(-0.2, 0.05), (0.0, 0.05), (0.2, 0.05), (0.2, -0.05), (0.0, -0.05), (-0.2, -0.05)]
    """
    if rows < 2 or columns < 1:
        raise ValueError(f"a manifold of {rows} by {columns} screws is not rows; give at least 2")
    _check_count(rows * columns)
    _check_size("length between the outer columns", length)
    _check_size("width between the outer rows", width)
    across = _evenly(columns, length)
    points: list[tuple[float, float]] = []
    for line, y in enumerate(reversed(_evenly(rows, width))):
        points += [(x, y) for x in (across if line % 2 == 0 else reversed(across))]
    words = "along the top row from the left, back along the next"
    return Layout("manifold", tuple(points), words)


def number_by_order(layout: Layout, order: Sequence[int]) -> Layout:
    """Rename the positions so that they are tightened in the order 1, 2, 3 …

    ``order`` is a tightening order in the numbers of ``layout``.

    >>> number_by_order(circle(8, 0.2), (1, 5, 3, 7, 2, 6, 4, 8)).rotation
    (1, 5, 3, 7, 2, 6, 4, 8)
    >>> number_by_order(circle(6, 0.2), (1, 4, 2, 5, 3, 6)).rotation
    (1, 3, 5, 2, 4, 6)
    """
    check_order(order, layout.count)
    renamed = {old: new for new, old in enumerate(order, start=1)}
    return Layout(
        layout.shape,
        tuple(layout.positions[old - 1] for old in order),
        "in the order of tightening",
        tuple(renamed[old] for old in layout.rotation),
    )


def cross_order(layout: Layout) -> tuple[int, ...]:
    """Give the crossing order of ``layout``, as a list of its position numbers.

    On a circle, one rule for any count that gives the legacy order of ASME PCC-1 [1] where that
    has one: (a) begin with No. 1; (b) go to the bolt nearest opposite; (c) then to the bolt
    nearest square across that pair, and (d) the one nearest opposite it; (e) begin the next
    four in the widest gap left when the four quarters of the circle are laid over each other.
    Never go to a neighbour while another is left. Of equals take the one farthest from the last
    bolt, then from the one before it and so on; then the lowest number.

    Rectangles, ovals, rows and manifolds go from the centre outwards [2]: the screw nearest the
    centre, then the one nearest its mirror place across the centre; of equals the lowest number.

    >>> cross_order(circle(12, 0.2))
    (1, 7, 4, 10, 2, 8, 5, 11, 3, 9, 6, 12)
    >>> cross_order(row(5, 0.2))
    (3, 2, 4, 1, 5)
    """
    if layout.shape == "circle":
        ranks = _circle_ranks(layout.count)
    else:
        ranks = _centre_out_ranks([layout.positions[number - 1] for number in layout.rotation])
    return tuple(layout.rotation[rank] for rank in ranks)


def quadrant_order(layout: Layout) -> tuple[int, ...]:
    """Give the order that works round inside four quadrants, as a list of position numbers.

    Our definition (ASME PCC-1 names a quadrant pattern among its alternatives [1]): the joint
    is cut into four quarters by rotation, the first beginning at No. 1; one bolt in the first
    quarter, its counterpart in the third, the second and the fourth; then the next bolt of each
    quarter in rotation. Easier to keep count of than the cross order on many bolts, at the
    price of neighbours following each other within a quarter.

    Raises ValueError for rows and manifolds, which have no quarters to go round.

    >>> quadrant_order(circle(12, 0.2))
    (1, 7, 4, 10, 2, 8, 5, 11, 3, 9, 6, 12)
    >>> quadrant_order(circle(16, 0.2))
    (1, 9, 5, 13, 2, 10, 6, 14, 3, 11, 7, 15, 4, 12, 8, 16)
    """
    if layout.shape in {"row", "manifold"}:
        raise ValueError(f"a {layout.shape} has no quadrants; use its cross order, centre outwards")
    quarters: list[list[int]] = [[], [], [], []]
    for rank, number in enumerate(layout.rotation):
        quarters[4 * rank // layout.count].append(number)
    opposed = [quarters[0], quarters[2], quarters[1], quarters[3]]
    longest = max(len(quarter) for quarter in quarters)
    return tuple(
        quarter[place] for place in range(longest) for quarter in opposed if place < len(quarter)
    )


def rotation_order(layout: Layout) -> tuple[int, ...]:
    """Give the order that goes round clockwise (along the rows of a row or manifold)."""
    return layout.rotation


def check_order(order: Sequence[int], count: int) -> None:
    """Raise ValueError unless ``order`` names each of the positions 1 to ``count`` once."""
    if sorted(order) != list(range(1, count + 1)):
        raise ValueError(f"the order {list(order)} does not name each of 1 to {count} once")


def _evenly(count: int, length: float) -> list[float]:
    if count == 1:
        return [0.0]
    return [length * (2 * k - (count - 1)) / (2 * (count - 1)) for k in range(count)]


def _check_count(count: int) -> None:
    if not 1 <= count <= MOST_FASTENERS:
        raise ValueError(f"{count} fasteners given; a joint may have 1 to {MOST_FASTENERS}")


def _check_size(name: str, size: float) -> None:
    if not (math.isfinite(size) and size > 0.0):
        raise ValueError(f"the {name} is {size} m; it must be above zero")


def _circle_ranks(count: int) -> list[int]:
    """Give the ranks 0 to ``count`` - 1 round the circle in crossing order.

    Angles are whole numbers of 1/(4 count) turn, so that equals are exactly equal.
    """
    left = list(range(1, count))
    done = [0]
    while left:
        pool = [rank for rank in left if _apart(rank, done[-1], count) > 1] or left
        stage = len(done) % 4
        if stage == 0:
            chosen = _next_start(pool, done, count)
        elif stage == 2:
            first = done[-2]
            square = [_apart(8 * rank, 8 * first + 2 * count, 4 * count) for rank in pool]
            chosen = _farthest(_least(pool, square), done, count)
        else:
            opposite = [_apart(4 * rank, 4 * done[-1] + 2 * count, 4 * count) for rank in pool]
            chosen = _farthest(_least(pool, opposite), done, count)
        left.remove(chosen)
        done.append(chosen)
    return done


def _next_start(pool: list[int], done: list[int], count: int) -> int:
    gaps = [min(_apart(4 * rank, 4 * earlier, count) for earlier in done) for rank in pool]
    return _farthest(_least(pool, [-gap for gap in gaps]), done, count, quarters=4)


def _farthest(pool: list[int], done: list[int], count: int, quarters: int = 1) -> int:
    """Choose the rank farthest from the last one done, then from the one before, and so on."""
    for earlier in reversed(done):
        if len(pool) == 1:
            break
        pool = _least(pool, [-_apart(quarters * rank, quarters * earlier, count) for rank in pool])
    return min(pool)


def _apart(first: int, second: int, round_trip: int) -> int:
    steps = abs(first - second) % round_trip
    return min(steps, round_trip - steps)


def _least(pool: list[int], scores: Sequence[float], slack: float = 0.0) -> list[int]:
    bound = min(scores) + slack
    return [rank for rank, score in zip(pool, scores, strict=True) if score <= bound]


def _centre_out_ranks(points: Sequence[tuple[float, float]]) -> list[int]:
    """Give ranks from the centre outwards, each followed by the one nearest its mirror place."""
    slack = 1e-6 * max(math.hypot(*point) for point in points)
    left = list(range(len(points)))
    done: list[int] = []
    while left:
        pool = _least(left, [math.hypot(*points[rank]) for rank in left], slack)
        chosen = min(pool)
        left.remove(chosen)
        done.append(chosen)
        x, y = points[chosen]
        if left and math.hypot(x, y) > slack:
            mate = min(_least(left, [math.dist(points[rank], (-x, -y)) for rank in left], slack))
            left.remove(mate)
            done.append(mate)
    return done
