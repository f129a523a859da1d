"""Drawings of demo sets, and programs that have nothing to do with ours writing them as PDF."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pikepdf
import shapely

from propagate.io.drawn_lines import DrawnLine
from propagate.io.pdf.pages import Document, read_pages
from tests.shared import demo

MM = 72 / 25.4
NEAR_MM = 0.05
COLOURS = ((0.8, 0.0, 0.0), (0.0, 0.4, 0.0), (0.0, 0.0, 0.8), (0.6, 0.0, 0.6), (0.1, 0.1, 0.1))
DASHES = ((), (6.0, 3.0), (2.0, 2.0), (8.0, 2.0, 1.0, 2.0), ())
CAIRO = shutil.which("rsvg-convert")
BROWSER = shutil.which("chromium")


@dataclass(frozen=True, eq=False)
class DraftLine:
    """A line as it was drafted: points in mm, y up."""

    points: np.ndarray
    colour: tuple[float, float, float]
    dash: tuple[float, ...]
    layer: str
    width: float = 0.4


@dataclass(frozen=True, eq=False)
class Draft:
    """Lines and the size of the sheet, mm."""

    lines: tuple[DraftLine, ...]
    size: tuple[float, float]


def nested(name: str, sizes: Sequence[str] = (), room: float = 20.0) -> Draft:
    """All pieces of a demo set side by side, each size nested, each edge a line."""
    pattern = demo(name)
    wanted = tuple(sizes) or pattern.sizes
    lines, x, tall = [], room, 0.0
    for piece in pattern.pieces.values():
        outlines = np.vstack([piece.at(size).outline for size in wanted])
        corner = outlines.min(axis=0)
        for number, size in enumerate(wanted):
            look = number % len(COLOURS)
            lines += [
                DraftLine(
                    np.asarray(edge.points) - corner + (x, room), COLOURS[look], DASHES[look], size
                )
                for edge in piece.at(size).edges
            ]
        wide, high = outlines.max(axis=0) - corner
        x, tall = x + wide + room, max(tall, high)
    return Draft(tuple(lines), (x, tall + 2 * room))


def svg_of(draft: Draft, extra: str = "") -> str:
    """The draft as an SVG drawing of its size."""
    wide, tall = draft.size
    rows = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{tall}mm" '
        f'viewBox="0 0 {wide} {tall}" fill="none">'
    ]
    for line in draft.lines:
        red, green, blue = (round(255 * part) for part in line.colour)
        path = " L".join(f"{x:.6f} {tall - y:.6f}" for x, y in line.points)
        dash = f' stroke-dasharray="{" ".join(map(str, line.dash))}"' if line.dash else ""
        rows.append(
            f'<path d="M{path}" stroke="rgb({red},{green},{blue})" '
            f'stroke-width="{line.width}"{dash}/>'
        )
    return "\n".join([*rows, extra, "</svg>"])


def by_cairo(draft: Draft, file: Path, extra: str = "") -> Path:
    """Written by cairo."""
    source = file.with_suffix(".svg")
    source.write_text(svg_of(draft, extra), encoding="utf-8")
    subprocess.run(["rsvg-convert", "-f", "pdf", str(source), "-o", str(file)], check=True)
    return file


def by_reportlab(draft: Draft, file: Path, *, layered: bool = False) -> Path:
    """Written by a library for reports; its layers are put in by another one."""
    from reportlab.pdfgen.canvas import Canvas

    wide, tall = draft.size
    canvas = Canvas(str(file), pagesize=(wide * MM, tall * MM), pageCompression=1, invariant=1)
    layers = list(dict.fromkeys(line.layer for line in draft.lines))
    for line in draft.lines:
        if layered:
            canvas._code.append(f"/OC /L{layers.index(line.layer)} BDC")
        canvas.setStrokeColorRGB(*line.colour)
        canvas.setLineWidth(line.width * MM)
        canvas.setDash([part * MM for part in line.dash])
        path = canvas.beginPath()
        path.moveTo(*(line.points[0] * MM))
        for point in line.points[1:]:
            path.lineTo(*(point * MM))
        canvas.drawPath(path)
        if layered:
            canvas._code.append("EMC")
    canvas.showPage()
    canvas.save()
    if layered:
        with pikepdf.open(file, allow_overwriting_input=True) as pdf:
            add_layers(pdf, layers)
            pdf.save(file)
    return file


def add_layers(pdf: pikepdf.Pdf, layers: Sequence[str]) -> list[pikepdf.Object]:
    """Optional-content groups that the pages know as L0, L1 and so on."""
    groups = [
        pdf.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name.OCG, Name=pikepdf.String(name)))
        for name in layers
    ]
    usual = pikepdf.Dictionary(Order=pikepdf.Array(groups))
    pdf.Root.OCProperties = pikepdf.Dictionary(OCGs=pikepdf.Array(groups), D=usual)
    for page in pdf.pages:
        page.Resources["/Properties"] = pikepdf.Dictionary(
            {f"/L{i}": group for i, group in enumerate(groups)}
        )
    return groups


def by_browser(draft: Draft, file: Path) -> Path:
    """Printed by Chromium."""
    wide, tall = draft.size
    page = file.with_suffix(".html")
    page.write_text(
        f"<!DOCTYPE html><style>@page{{size:{wide}mm {tall}mm;margin:0}}body{{margin:0}}"
        f"svg{{display:block}}</style>{svg_of(draft)}",
        encoding="utf-8",
    )
    command = ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
    subprocess.run(
        [*command, f"--print-to-pdf={file}", page.as_uri()],
        check=True,
        capture_output=True,
        timeout=120,
    )
    return file


def plain_pdf(
    content: str | bytes, file: Path, *, box: Sequence[float] = (0, 0, 200, 100), **page: object
) -> Path:
    """A PDF of one page with this content; further keys of the page by their names."""
    with pikepdf.new() as pdf:
        data = content if isinstance(content, bytes) else content.encode("latin-1")
        values = {f"/{key}": value for key, value in page.items()}
        pdf.pages.append(
            pikepdf.Page(
                pikepdf.Dictionary(
                    {
                        "/Type": pikepdf.Name.Page,
                        "/MediaBox": pikepdf.Array(list(box)),
                        "/Contents": pdf.make_stream(data),
                        **values,
                    }
                )
            )
        )
        pdf.save(file)
    return file


def read_of(file: Path) -> Document:
    """The pages of a PDF."""
    return read_pages(file)


def assert_same_lines(
    found: Sequence[DrawnLine], draft: Draft, near: float = NEAR_MM, *, looks: bool = True
) -> None:
    """Every drafted line was found once, where it was drafted (shapely measures), and no other."""
    assert len(found) == len(draft.lines)
    tree = shapely.STRtree([shapely.LineString(line.chain.points) for line in found])
    taken = set()
    for line in draft.lines:
        drawn = shapely.LineString(line.points)
        beside = [int(i) for i in tree.query(drawn.buffer(1.0)) if int(i) not in taken]
        apart = {i: drawn.hausdorff_distance(tree.geometries[i]) for i in beside}
        alike = [i for i in beside if apart[i] <= near]
        if looks:
            alike = [i for i in alike if _same_look(found[i], line)]
        assert alike, (line.points[0], min(apart.values(), default=None))
        taken.add(min(alike, key=apart.__getitem__))
    assert len(taken) == len(found)


def _same_look(found: DrawnLine, line: DraftLine) -> bool:
    look = found.look
    return (
        np.allclose(look.colour, line.colour, atol=0.01)
        and abs(look.width - line.width) < 0.01
        and len(look.dash) == len(line.dash)
        and np.allclose(look.dash, line.dash, atol=0.02)
    )
