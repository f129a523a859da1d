"""What is read covers the same pixels that an independent renderer (librsvg) fills."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
import shapely

from propagate.io.options import SvgWriting
from propagate.io.svg.read import read_drawings
from propagate.io.svg.write import svg_texts
from tests.io.svg.drawings import only, read_text, svg
from tests.shared import demo

pytestmark = pytest.mark.skipif(
    shutil.which("rsvg-convert") is None, reason="the renderer is not installed"
)
SCALE = 2.0  # pixels a millimetre
SIDE = 400  # mm

SHAPES = {
    "curves": '<path id="a" d="M50 50C150-20 250 160 350 60S300 350 200 300Q60 380 50 50Z"/>',
    "relative": '<path id="a" d="m40 60 l120 -20 90 40 t 60 80 q -40 60 20 120 h-180 v-60 z"/>',
    "arcs": '<path id="a" d="M100 100 a80 40 30 1 1 120 60 A50 90 -20 0 0 150 300 L60 250z"/>',
    "flags": '<path id="a" d="M60 200a90 60 0 01180 0a30 30 0 0060 0V350H60z"/>',
    "transforms": (
        '<g transform="translate(200 150) rotate(33)"><g transform="skewX(20) scale(1.4 .6)">'
        '<path id="a" d="M-80 -80 H90 Q120 0 70 90 A60 60 0 0 1 -60 100 Z"/></g></g>'
    ),
    "round corners": '<rect id="a" x="60" y="80" width="240" height="180" rx="40" ry="70"/>',
    "ellipse": (
        '<ellipse id="a" cx="200" cy="170" rx="150" ry="60" transform="rotate(20 200 170)"/>'
    ),
}


def rendered(text: str, folder: Path) -> np.ndarray:
    """The page as the renderer draws it, True where it is dark."""
    from PIL import Image

    source, picture = folder / "in.svg", folder / "out.png"
    source.write_text(text, encoding="utf-8")
    command = ["rsvg-convert", "-w", str(int(SIDE * SCALE)), "-h", str(int(SIDE * SCALE))]
    subprocess.run([*command, "-b", "white", str(source), "-o", str(picture)], check=True)
    with Image.open(picture) as image:
        return np.asarray(image.convert("L")) < 128


def filled(outline: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Pixels whose middle lies in an outline, and those next to its border."""
    area = shapely.Polygon(outline * [SCALE, -SCALE])
    centres = np.arange(int(SIDE * SCALE)) + 0.5
    x, y = np.meshgrid(centres, centres)
    shapely.prepare(area)
    border = area.exterior.buffer(0.75)
    shapely.prepare(border)
    return shapely.contains_xy(area, x, y), shapely.contains_xy(border, x, y)


@pytest.mark.parametrize("name", SHAPES)
def test_shapes_cover_the_pixels_that_the_renderer_fills(tmp_path: Path, name: str) -> None:
    page = (
        f'xmlns="http://www.w3.org/2000/svg" width="{SIDE}mm" height="{SIDE}mm" '
        f'viewBox="0 0 {SIDE} {SIDE}"'
    )
    text = svg(SHAPES[name], page)
    theirs = rendered(text, tmp_path)
    pattern, _ = read_text(tmp_path, text)
    ours, border = filled(only(pattern).outline)
    assert ours.sum() > 50_000
    assert not (ours != theirs)[~border].any()
    assert (ours != theirs).sum() < 0.002 * ours.sum()


def test_what_is_written_is_drawn_where_it_lies(tmp_path: Path) -> None:
    """A size of the demo set as written: every dark pixel lies on a line that was read back."""
    pattern = demo("scoop_skirt")
    texts = svg_texts(pattern, SvgWriting(one_file=False), "out")
    text = next(text for name, text in texts.items() if name.endswith("-M.svg"))
    marks = ("<path", "<circle", "<text")
    lines = [
        line for line in text.splitlines() if not line.startswith(marks) or 'class="edge"' in line
    ]
    drawn = tmp_path / "page.svg"
    drawn.write_text("\n".join(lines).replace('width="0.5"', 'width="1.5"'), encoding="utf-8")
    found, _ = read_drawings([drawn])
    width = float(text.split('width="')[1].split("mm")[0])
    theirs = _ink(drawn, tmp_path, width)
    frames = {
        line.split('data-piece="')[1].split('"')[0]: np.array(
            [float(v) for v in line.split('data-frame="')[1].split('"')[0].split()]
        )
        for line in lines
        if "data-piece" in line
    }
    rings = [
        shapely.LinearRing(found.sized(name, "M").outline * [1, -1] + frames[name])
        for name in found.pieces
    ]
    near = shapely.union_all(rings).buffer(1.5)
    shapely.prepare(near)
    y, x = np.nonzero(theirs)
    assert len(x) > 3000
    assert shapely.contains_xy(near, x + 0.5, y + 0.5).all()


def _ink(source: Path, folder: Path, width: float) -> np.ndarray:
    from PIL import Image

    picture = folder / "page.png"
    subprocess.run(
        ["rsvg-convert", "-w", str(round(width)), "-b", "white", str(source), "-o", str(picture)],
        check=True,
    )
    with Image.open(picture) as image:
        return np.asarray(image.convert("L")) < 128
