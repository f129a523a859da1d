"""Changes of a piece as a colleague would draw them, made in its JSON geometry."""

from __future__ import annotations

import copy
import json
import math
import re
from collections.abc import Callable, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

__all__ = ["CHANGES", "send"]

Sized = dict[str, Any]
Weight = Callable[[float], float]
Point = Sequence[float]

_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def send(source: str, target: str, edge: int, change: str, sizes: Sequence[str]) -> None:
    """Write the piece of the file `source` with one edge changed, in some sizes, to `target`."""
    whole = json.loads(Path(source).read_text(encoding="utf-8"))
    whole["sizes"] = {size: copy.deepcopy(whole["sizes"][size]) for size in sizes}
    for sized in whole["sizes"].values():
        CHANGES[change](sized, edge)
    Path(target).write_text(json.dumps(whole), encoding="utf-8")


def _shift(sized: Sized, edge: int) -> None:
    """The whole edge goes out by 4 mm; its neighbours end where it now begins and ends."""
    move = _outward(sized, edge, 4.0)
    count = len(sized["edges"])
    _moved(sized, (edge - 1) % count, move, lambda at: float(at >= 1.0))
    _moved(sized, (edge + 1) % count, move, lambda at: float(at <= 0.0))
    _moved(sized, edge, move, lambda _: 1.0)


def _bump(sized: Sized, edge: int) -> None:
    """The middle of the edge goes out by 3 mm, its ends stay."""
    line = sized["edges"][edge]
    if len(_points(line)) == 2:
        (ax, ay), (bx, by) = line["points"]
        parts = [i / 24 for i in range(1, 24)]
        between = [[ax + t * (bx - ax), ay + t * (by - ay)] for t in parts]
        line["points"][1:1] = between
    move = _outward(sized, edge, 3.0)
    _moved(sized, edge, move, lambda at: math.sin(math.pi * min(max(at, 0.0), 1.0)) ** 2)


def _corner(sized: Sized, edge: int) -> None:
    """The corner at the edge's end goes 5 mm along the edge and 2 mm out."""
    (ax, ay), (bx, by) = (_points(sized["edges"][edge])[i] for i in (0, -1))
    far = math.hypot(bx - ax, by - ay)
    out = _outward(sized, edge, 2.0)
    move = (5.0 * (bx - ax) / far + out[0], 5.0 * (by - ay) / far + out[1])
    _moved(sized, edge, move, lambda at: at**2)
    _moved(sized, (edge + 1) % len(sized["edges"]), move, lambda at: (1.0 - at) ** 2)


CHANGES: dict[str, Callable[[Sized, int], None]] = {
    "shift": _shift,
    "bump": _bump,
    "corner": _corner,
}


def _outward(sized: Sized, edge: int, far: float) -> tuple[float, float]:
    """A vector square to the edge's chord; outlines run counter-clockwise."""
    (ax, ay), (bx, by) = (_points(sized["edges"][edge])[i] for i in (0, -1))
    length = math.hypot(bx - ax, by - ay)
    return far * (by - ay) / length, far * (ax - bx) / length


def _moved(sized: Sized, edge: int, move: tuple[float, float], weight: Weight) -> None:
    """Move points and landmarks of an edge by `move`, weighted by their place on it, 0 to 1."""
    line = sized["edges"][edge]
    points = _points(line)
    places = _places(points)

    def there(point: Point, at: float) -> list[float]:
        return [round(point[i] + weight(at) * move[i], 4) for i in (0, 1)]

    for mark in sized.get("landmarks", []):
        if mark["edge"] == line["name"]:
            at = places[_nearest(points, mark["point"])]
            if 0.0 < at < 1.0:
                mark["point"] = there(mark["point"], at)
    new = [there(point, at) for point, at in zip(points, places, strict=True)]
    if "path" in line:
        numbers = iter([x for point in new for x in point])
        line["path"] = _NUMBER.sub(lambda _: f"{next(numbers):.4f}", line["path"])
    else:
        line["points"] = new


def _points(line: dict[str, Any]) -> list[Any]:
    """The points of an edge; of one that is path data, its corners and control points."""
    if "points" in line:
        return list(line["points"])
    assert set(re.sub(r"[-\d.\s]", "", line["path"])) <= {"M", "C", "L"}, line["path"]
    numbers = [float(text) for text in _NUMBER.findall(line["path"])]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def _places(points: Sequence[Point]) -> list[float]:
    """How far along the line each point lies: 0 at its start, 1 at its end."""
    lengths = [0.0]
    for a, b in pairwise(points):
        lengths.append(lengths[-1] + math.dist(a, b))
    return [length / lengths[-1] for length in lengths]


def _nearest(points: Sequence[Point], point: Point) -> int:
    return min(range(len(points)), key=lambda i: math.dist(points[i], point))
