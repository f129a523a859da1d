"""A general CAD program (LibreCAD) opens what is written and draws the lines of the set."""

from __future__ import annotations

import os
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path
from typing import Literal

import numpy as np
import numpy.typing as npt
import pytest
from PIL import Image, ImageDraw

from propagate.io.dxf import WriteOptions, write
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from tests import shared
from tests.examples import part_of

PROGRAM = "librecad"
SCALE = 0.2
"""Of the drawing on its page, so that a nest of skirts fits A4."""
DPI = 150
PX_PER_MM = SCALE * DPI / 25.4

pytestmark = pytest.mark.skipif(
    shutil.which(PROGRAM) is None or shutil.which("pdftoppm") is None,
    reason="the CAD program or the PDF renderer is not installed",
)
Array = npt.NDArray[np.float64]
Pixels = npt.NDArray[np.bool_]


def by_the_program(path: Path) -> Pixels:
    """The drawing as the program prints it; True is ink."""
    env = {**os.environ, "QT_QPA_PLATFORM": "offscreen", "HOME": str(path.parent)}
    command = [PROGRAM, "dxf2pdf", "-m", "-c", "-s", str(SCALE), path.name]
    done = subprocess.run(
        command, cwd=path.parent, env=env, capture_output=True, timeout=120, check=False
    )
    pdf = path.with_suffix(".pdf")
    assert pdf.is_file(), done.stderr[-500:]
    subprocess.run(
        ["pdftoppm", "-r", str(DPI), "-png", "-singlefile", str(pdf), str(path.with_suffix(""))],
        check=True,
        timeout=60,
    )
    with Image.open(path.with_suffix(".png")) as picture:
        return np.asarray(picture.convert("L")) < 128


def drawn(lines: list[Array]) -> Pixels:
    """Lines in mm, drawn one pixel wide."""
    low = np.min([line.min(axis=0) for line in lines], axis=0)
    high = np.max([line.max(axis=0) for line in lines], axis=0)
    wide, tall = np.ceil((high - low) * PX_PER_MM).astype(int) + 3
    picture = Image.new("1", (int(wide), int(tall)))
    pen = ImageDraw.Draw(picture)
    for line in lines:
        places = (line - low) * PX_PER_MM + 1
        places[:, 1] = tall - 1 - places[:, 1]
        pen.line([tuple(p) for p in places.tolist()], fill=1)
    return np.asarray(picture)


def grown(ink: Pixels) -> Pixels:
    """Every pixel beside an inked one too."""
    found = ink.copy()
    for axis in (0, 1):
        found |= np.roll(found, 1, axis) | np.roll(found, -1, axis)
    return found


def best_share(wanted: Pixels, page: Pixels) -> float:
    """The largest share of wanted ink that lies on the page's, at any shift."""
    shape = [int(a + b) for a, b in zip(wanted.shape, page.shape, strict=True)]
    found = np.fft.irfft2(
        np.fft.rfft2(grown(page).astype(float), s=shape)
        * np.conj(np.fft.rfft2(wanted.astype(float), s=shape)),
        s=shape,
    )
    return float(found.max() / wanted.sum())


def alone(pattern: PatternSet, name: str) -> PatternSet:
    """One piece in two sizes, near the origin, where the program's page begins."""
    sizes = tuple(dict.fromkeys((pattern.sizes[0], pattern.base)))
    corner = pattern.sized(name, pattern.base).outline.min(axis=0) - 60.0

    def at(point: tuple[float, float]) -> tuple[float, float]:
        x, y = np.subtract(point, corner)
        return float(x), float(y)

    nest = {}
    for size in sizes:
        sized = pattern.sized(name, size)
        nest[size] = SizedPiece(
            edges=tuple(Edge(e.name, e.points - corner, e.turns) for e in sized.edges),
            grain=Grain(at(sized.grain.start), at(sized.grain.end)),
            landmarks=tuple(replace(m, point=at(m.point)) for m in sized.landmarks),
        )
    return PatternSet(
        pattern.name, sizes, pattern.base, pattern.lay_on,
        {name: Piece(name, nest)}, {name: pattern.info[name]},
    )  # fmt: skip


def closed(points: Array) -> Array:
    return np.vstack([points, points[:1]])


@pytest.mark.parametrize(
    ("demo", "name", "kind"),
    part_of(
        [
            ("scoop_skirt", "skirt_back", "nested"),
            ("scoop_skirt", "skirt_back", "rules"),
            ("workshop_gilet", "upper_front", "nested"),
            ("workshop_gilet", "upper_front", "rules"),
        ],
        3,
    ),
)
def test_the_program_draws_the_seam_lines(
    demo: str, name: str, kind: Literal["nested", "rules"], tmp_path: Path
) -> None:
    pattern = alone(shared.demo(demo), name)
    path = tmp_path / "sent.dxf"
    report = write(pattern, path, WriteOptions(kind=kind, validation="none", names=False))
    page = by_the_program(path)
    assert report.ruled == ((name,) if kind == "rules" else ())
    for size in (pattern.base,) if report.ruled else pattern.sizes:
        share = best_share(drawn([closed(pattern.sized(name, size).outline)]), page)
        assert share > 0.99, size


def test_a_line_that_is_not_there_is_missed(tmp_path: Path) -> None:
    """The check can fail: an outline that was not sent does not lie on the page."""
    pattern = alone(shared.demo("scoop_skirt"), "skirt_back")
    path = tmp_path / "sent.dxf"
    write(pattern, path, WriteOptions(kind="nested", validation="none", names=False))
    outline = pattern.sized("skirt_back", pattern.base).outline
    other = drawn([closed(outline * [1.02, 1.0])])
    assert best_share(other, by_the_program(path)) < 0.9
