"""A PDF document: pages of any size, layers that a reader can switch, embedded fonts."""

from __future__ import annotations

from collections.abc import Sequence
from types import TracebackType
from typing import BinaryIO

import pydyf

from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.pdf.fonts import FontBook, put_font
from propagate.report.pdf.paper import POINTS_PER_MM
from propagate.report.pdf.stream_file import StreamedFile, pdf_text
from propagate.report.pdf.tags import Element, put_tree
from propagate.values import dataclass

__all__ = ["Form", "PdfDocument", "Placed"]

_BLEED_MM = 2.0
"""Room around a drawing for the width of its lines."""


@dataclass(frozen=True)
class Form:
    """A drawing that was written once and may be placed on many pages.

    `box` is (left, bottom, right, top) in mm, in the drawing's own frame.
    """

    number: int
    box: tuple[float, float, float, float]


@dataclass(frozen=True)
class Placed:
    """A form on a page, moved by `shift` mm."""

    form: Form
    shift: tuple[float, float]


class PdfDocument:
    """Writes pages one after another; nothing of a finished page is kept.

    Use as a context manager: leaving it writes fonts, layers and the table of objects.

    Parameters
    ----------
    root : Element or None
        What the document consists of, for those who hear it; what belongs to none of its
        elements is said to be mere decoration.

    Examples
    --------
    >>> from io import BytesIO
    >>> from propagate.report.style import FRAME
    >>> out = BytesIO()
    >>> with PdfDocument(out, "A line") as document:
    ...     canvas = document.canvas()
    ...     canvas.line("seam", [(20, 20), (120, 20)], FRAME)
    ...     document.add_page(210.0, 297.0, canvas)
    >>> out.getvalue()[:8]
    b'%PDF-1.7'
    """

    def __init__(
        self,
        out: BinaryIO,
        title: str,
        fonts: FontBook | None = None,
        root: Element | None = None,
    ) -> None:
        self.fonts = fonts or FontBook()
        self._root = root
        self._marked: list[list[Element]] = []
        self._title = title
        self._file = StreamedFile(out)
        self._tree = self._file.reserve()
        self._font_table = self._file.reserve()
        self._layer_table = self._file.reserve()
        self._layers: dict[str, tuple[str, int]] = {}
        self._pages: list[int] = []
        self._labels: list[str] = []
        self._bookmarks: list[tuple[str, int]] = []

    def __enter__(self) -> PdfDocument:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if kind is None:
            self.close()

    @property
    def page_count(self) -> int:
        """Pages written so far."""
        return len(self._pages)

    def canvas(self) -> PdfCanvas:
        """Return an empty canvas that measures texts with the document's fonts."""
        return PdfCanvas(fonts=self.fonts)

    def layer(self, name: str) -> str:
        """Make a layer that a reader can switch; returns the group to draw in."""
        if name not in self._layers:
            number = self._file.put(
                pydyf.Dictionary({"Type": "/OCG", "Name": pdf_text(name), "Intent": "/View"})
            )
            self._layers[name] = (f"L{len(self._layers)}", number)
        return name

    def bookmark(self, words: str, page: int | None = None) -> None:
        """Name a page in the outline that a reader shows: the next one to be written, or another.

        `page` counts from 0.
        """
        self._bookmarks.append((words, len(self._pages) if page is None else page))

    def form(self, canvas: PdfCanvas) -> Form:
        """Write a drawing that several pages can show."""
        box = (*(canvas.low - _BLEED_MM).tolist(), *(canvas.high + _BLEED_MM).tolist())
        stream = self._content(canvas)
        stream.extra = {
            "Type": "/XObject",
            "Subtype": "/Form",
            "BBox": pydyf.Array([value * POINTS_PER_MM for value in box]),
            "Resources": self._resources([]),
        }
        return Form(self._file.put(stream), box)

    def add_page(
        self,
        width: float,
        height: float,
        over: PdfCanvas | None = None,
        *,
        under: PdfCanvas | None = None,
        placed: Sequence[Placed] = (),
        clip: tuple[float, float, float, float] | None = None,
        label: str = "",
    ) -> None:
        """Write a page.

        Parameters
        ----------
        width, height : float
            mm.
        over : PdfCanvas or None
            Drawn last, from the page's lower left corner.
        under : PdfCanvas or None
            Drawn first.
        placed : sequence of Placed
            Forms, shown inside `clip` (left, bottom, right, top) when it is given, mm.
        label : str
            What a reader calls the page instead of its number.
        """
        self._marked.append([])
        stream = self._content(under) if under is not None else pydyf.Stream(compress=True)
        stream.push_state()
        if clip is not None:
            left, bottom, right, top = (value * POINTS_PER_MM for value in clip)
            stream.rectangle(left, bottom, right - left, top - bottom)
            stream.clip()
            stream.end()
        for i, item in enumerate(placed):
            stream.push_state()
            x, y = (value * POINTS_PER_MM for value in item.shift)
            stream.set_matrix(1, 0, 0, 1, x, y)
            stream.draw_x_object(f"X{i}")
            stream.pop_state()
        stream.pop_state()
        if over is not None:
            stream.stream += self._content(over).stream
        content = self._file.put(stream)
        box = pydyf.Array([0, 0, width * POINTS_PER_MM, height * POINTS_PER_MM])
        page: dict[str, object] = {
            "Type": "/Page",
            "Parent": f"{self._tree} 0 R",
            "MediaBox": box,
            "Resources": self._resources([item.form for item in placed]),
            "Contents": f"{content} 0 R",
        }
        if self._root is not None:
            page |= {"StructParents": len(self._pages), "Tabs": "/S"}
        self._pages.append(self._file.put(pydyf.Dictionary(page)))
        self._labels.append(label)

    def close(self) -> None:
        """Write what belongs to the whole document."""
        file = self._file
        faces = [(i, face) for i, face in enumerate(self.fonts.faces) if face.used]
        numbers = {f"F{i}": file.reserve() for i, _ in faces}
        for i, face in faces:
            put_font(file, face, numbers[f"F{i}"])
        file.put(_refer_to(numbers), self._font_table)
        file.put(_refer_to(dict(self._layers.values())), self._layer_table)
        kids = pydyf.Array([f"{number} 0 R" for number in self._pages])
        tree = {"Type": "/Pages", "Kids": kids, "Count": len(self._pages)}
        file.put(pydyf.Dictionary(tree), self._tree)
        info = {"Title": pdf_text(self._title), "Creator": pdf_text("propagate")}
        file.finish(file.put(self._catalog()), file.put(pydyf.Dictionary(info)))

    def _catalog(self) -> pydyf.Dictionary:
        values: dict[str, object] = {
            "Type": "/Catalog",
            "Pages": f"{self._tree} 0 R",
            "Lang": "(en)",
            # Printed as it is: a page that a reader fits to the paper is not true any more.
            "ViewerPreferences": "<</PrintScaling /None /DisplayDocTitle true>>",
        }
        if any(self._labels):
            pairs = [f"{i} <</P {pdf_text(label)}>>" for i, label in enumerate(self._labels)]
            values["PageLabels"] = f"<</Nums [{' '.join(pairs)}]>>"
        if self._layers:
            every = " ".join(f"{number} 0 R" for _, number in self._layers.values())
            values["OCProperties"] = (
                f"<</OCGs [{every}] /D <</Name (Layers) /BaseState /ON /ON [{every}] "
                f"/Order [{every}] /ListMode /AllPages>>>>"
            )
            values["PageMode"] = "/UseOC"
        if self._bookmarks:
            values["Outlines"] = f"{self._put_outline()} 0 R"
            values.setdefault("PageMode", "/UseOutlines")
        if self._root is not None:
            tree = put_tree(self._file, self._root, self._pages, self._marked)
            values |= {"MarkInfo": "<</Marked true>>", "StructTreeRoot": f"{tree} 0 R"}
        return pydyf.Dictionary(values)

    def _put_outline(self) -> int:
        """Write the bookmarks as one list; returns the number of its root."""
        file = self._file
        root, numbers = file.reserve(), [file.reserve() for _ in self._bookmarks]
        for i, (words, page) in enumerate(self._bookmarks):
            item: dict[str, object] = {
                "Title": pdf_text(words),
                "Parent": f"{root} 0 R",
                "Dest": f"[{self._pages[page]} 0 R /Fit]",
            }
            if i:
                item["Prev"] = f"{numbers[i - 1]} 0 R"
            if i + 1 < len(numbers):
                item["Next"] = f"{numbers[i + 1]} 0 R"
            file.put(pydyf.Dictionary(item), numbers[i])
        ends = {"First": f"{numbers[0]} 0 R", "Last": f"{numbers[-1]} 0 R"}
        tree = {"Type": "/Outlines", **ends, "Count": len(numbers)}
        return file.put(pydyf.Dictionary(tree), root)

    def _content(self, canvas: PdfCanvas) -> pydyf.Stream:
        for group in canvas.groups:
            self.layer(group)
        stream = pydyf.Stream(compress=True)
        names = {name: short for name, (short, _) in self._layers.items()}
        marked = self._marked[-1] if self._root is not None and self._marked else None
        first = len(marked or ())
        canvas.write(stream, names, marked)
        for number, element in enumerate((marked or [])[first:], first):
            element.content.append((len(self._pages), number))
        return stream

    def _resources(self, forms: Sequence[Form]) -> pydyf.Dictionary:
        values: dict[str, object] = {
            "Font": f"{self._font_table} 0 R",
            "Properties": f"{self._layer_table} 0 R",
        }
        if forms:
            values["XObject"] = _refer_to({f"X{i}": f.number for i, f in enumerate(forms)})
        return pydyf.Dictionary(values)


def _refer_to(numbers: dict[str, int]) -> pydyf.Dictionary:
    return pydyf.Dictionary({name: f"{number} 0 R" for name, number in numbers.items()})
