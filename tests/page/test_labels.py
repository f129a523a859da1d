"""Labels of the page lie on no line, mark or other label, as the browser sets them at first sight.

Boxes of the letters are the browser's, lines and marks those of the file; shapely judges.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from svgelements import Path as Drawing

import propagate
from propagate.io.edits_toml import edit_of_words
from propagate.report.page import report_page
from tests.page.conftest import Open
from tests.page.reader import Node, tree
from tests.report.label_check import MAY_LIE_UNDER, Drawn, collisions
from tests.shared import demo, in_sizes, main_job

BOXES = """(id) => {
  const svg = document.getElementById(`${id}-drawing`), back = svg.getScreenCTM().inverse();
  const texts = [...svg.querySelectorAll(".label")].filter((t) => t.getClientRects().length);
  return {
    sight: svg.getBoundingClientRect().toJSON(),
    texts: texts.map((text) => {
      const b = text.getBBox(), own = text.getScreenCTM(), m = back.multiply(own);
      const top = b.y + b.height * 0.15, low = b.y + b.height * 0.95;
      const corners = [[b.x, top], [b.x + b.width, top], [b.x + b.width, low], [b.x, low]];
      const at = (matrix) => corners.map(([x, y]) => {
        const p = new DOMPoint(x, y).matrixTransform(matrix); return [p.x, p.y]; });
      return { words: text.textContent, inside: at(m), seen: at(own) };
    }),
  };
}"""
"""Letters reach from the top of capitals to the foot of brackets; the box of a line is taller."""
GRAPH = """() => [...document.querySelectorAll("#graph .node")].map((node) => {
  const box = (e) => { const b = e.getBBox(); return [b.x, b.y, b.x + b.width, b.y + b.height]; };
  return [node.querySelector("title").textContent, box(node.querySelector("rect")),
    box(node.querySelector("text"))];
})"""


@cache
def page_of(name: str) -> str:
    if name != "revised":
        return report_page(main_job(name))
    edits = [edit_of_words("raise", ["edge=back.waist", "by=15mm", "at=end", "to=start"])]
    found = propagate.apply_edits(in_sizes(demo("slant_trouser"), ("42",)), edits)
    return report_page(propagate.Result(found.pattern, found.records["42"]))


@cache
def lines_of(name: str, piece: str) -> tuple[tuple[str, shapely.Geometry], ...]:
    """What stands in the drawing of a piece, apart from areas and levels, in its own units."""
    found: list[tuple[str, shapely.Geometry]] = []
    for shape in tree(page_of(name)).one("svg", id=f"{piece}-drawing").every():
        layer = shape.told.get("class", "").split()[-1:]
        if not layer or layer[0] in MAY_LIE_UNDER or shape.tag not in ("path", "circle"):
            continue
        found += [(layer[0], part) for part in shapes_of(shape)]
    return tuple(found)


def shapes_of(shape: Node) -> list[shapely.Geometry]:
    if shape.tag == "circle":
        x, y, r = (float(shape.told[key]) for key in ("cx", "cy", "r"))
        return [shapely.Point(x, y).buffer(r)]
    points = np.array([(p.x, p.y) for p in Drawing(shape.told["d"]).as_points()])
    return [shapely.LineString(points)]


def drawn_of(page: Any, name: str, piece: str) -> tuple[Drawn, int]:
    """The labels of a piece that are seen with what they may not lie on, and those cut off."""
    found = page.evaluate(BOXES, piece)
    labels = tuple((one["words"], shapely.Polygon(one["inside"])) for one in found["texts"])
    sight = shapely.box(*(found["sight"][key] for key in ("left", "top", "right", "bottom")))
    cut = [one for one in found["texts"] if not sight.contains(shapely.Polygon(one["seen"]))]
    return Drawn(labels, lines_of(name, piece)), len(cut)


CASES = [
    (name, width, scheme)
    for name in ("slant_trouser", "concert_dress", "lined_skirt", "ferry_shirt", "revised")
    for width, scheme in ((360, "light"), (1280, "dark"), (1920, "light"))
]


@pytest.mark.parametrize(("name", "width", "scheme"), CASES)
def test_no_label_lies_on_anything(
    open_page: Open, tmp_path: Path, name: str, width: int, scheme: str
) -> None:
    file = tmp_path / "page.html"
    file.write_text(page_of(name), encoding="utf-8")
    page = open_page(str(file), width=width, color_scheme=scheme).page
    pieces = page.locator("figure.piece").evaluate_all("p => p.map((x) => x.id)")
    wrong, seen = {}, 0
    for piece in pieces:
        page.select_option("#piece-choice", value=piece)
        drawn, cut = drawn_of(page, name, piece)
        seen += len(drawn.labels)
        if found := collisions(drawn) + ["cut off"] * cut:
            wrong[piece] = found
    assert wrong == {}
    assert seen >= len(pieces)


@pytest.mark.parametrize("name", sorted({name for name, *_ in CASES}))
def test_names_in_the_graph_lie_in_their_own_boxes(
    open_page: Open, tmp_path: Path, name: str
) -> None:
    file = tmp_path / "page.html"
    file.write_text(page_of(name), encoding="utf-8")
    found = open_page(str(file)).page.evaluate(GRAPH)
    boxes = [shapely.box(*box) for _, box, _ in found]
    for i, (title, _, text) in enumerate(found):
        assert boxes[i].contains(shapely.box(*text)), title
        assert not any(boxes[i].intersects(other) for other in boxes[:i]), title
