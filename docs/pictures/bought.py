"""The way of a bought pattern: its sheet, one of the questions, and what became of it."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np

import propagate
from propagate.io.begin import read_style
from propagate.io.garments import known_kinds
from propagate.io.options import ReadOptions
from propagate.io.pdf.pages import read_pages
from propagate.pattern.answers import Word
from propagate.report.asking_picture import drawn_question, write_picture
from propagate.report.draw import lead_picture
from propagate.report.units import MILLIMETRES
from propagate.suggesting.asking import Asking
from propagate.suggesting.blending import find_blendings
from propagate.suggesting.nest import measure_nest
from propagate.suggesting.nets import recognise_garments

__all__ = ["bought_blend", "bought_question", "bought_sheet"]

PRINT = Path(__file__).parent.parent / "patterns" / "trousers.pdf"
ANSWERS: tuple[Word, ...] = (*("yes",) * 7, "no", "yes", "no", "no", "yes")
OPENING = 4
SCALE = 0.1
NEAR_MM = 0.5
SMALLEST_MM = 4.9
CLOTHS = ("main fabric", "pocketing")
COLOURS = ("#0072b2", "#d55e00", "#009e73", "#7a4b9e")


def bought_sheet(folder: Path) -> None:
    """Draw the sheet as it was bought, each size in a colour."""
    (page,) = read_pages(PRINT).pages
    wide, tall = (SCALE * part for part in page.size)
    layers = list(dict.fromkeys(line.layer for line in page.lines if line.layer))
    rows = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.1f}mm" height="{tall:.1f}mm" '
        f'viewBox="0 0 {wide:.1f} {tall:.1f}" role="img">',
        "<title>The sheet of a bought pattern</title>",
        "<desc>Eleven pieces of trousers side by side, four sizes nested in each, with titles, "
        "grain lines and notches; the sizes and a test square at the foot.</desc>",
        f'<rect width="{wide:.1f}" height="{tall:.1f}" fill="#fff"/>',
    ]
    for line in page.lines:
        colour = COLOURS[layers.index(line.layer)] if line.layer else "#000"
        points = _thinned(np.asarray(line.chain.points))
        path = "L".join(f"{SCALE * x:.2f} {tall - SCALE * y:.2f}" for x, y in points)
        rows.append(f'<path d="M{path}" fill="none" stroke="{colour}" stroke-width="0.15"/>')
    for text in page.texts:
        # Cutting is said below the title, and narrow pieces have no room for words of this size.
        if text.height < SMALLEST_MM or text.text.startswith("cut") or text.text in CLOTHS:
            continue
        x, y = SCALE * text.at[0], tall - SCALE * text.at[1]
        if text.text.startswith("size"):  # letters of the picture are larger: below the sample
            x, y = x - SCALE * 33.0, y + 1.1
        elif text.text.endswith("cm"):
            x -= SCALE * 13.0
        rows.append(
            f'<text x="{x:.2f}" y="{y:.2f}" font-size="{1.7 if text.height > 5.5 else 1.3}" '
            f'font-family="sans-serif">{text.text}</text>'
        )
    drawn = "\n".join([*rows, "</svg>\n"])
    (folder / "bought-sheet.svg").write_text(drawn, encoding="utf-8", newline="\n")


def _thinned(points: np.ndarray) -> np.ndarray:
    import shapely

    return np.asarray(shapely.get_coordinates(shapely.LineString(points).simplify(NEAR_MM)))


@cache
def _begun() -> Asking:
    pattern, _ = read_style([PRINT], ReadOptions())
    return Asking(pattern, garments=recognise_garments(measure_nest(pattern), known_kinds()))


def bought_question(folder: Path) -> None:
    """Draw the question about the opening of the pocket."""
    asking = _begun()
    for word in ANSWERS[:OPENING]:
        asking = asking.answered(word)
    assert asking.question is not None
    text = write_picture(
        drawn_question(asking.joined, asking.question),
        "What is asked: the opening of a pocket",
        "Front and pocket facing side by side; line A along the slanted opening of the front, "
        "broken line B along the waist and the side of the facing.",
    )
    (folder / "bought-question.svg").write_text(text, encoding="utf-8", newline="\n")


def bought_blend(folder: Path) -> None:
    """Draw what the blend changed."""
    asking = _begun()
    for word in ANSWERS:
        asking = asking.answered(word)
    pattern = find_blendings(asking.joined)[0].put_on(asking.joined)
    result = propagate.blend(pattern, propagate.Blend({"waist": "42", "hip": "48"}))
    text = lead_picture(result, MILLIMETRES)
    assert text is not None
    (folder / "bought-blend.svg").write_text(text, encoding="utf-8", newline="\n")
