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


def print_by_browser(page: Path, file: Path) -> Path:
    command = ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
    subprocess.run(
        [*command, f"--print-to-pdf={file}", page.as_uri()],
        check=True,
        capture_output=True,
        timeout=240,
    )
    return file


def by_browser(draft: Draft, file: Path) -> Path:
    """Printed by Chromium."""
    wide, tall = draft.size
    page = file.with_suffix(".html")
    page.write_text(
        f"<!DOCTYPE html><style>@page{{size:{wide}mm {tall}mm;margin:0}}body{{margin:0}}"
        f"svg{{display:block}}</style>{svg_of(draft)}",
        encoding="utf-8",
    )
    return print_by_browser(page, file)


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


@dataclass(frozen=True)
class Tiling:
    """How a sheet is cut into pages.

    Attributes
    ----------
    paper : (width, height)
        mm.
    margin, overlap : float
        mm.
    names : str
        ``"A1"``, ``"1A"``, ``"1-1"``, ``"row"``, ``"1/n"`` or empty.
    frame : bool
        Whether the border of what a page shows is drawn.
    by_columns : bool
        Pages run down, then to the right.
    omit : tuple of (row, column)
        Pages that are left out.
    cover : int
        Pages of words in front.
    cut : bool
        Lines are cut at the border by shapely, not by a clip.
    words : str
        Stand at the foot of every page.
    """

    paper: tuple[float, float] = (210.0, 297.0)
    margin: float = 10.0
    overlap: float = 10.0
    names: str = "A1"
    frame: bool = True
    by_columns: bool = False
    omit: tuple[tuple[int, int], ...] = ()
    cover: int = 0
    cut: bool = False
    words: str = ""

    def grid(self, draft: Draft) -> tuple[int, int]:
        """Rows and columns."""
        across = self.paper[0] - 2 * self.margin, self.paper[1] - 2 * self.margin
        counts = [
            int(np.ceil((extent - self.overlap) / (page - self.overlap) - 1e-9))
            for extent, page in zip(draft.size, across, strict=True)
        ]
        return counts[1], counts[0]


def _page_name(style: str, row: int, column: int, number: int, count: int) -> str:
    return {
        "A1": f"{chr(65 + column)}{row + 1}",
        "1A": f"{row + 1}{chr(65 + column)}",
        "1-1": f"{row + 1}-{column + 1}",
        "row": f"row {row + 1}, column {column + 1}",
        "1/n": f"{number}/{count}",
        "": "",
    }[style]


def tiled_by_reportlab(draft: Draft, file: Path, tiling: Tiling) -> Path:
    """The draft on pages, from its upper left corner."""
    from reportlab.pdfgen.canvas import Canvas

    wide, tall = tiling.paper
    canvas = Canvas(str(file), pagesize=(wide * MM, tall * MM), pageCompression=1, invariant=1)
    for number in range(tiling.cover):
        for i in range(40):
            canvas.drawString(50, 800 - 15 * i, f"Line {i} of what to do with page {number}: cut")
        canvas.rect(60, 60, 200, 80)
        canvas.showPage()
    rows, columns = tiling.grid(draft)
    places = [(r, c) for r in range(rows) for c in range(columns)]
    if tiling.by_columns:
        places.sort(key=lambda place: (place[1], place[0]))
    inner = (wide - 2 * tiling.margin, tall - 2 * tiling.margin)
    for number, (row, column) in enumerate(places, start=1):
        if (row, column) in tiling.omit:
            continue
        left = column * (inner[0] - tiling.overlap)
        bottom = draft.size[1] - row * (inner[1] - tiling.overlap) - inner[1]
        shift = np.array([tiling.margin - left, tiling.margin - bottom])
        _draw_tile(canvas, draft, tiling, inner, shift)
        name = _page_name(tiling.names, row, column, number, len(places))
        canvas.setFillColorRGB(0.5, 0.5, 0.5)
        canvas.setFont("Helvetica", 20)
        canvas.drawString((tiling.margin + 20) * MM, (tiling.margin + 20) * MM, name)
        canvas.setFont("Helvetica", 7)
        canvas.drawString(20 * MM, 3 * MM, f"an invented pattern, page {number}, print at 100 %")
        canvas.drawString(20 * MM, 6 * MM, tiling.words)
        canvas.showPage()
    canvas.save()
    return file


