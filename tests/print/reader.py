"""Read prints with means that are not the project's: pikepdf for paths, poppler for pixels."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from html import unescape
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
import numpy.typing as npt
import pikepdf
from PIL import Image

Image.MAX_IMAGE_PIXELS = None

Array = npt.NDArray[np.float64]
MM = 72.0 / 25.4


@dataclass(frozen=True)
class Stroked:
    """A stroked path: its points in mm on the page, how it is drawn, the layers it lies in."""

    points: Array
    closed: bool
    width: float
    dashes: tuple[float, ...]
    layers: tuple[str, ...]

    @property
    def dashed(self) -> bool:
        return len(self.dashes) > 0

    @property
    def length(self) -> float:
        points = np.vstack([self.points, self.points[:1]]) if self.closed else self.points
        return float(np.hypot(*np.diff(points, axis=0).T).sum())


def page_size(page: pikepdf.Page) -> tuple[float, float]:
    x0, y0, x1, y1 = (float(v) for v in page.MediaBox)
    return (x1 - x0) / MM, (y1 - y0) / MM


@lru_cache(maxsize=128)
def stroked(data: bytes) -> tuple[tuple[Stroked, ...], ...]:
    """Every stroked path of every page, those of its forms too; curves give no points.

    A file is read once, however many tests look at it.
    """
    with pikepdf.open(BytesIO(data)) as document:
        return tuple(
            tuple(_walk(page, page.obj.Resources, np.eye(3), ())) for page in document.pages
        )


def _walk(stream: Any, resources: Any, matrix: Array, layers: tuple[str, ...]) -> Iterator[Stroked]:
    stack: list[tuple[Array, float, tuple[float, ...]]] = []
    marks: list[str | None] = []
    dashes: tuple[float, ...] = ()
    width, points, closed = 1.0, [], False
    for operands, operator in pikepdf.parse_content_stream(stream):
        op = str(operator)
        if op == "q":
            stack.append((matrix, width, dashes))
        elif op == "Q":
            matrix, width, dashes = stack.pop()
        elif op == "cm":
            a, b, c, d, e, f = (float(v) for v in operands)
            matrix = matrix @ np.array([[a, c, e], [b, d, f], [0, 0, 1]])
        elif op == "w":
            width = float(operands[0])
        elif op == "d":
            dashes = tuple(round(float(v) / MM, 3) for v in operands[0])
        elif op in ("m", "l"):
            if op == "m":
                points, closed = [], False
            points.append([float(v) for v in operands])
        elif op == "re":
            x, y, w, h = (float(v) for v in operands)
            points, closed = [[x, y], [x + w, y], [x + w, y + h], [x, y + h]], True
        elif op == "c":
            points = []
        elif op == "h":
            closed = True
        elif op in ("S", "B", "f", "f*", "n"):
            if op in ("S", "B") and len(points) > 1:
                plane = np.column_stack([np.array(points), np.ones(len(points))]) @ matrix.T
                inside = tuple(m for m in marks if m)
                yield Stroked(plane[:, :2] / MM, closed, width / MM, dashes, layers + inside)
            points, closed = [], False
        elif op == "BDC":
            name = None
            if str(operands[0]) == "/OC":
                name = str(resources.Properties[str(operands[1])].Name)
            marks.append(name)
        elif op == "BMC":
            marks.append(None)
        elif op == "EMC":
            marks.pop()
        elif op == "Do":
            form = resources.XObject[str(operands[0])]
            inside = tuple(m for m in marks if m)
            yield from _walk(form, form.Resources, matrix, layers + inside)


def layer_names(document: pikepdf.Pdf) -> list[str]:
    if "/OCProperties" not in document.Root:
        return []
    return [str(group.Name) for group in document.Root.OCProperties.OCGs]


def without_layers(data: bytes, *names: str) -> bytes:
    """The same file with some layers switched off."""
    with pikepdf.open(BytesIO(data)) as document:
        found = document.Root.OCProperties
        off = [group for group in found.OCGs if str(group.Name) in names]
        found.D.ON = pikepdf.Array([g for g in found.OCGs if str(g.Name) not in names])
        found.D.OFF = pikepdf.Array(off)
        out = BytesIO()
        document.save(out)
    return out.getvalue()


def pixels(
    data: bytes,
    folder: Path,
    page: int,
    dpi: int,
    box: tuple[int, int, int, int] | None = None,
) -> npt.NDArray[np.uint8]:
    """A page in grey as poppler renders it; `box` is (left, top, width, height) in pixels."""
    source = folder / "page.pdf"
    source.write_bytes(data)
    words = ["pdftoppm", "-gray", "-r", str(dpi), "-f", str(page), "-l", str(page), "-singlefile"]
    if box is not None:
        for flag, value in zip(("-x", "-y", "-W", "-H"), box, strict=True):
            words += [flag, str(value)]
    subprocess.run([*words, str(source), str(folder / "out")], check=True, timeout=120)
    return np.asarray(Image.open(folder / "out.pgm"))


def text_of(data: bytes, folder: Path) -> str:
    source = folder / "text.pdf"
    source.write_bytes(data)
    done = subprocess.run(
        ["pdftotext", "-layout", str(source), "-"], check=True, capture_output=True, timeout=120
    )
    return done.stdout.decode("utf-8")


@dataclass(frozen=True)
class Word:
    """A word as poppler finds it: its page from 0, its box in mm on the page, y up."""

    text: str
    page: int
    left: float
    bottom: float
    right: float
    top: float

    @property
    def middle(self) -> tuple[float, float]:
        return (self.left + self.right) / 2, (self.bottom + self.top) / 2


@lru_cache(maxsize=32)
def words_of(data: bytes) -> tuple[Word, ...]:
    """Every word of a file with its place; a file is read once."""
    with TemporaryDirectory() as folder:
        return tuple(_words_of(data, Path(folder)))


def _words_of(data: bytes, folder: Path) -> list[Word]:
    source, found = folder / "words.pdf", folder / "words.html"
    source.write_bytes(data)
    subprocess.run(["pdftotext", "-bbox", str(source), str(found)], check=True, timeout=120)
    words = []
    for page, part in enumerate(found.read_text("utf-8").split("<page ")[1:]):
        tall = float(re.search(r'height="([\d.]+)"', part)[1])  # type: ignore[index]
        for box, text in re.findall(r"<word ([^>]*)>(.*?)</word>", part):
            x0, y0, x1, y1 = (float(v) for v in re.findall(r'"([-\d.]+)"', box))
            corners = (x0 / MM, (tall - y1) / MM, x1 / MM, (tall - y0) / MM)
            words.append(Word(unescape(text), page, *corners))
    return words
