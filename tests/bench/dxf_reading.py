"""Measure reading of DXF against ezdxf's own: ``python -m tests.bench.dxf_reading``.

Prints seconds of processor time and never passes or fails.  100 pieces in 20 sizes, both
as one block for each piece and size and as a sample size with grade rules; outlines as a
sender writes them, with a point about every 12 mm.  ezdxf knows no grade rules: for the
second form it reads the same file, which holds the sample size only, and the nested file,
which holds what the rules give.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from propagate.io.dxf import WriteOptions, read, write
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Landmark, Piece, SizedPiece, frozen_points
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Allowance, PieceInfo

PIECES, SIZES = 100, 20


def _sized(piece: int, size: int) -> SizedPiece:
    """A piece with two curved sides and about 100 points."""
    width, height = 180.0 + 2 * piece + 5 * size, 420.0 + 4 * size
    up = np.linspace(0.0, 1.0, 36)
    across = np.linspace(0.0, 1.0, 14)
    bulge = 18.0 * np.sin(np.pi * up)
    dip = -12.0 * np.sin(np.pi * across)
    right = np.column_stack([width + bulge, height * up])
    top = np.column_stack([width * (1 - across), height + dip])
    left = np.column_stack([bulge[::-1], height * up[::-1]])
    return SizedPiece(
        edges=(
            Edge("hem", frozen_points([(0.0, 0.0), (width, 0.0)])),
            Edge("side", frozen_points(right)),
            Edge("top", frozen_points(top)),
            Edge("centre", frozen_points(left)),
        ),
        grain=Grain((width / 2, 50.0), (width / 2, height - 50.0)),
        landmarks=(Landmark("middle", "hem", (width / 2, 0.0), "notch"),),
    )


def made_set() -> PatternSet:
    """Return 100 pieces in 20 sizes."""
    sizes = tuple(str(30 + 2 * index) for index in range(SIZES))
    pieces = {
        f"piece_{number}": Piece(
            f"piece_{number}",
            {size: _sized(number, index) for index, size in enumerate(sizes)},
        )
        for number in range(PIECES)
    }
    info = {name: PieceInfo(name, allowance=Allowance(10.0)) for name in pieces}
    return PatternSet("bench", sizes, sizes[SIZES // 2], "lay_on", pieces, info)


def _timed(work: Callable[[], object]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start


def main(arguments: list[str]) -> None:
    """Print the figures; ``ours`` leaves out ezdxf, so that the memory is our own."""
    import ezdxf

    pattern = made_set()
    nested = 0.0
    with tempfile.TemporaryDirectory() as folder:
        for kind in ("nested", "rules"):
            path = Path(folder) / f"{kind}.dxf"
            options = WriteOptions(kind=kind, validation="none", names=False)  # type: ignore[arg-type]
            wrote = _timed(lambda path=path, options=options: write(pattern, path, options))
            mine = _timed(lambda path=path: read(path))
            memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            print(
                f"{kind:<7} {path.stat().st_size / 1e6:6.1f} MB   written in {wrote:5.1f} s   "
                f"read in {mine:5.1f} s   peak {memory:.0f} MB"
            )
            if "ours" in arguments:
                continue
            theirs = _timed(lambda path=path: ezdxf.readfile(path))
            print(f"{'':<7} ezdxf {theirs:5.1f} s   ratio {mine / theirs:.2f} (aim: at most 2)")
            nested = theirs if kind == "nested" else nested
            if kind == "rules":
                ratio = mine / nested
                print(f"{'':<7} ezdxf {nested:5.1f} s   for the nested file, ratio {ratio:.2f}")


if __name__ == "__main__":
    main(sys.argv[1:])