def _draw_tile(
    canvas: object, draft: Draft, tiling: Tiling, inner: tuple[float, float], shift: np.ndarray
) -> None:
    from reportlab.pdfgen.canvas import Canvas

    assert isinstance(canvas, Canvas)
    m = tiling.margin
    if tiling.frame:
        canvas.setStrokeColorRGB(0.6, 0.6, 0.6)
        canvas.setLineWidth(0.2 * MM)
        canvas.setDash([])
        canvas.rect(m * MM, m * MM, inner[0] * MM, inner[1] * MM)
    canvas.saveState()
    clip = canvas.beginPath()
    clip.rect(m * MM, m * MM, inner[0] * MM, inner[1] * MM)
    if not tiling.cut:
        canvas.clipPath(clip, stroke=0, fill=0)
    area = shapely.box(m, m, m + inner[0], m + inner[1])
    for line in draft.lines:
        points = line.points + shift
        whole = shapely.LineString(points)
        if not whole.intersects(area):
            continue
        canvas.setStrokeColorRGB(*line.colour)
        canvas.setLineWidth(line.width * MM)
        canvas.setDash([part * MM for part in line.dash])
        parts = [points]
        if tiling.cut:
            merged = shapely.line_merge(whole.intersection(area))
            parts = [shapely.get_coordinates(p) for p in shapely.get_parts(merged)]
        for part in parts:
            path = canvas.beginPath()
            path.moveTo(*(part[0] * MM))
            for point in part[1:]:
                path.lineTo(*(point * MM))
            canvas.drawPath(path)
    canvas.restoreState()


def _tile_svgs(draft: Draft, tiling: Tiling) -> list[str]:
    """A drawing for each page that shows a part of the sheet, with a frame and its name."""
    wide, tall = tiling.paper
    m, rows_columns = tiling.margin, tiling.grid(draft)
    inner = (wide - 2 * m, tall - 2 * m)
    whole = svg_of(draft)
    body = whole.partition(">")[2].removesuffix("</svg>")
    pages = []
    for row in range(rows_columns[0]):
        for column in range(rows_columns[1]):
            left, top = (
                column * (inner[0] - tiling.overlap),
                row * (inner[1] - tiling.overlap),
            )
            frame = (
                f'<rect x="{m}" y="{m}" width="{inner[0]}" height="{inner[1]}" fill="none" '
                'stroke="#999" stroke-width="0.2"/>'
            )
            name = _page_name(tiling.names, row, column, 0, 0)
            pages.append(
                f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{tall}mm" '
                f'viewBox="0 0 {wide} {tall}" fill="none">{frame if tiling.frame else ""}'
                f'<text x="{m + 15}" y="{tall - m - 15}" font-size="8" fill="#777">{name}</text>'
                f'<svg x="{m}" y="{m}" width="{inner[0]}" height="{inner[1]}" overflow="hidden" '
                f'viewBox="{left} {top} {inner[0]} {inner[1]}">{body}</svg></svg>'
            )
    return pages


def tiled_by_cairo(draft: Draft, file: Path, tiling: Tiling) -> Path:
    """Pages that show parts of one drawing, written by cairo."""
    names = []
    for number, page in enumerate(_tile_svgs(draft, tiling)):
        names.append(str(file.with_name(f"page{number:03}.svg")))
        Path(names[-1]).write_text(page, encoding="utf-8")
    subprocess.run(["rsvg-convert", "-f", "pdf", *names, "-o", str(file)], check=True)
    return file


def tiled_by_browser(draft: Draft, file: Path, tiling: Tiling) -> Path:
    """Pages that show parts of one drawing, printed by Chromium."""
    wide, tall = tiling.paper
    page = file.with_suffix(".html")
    divs = "".join(f"<div>{svg}</div>" for svg in _tile_svgs(draft, tiling))
    page.write_text(
        f"<!DOCTYPE html><style>@page{{size:{wide}mm {tall}mm;margin:0}}body{{margin:0}}"
        "svg{display:block}div{break-after:page;overflow:hidden;height:"
        f"{tall - 1}mm}}</style>{divs}",
        encoding="utf-8",
    )
    return print_by_browser(page, file)
