"""What a page's content is, told to those who hear it: headings, paragraphs, tables, figures.

The structure tree of ISO 32000-1, 14.7: an element holds others, or pieces of pages that are
numbered there, and every page leads back from its numbers to the elements.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field

import pydyf

from propagate.report.pdf.stream_file import StreamedFile, pdf_text
from propagate.values import dataclass

__all__ = ["Element", "put_tree"]


@dataclass(eq=False)
class Element:
    """A part of a document.

    Attributes
    ----------
    kind : str
        A standard structure type, as in ``H1``, ``P``, ``Table``, ``TR``, ``TH`` or ``Figure``.
    alt : str
        What a figure shows, in words.
    content : list of (int, int)
        Pages, from 0, with the numbers of what was marked there.
    """

    kind: str
    alt: str = ""
    kids: list[Element] = field(default_factory=list)
    content: list[tuple[int, int]] = field(default_factory=list)


def put_tree(
    file: StreamedFile, root: Element, pages: Sequence[int], marked: Sequence[Sequence[Element]]
) -> int:
    """Write the tree below a document; returns the number of its root object.

    Parameters
    ----------
    root : Element
        The document.
    pages : sequence of int
        Numbers of the page objects.
    marked : sequence of sequences of Element
        Of every page the elements by the number of what was marked.
    """
    top, numbers = file.reserve(), {}
    walk = [(root, top)]
    for element, _ in walk:  # grows while it is walked: parents stand before their parts
        numbers[id(element)] = number = file.reserve()
        walk += [(kid, number) for kid in element.kids]
    for element, parent in walk:
        values: dict[str, object] = {"S": f"/{element.kind}", "P": f"{parent} 0 R"}
        parts = [f"{numbers[id(kid)]} 0 R" for kid in element.kids]
        if element.content:
            first = element.content[0][0]
            values["Pg"] = f"{pages[first]} 0 R"
            parts += [
                str(n) if page == first else f"<</Type/MCR/Pg {pages[page]} 0 R/MCID {n}>>"
                for page, n in element.content
            ]
        if parts:
            values["K"] = f"[{' '.join(parts)}]"
        if element.alt:
            values["Alt"] = pdf_text(element.alt)
        if element.kind == "TH":
            values["A"] = "<</O/Table/Scope/Column>>"
        file.put(pydyf.Dictionary(values), numbers[id(element)])
    back = (
        f"{page} [{' '.join(f'{numbers[id(element)]} 0 R' for element in elements)}]"
        for page, elements in enumerate(marked)
    )
    tree = {
        "Type": "/StructTreeRoot",
        "K": f"[{numbers[id(root)]} 0 R]",
        "ParentTree": f"<</Nums [{' '.join(back)}]>>",
        "ParentTreeNextKey": len(marked),
    }
    return file.put(pydyf.Dictionary(tree), top)
