"""How commands grow with what they are given: ``python -m tests.bench.growth [AXIS ...]``.

Axes are ``pieces``, ``sizes`` and ``points``; ``--only WORD`` takes the commands that are called
so.  Prints the processor time of each command on a demo set made larger, what a bare Python that
imports the libraries takes first, and the exponent of the growth beyond that.
"""

from __future__ import annotations

import argparse
import math
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

import propagate
from propagate.pattern.model import Edge, InternalLine, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from tests.bench.tiling import tile
from tests.engine.altered import drawn_at

__all__ = ["main", "with_points", "with_sizes"]

SET = "slant_trouser"
_BLEND = ("--size", "waist=42", "--size", "hip=48")
COMMANDS: dict[str, tuple[str, ...]] = {
    "show": ("show", "SET"),
    "walk": ("walk", "SET"),
    "walk --all-sizes": ("walk", "SET", "--all-sizes"),
    "draw": ("draw", "SET", "-o", "OUT"),
    "print": ("print", "SET", "--paper", "a0", "-o", "OUT.pdf"),
    "report": ("report", "SET", "-o", "OUT.html"),
    "blend": ("blend", "SET", *_BLEND),
    "blend -o": ("blend", "SET", *_BLEND, "-o", "RESULT", "--replace"),
    "why": ("why", "RESULT", "front"),
    "report of result": ("report", "RESULT", "-o", "OUT.html"),
    "draw of result": ("draw", "RESULT", "-o", "OUT"),
    "sheet of result": ("sheet", "RESULT", "-o", "OUT.pdf"),
    "change": ("change", "SET", "take-in", "edge=full_front.side", "by=10mm", "at=waist", "to=hip"),
    "convert to json": ("convert", "SET", "OUT", "--to", "json"),
    "convert to svg": ("convert", "SET", "OUT.svg"),
    "convert to dxf": ("convert", "SET", "DXF", "--replace"),
    "begin from dxf": ("begin", "DXF", "-o", "OUT"),
    "convert --onto": ("convert", "SET", "OUT.dxf", "--onto", "DXF"),
    "suggest": ("suggest", "SET"),
}


def with_points(pattern: PatternSet, times: int) -> PatternSet:
    """The same lines, each chord of an edge or an inner line in `times` parts."""

    def divided(points: np.ndarray) -> np.ndarray:
        places = np.arange((len(points) - 1) * times + 1) / times
        known = np.arange(len(points))
        return np.column_stack([np.interp(places, known, column) for column in points.T])

    def sized(one: SizedPiece) -> SizedPiece:
        edges = [
            Edge(e.name, divided(e.points), tuple(turn * times for turn in e.turns))
            for e in one.edges
        ]
        lines = [InternalLine(line.name, divided(line.points)) for line in one.lines]
        return replace(one, edges=tuple(edges), lines=tuple(lines))

    return _with_nests(pattern, lambda nest: {size: sized(one) for size, one in nest.items()})


def with_sizes(pattern: PatternSet, times: int) -> PatternSet:
    """Sizes between the sizes: each is followed by some that are a trifle larger."""

    def grown(one: SizedPiece, k: int) -> SizedPiece:
        return drawn_at(one, lambda points: np.asarray(points) * (1.0 + 2e-4 * k)) if k else one

    names = {size: [f"{size}{'+' * k}" for k in range(times)] for size in pattern.sizes}
    larger = _with_nests(
        pattern,
        lambda nest: {
            name: grown(nest[size], k) for size in nest for k, name in enumerate(names[size])
        },
    )
    chart = {
        row: {name: value for size, value in values.items() for name in names[size]}
        for row, values in pattern.chart.items()
    }
    sizes = tuple(name for size in pattern.sizes for name in names[size])
    return replace(larger, sizes=sizes, chart=chart)


def _with_nests(
    pattern: PatternSet, change: Callable[[dict[str, SizedPiece]], dict[str, SizedPiece]]
) -> PatternSet:
    pieces = {n: Piece(n, change(dict(piece.nest))) for n, piece in pattern.pieces.items()}
    return replace(pattern, pieces=pieces)


AXES: dict[str, tuple[Callable[[PatternSet, int], PatternSet], tuple[int, ...]]] = {
    "pieces": (tile, (1, 10, 30)),
    "sizes": (with_sizes, (1, 3, 9)),
    "points": (with_points, (1, 10, 30)),
}


def _seconds(words: tuple[str, ...], folder: Path, most: float) -> float:
    """Processor time of a command, s; infinite where it takes longer than `most`."""
    before = os.times()
    try:
        done = subprocess.run(
            [sys.executable, *words], cwd=folder, capture_output=True, text=True, timeout=most
        )
    except subprocess.TimeoutExpired:
        return math.inf
    if done.returncode not in (0, 1):
        print(f"  {' '.join(words)}: {done.stderr.strip()[-300:]}", file=sys.stderr)
    after = os.times()
    return after.children_user + after.children_system - before[2] - before[3]


def _measured(axis: str, only: str, most: float, bare: float) -> None:
    make, times = AXES[axis]
    rows: dict[str, list[float]] = {name: [] for name in COMMANDS}
    with tempfile.TemporaryDirectory() as name:
        for k in times:
            folder = Path(name) / str(k)
            folder.mkdir()
            propagate.save(make(propagate.load(propagate.demo_path(SET)), k), folder / "SET")
            for called, words in COMMANDS.items():
                if only in called or (only and called in ("blend -o", "convert to dxf")):
                    out = f"out{len(rows[called])}{list(COMMANDS).index(called)}"
                    named = tuple(
                        word.replace("OUT", out).replace("DXF", "drawn.dxf") for word in words
                    )
                    rows[called].append(_seconds(("-m", "propagate", *named), folder, most))
    print(f"\n{axis} x {', '.join(map(str, times))}: s of the processor, exponent beyond libraries")
    for called, row in rows.items():
        if row:
            beyond = [max(second - bare, 0.02) for second in row[-2:]]
            growth = math.log(beyond[1] / beyond[0]) / math.log(times[-1] / times[-2])
            print(
                f"{called:<20}" + "".join(f"{s:9.2f}" for s in row) + f"{growth:9.2f}", flush=True
            )


def main() -> None:
    """Print a table for each axis that is asked for."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.growth", description=__doc__)
    parser.add_argument("axes", nargs="*", choices=[*AXES, []], metavar="AXIS")
    parser.add_argument("--only", default="", metavar="WORD", help="commands that are called so")
    parser.add_argument("--most", type=float, default=120.0, help="s after which one is given up")
    asked = parser.parse_args()
    bare = _seconds(("-c", "import numpy, shapely, networkx"), Path(), 60.0)
    print(f"bare Python with numpy, shapely and networkx: {bare:.2f} s")
    for axis in asked.axes or AXES:
        _measured(axis, asked.only, asked.most, bare)


if __name__ == "__main__":
    main()
