"""What sheets show beside the pieces, and marks as people draw them: judged by what was drawn."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from propagate.io.begin import read_style
from propagate.io.report import ReadingReport
from propagate.io.svg.sorting import size_named
from propagate.pattern.patternset import PatternSet

SIZES = {"S": (180.0, 240.0), "M": (190.0, 250.0), "L": (200.0, 260.0)}
LINE = 'fill="none" stroke="black" stroke-width="0.5"'


def panel(width: float, height: float) -> str:
    """A piece with a hollow side, by its lower left corner, y down."""
    return f"M 0 0 L {width} 0 Q {width - 25} {-height / 2} {width} {-height} L 0 {-height} Z"


def notches(width: float, height: float) -> dict[str, tuple[float, float]]:
    """Place of each notch on the outline, y down: the curve is half way at its middle."""
    return {
        "diamond": (width - 12.5, -height / 2),
        "triangle": (0.4 * width, -height),
        "wide T": (0.3 * width, 0.0),
    }


def size_group(size: str, bracket: str) -> str:
    width, height = SIZES[size]
    (dx, dy), (tx, ty), (x, y) = notches(width, height).values()
    marks = [
        f"M {dx - 3} {dy} L {dx} {dy - 4} L {dx + 3} {dy} L {dx} {dy + 4} L {dx - 3} {dy}",
        f"M {tx - 2.5} {ty} L {tx} {ty + 5} L {tx + 2.5} {ty} L {tx - 2.5} {ty}",
        f"M {x} {y} L {x} {y - 6}",
        f"M {x - 4} {y - 6} L {x + 4} {y - 6}",
    ]
    paths = "".join(f'<path d="{d}" {LINE}/>' for d in (panel(width, height), *marks))
    return f'<g id="size_{size}">{paths}{bracket if size == "S" else ""}</g>'


def drawing() -> str:
    bracket = "".join(
        f'<path d="{d}" {LINE}/>'
        for d in (
            "M 0 -60 L 15 -60 L 15 -180 L 0 -180",
            "M 4 -62 L 0 -60 L 4 -58",
            "M 4 -182 L 0 -180 L 4 -178",
        )
    )
    texts = [(30, -120, 8, "Centre back"), (30, -108, 5, "Cut 1 on fold"), (5, 90, 5, "5 cm")]
    texts += [(110, -150, 4, "Grainline")]  # and no title
    texts += [(405 + 20 * k, 50, 5, word) for k, word in enumerate("SML")]
    texts += [(405 + 20 * k, 65, 5, word) for k, word in enumerate(("84", "88", "92"))]
    texts += [(410, -180, 8, "Belt"), (410, -170, 5, "Cut 1")]
    small = "M 310 100 l 19 0 q -2.5 -12.5 0 -25 l -19 0 Z"  # the piece of size M, a tenth
    boxes = [
        "M 0 70 h 50 v 50 h -50 Z",
        "M 400 40 h 80 v 30 h -80 Z M 400 55 h 80",
        "M 300 60 h 90 v 60 h -90 Z",
        small,
        "M 340 70 h 40 v 4 h -40 Z",
        "M 400 -190 h 300 v 40 h -300 Z",
    ]
    once = "".join(f'<path d="{d}" {LINE}/>' for d in boxes)
    once += "".join(f'<text x="{x}" y="{y}" font-size="{h}">{t}</text>' for x, y, h, t in texts)
    once += f'<path d="M 100 -60 V -180" {LINE} id="grainline"/>'
    groups = "".join(size_group(size, bracket) for size in SIZES)
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="900mm" height="600mm" '
        f'viewBox="-50 -350 900 600">{groups}<g id="notes">{once}</g></svg>'
    )


def read(folder: Path) -> tuple[PatternSet, ReadingReport]:
    path = folder / "panel.svg"
    path.write_text(drawing(), encoding="utf-8")
    return read_style([path])


def test_squares_tables_and_layouts_are_no_pieces(tmp_path: Path) -> None:
    pattern, report = read(tmp_path)
    assert [pattern.info[name].title for name in pattern.pieces] == ["Centre back", "Belt"]
    said = " ".join(note.text for note in report.lines if note.kind == "ignored")
    assert "test square of 50.0 × 50.0 mm" in said
    assert "a box of 80 × 30 mm" in said
    assert "as in a cutting layout" in said


def test_a_box_with_one_text_or_none_is_a_piece_and_with_two_a_note(tmp_path: Path) -> None:
    """A strip is drawn as a box with its name; what has lines of text is a table or a note."""
    found = []
    for words in ((), ("Strap",), ("See page 2", "before you sew")):
        texts = "".join(
            f'<text x="410" y="{-245 + 10 * k}" font-size="5">{word}</text>'
            for k, word in enumerate(words)
        )
        box = f'<path d="M 400 -260 h 150 v 40 h -150 Z" {LINE}/>{texts}'
        path = tmp_path / f"panel_{len(words)}.svg"
        path.write_text(drawing().replace("</g></svg>", f"{box}</g></svg>"), encoding="utf-8")
        found.append(len(read_style([path])[0].pieces))
    assert found == [3, 3, 2]


def test_small_closed_figures_on_an_outline_are_its_notches(tmp_path: Path) -> None:
    pattern, _ = read(tmp_path)
    piece = next(iter(pattern.pieces.values()))
    for size, (width, height) in SIZES.items():
        drawn = piece.at(size)
        origin = drawn.outline.min(axis=0)
        found = np.array([mark.point for mark in drawn.landmarks]) - origin
        expected = np.array(list(notches(width, height).values())) * (1, -1)
        assert len(found) == len(expected)
        for place in expected:
            assert np.hypot(*(found - place).T).min() <= 0.05, (size, place)
        assert not drawn.lines


def test_a_fold_that_one_size_shows_is_that_of_all(tmp_path: Path) -> None:
    pattern, report = read(tmp_path)
    assert not any("not on which edge" in note.text for note in report.lines)
    name, piece = next(iter(pattern.pieces.items()))
    fold = pattern.info[name].fold
    assert fold is not None
    for size in SIZES:
        drawn = piece.at(size)
        assert np.allclose(drawn.edge(fold).points[:, 0], drawn.outline[:, 0].min())


def test_words_that_begin_as_a_word_for_size_are_none() -> None:
    """Layers of these names are on most sheets: common practice, no source."""
    for name in ("Grain", "Grainline", "grid", "Taillenband", "Grading", "grey"):
        assert size_named(name) is None, name
    for name, size in (("gr38", "38"), ("Gr. 38", "38"), ("size-tall", "tall"), ("sizeXL", "XL")):
        assert size_named(name) == size
