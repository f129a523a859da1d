"""What a set says of welt openings: read, written, checked, shown, saved and printed."""

from __future__ import annotations

import json
import tomllib
from dataclasses import replace
from importlib.resources import files
from io import BytesIO
from pathlib import Path

import jsonschema
import numpy as np
import pytest

import propagate
from propagate import Amount, Blend, ChangeOpening
from propagate.io.reading import UnreadableFile
from propagate.io.set_toml import parse_set, render_set
from propagate.pattern.model import InternalLine, Piece
from propagate.pattern.validate import find_problems
from propagate.pattern.welts import WeltPart
from propagate.report.page import report_page
from propagate.report.pdf.paper import paper_of
from propagate.report.set_text import set_lines
from propagate.report.walk_text import walk_lines, walks_lines
from propagate.report.worksheet.derive import work_sheet
from propagate.report.worksheet.write import write_sheet
from tests.builders import SIZES
from tests.welts.plain import plain_set
from tests.welts.skirt import OPENING, welt_skirt


def test_its_file_is_written_read_and_valid() -> None:
    schema = files("propagate.io").joinpath("schema", "set.schema.json")
    validator = jsonschema.Draft202012Validator(json.loads(schema.read_text("utf-8")))
    for pattern in (welt_skirt(), welt_skirt(replace(OPENING, length=Amount(mm=110.0)))):
        text = render_set(pattern)
        assert parse_set(text, "set.toml").relations == pattern.relations
        validator.validate(tomllib.loads(text))
    with pytest.raises(UnreadableFile, match="'line' is missing"):
        parse_set(render_set(welt_skirt()).replace('line = "welt"\n', ""), "set.toml")
    for bad in ("nan", "inf", '"long"', "[1]"):
        text = render_set(welt_skirt(replace(OPENING, length=Amount(mm=110.0))))
        with pytest.raises(UnreadableFile, match="length"):
            parse_set(text.replace("length = 110", f"length = {bad}"), "set.toml")


@pytest.mark.parametrize(
    ("said", "text"),
    [
        ({"on": "bach"}, "'bach'.*did you mean 'back'"),
        ({"line": "weld"}, "no line 'weld' on 'back' in size '36', expected one of vent, welt"),
        ({"marks": ("by_sid",)}, "no line or drill mark 'by_sid'"),
        ({"anchors": ("waste", "side")}, "'waste'.*'waist'"),
        ({"anchors": ("waist", "side", "hem")}, "expected one, or two that differ"),
        ({"anchors": ("waist", "waist")}, "expected one, or two that differ"),
        ({"anchors": ("hip",)}, "does not say where along it"),
        ({"length": Amount(sizes=(("36", 104.0),))}, "found none for size '38', expected one"),
        ({"length": Amount(mm=-3.0)}, "found -3 mm, expected more than 0"),
        ({"length": Amount(mm=float("nan"))}, "found nan mm, expected more than 0"),
        ({"length": Amount(share=0.5)}, "found a share, expected a length"),
        ({"length": Amount(sizes=(("36", 1.0), ("37", 1.0)))}, "'37'"),
        ({"parts": (WeltPart("welt", "lon"),)}, "'lon'.*'long'"),
        ({"parts": (WeltPart("back", "hem"),)}, "found the main piece itself"),
        ({"parts": (WeltPart("bag", "top", "mouth_left", "mouth_left"),)}, "without length"),
    ],
)
def test_what_is_wrong_is_told(said: dict[str, object], text: str) -> None:
    assert find_problems(welt_skirt()) == ()
    found = find_problems(welt_skirt(replace(OPENING, **said)))  # type: ignore[arg-type]
    import re

    assert any("welt opening 'back_pocket'" in x and re.search(text, x) for x in found), found


def test_an_opening_longer_than_its_piece_does_not_sew_and_says_so() -> None:
    pattern = plain_set()
    piece = pattern.sized("front", "M")
    far = InternalLine("welt", piece.lines[0].points * [3.0, 1.0])
    wide = replace(piece, lines=(far,))
    drawn = replace(pattern, pieces={**pattern.pieces, "front": Piece("front", {"M": wide})})
    walk = propagate.walk(drawn)
    (room,) = [c for c in walk.of("welt_opening") if c.part == "room"]
    assert room.verdict == "does not sew" and room.second < 0.0 and not walk.sews


def test_a_line_that_is_not_a_number_is_an_error_of_the_piece() -> None:
    pattern = plain_set()
    piece = pattern.sized("front", "M")
    lost = InternalLine("welt", np.array([[np.nan, 0.0], [1.0, 1.0]]))
    broken = replace(piece, lines=(lost,))
    drawn = replace(pattern, pieces={**pattern.pieces, "front": Piece("front", {"M": broken})})
    assert any("welt" in line for line in find_problems(drawn))


def test_walk_and_show_say_it_in_words() -> None:
    text = "\n".join(walk_lines(propagate.walk(welt_skirt())))
    assert "Welt openings" in text and "back_pocket facing" in text and "back_pocket room" in text
    text = "\n".join(walks_lines([propagate.walk(welt_skirt(), size) for size in SIZES]))
    assert "back_pocket bag" in text
    shown = " ".join(" ".join(set_lines(welt_skirt())).split())
    assert "back_pocket the line 'welt' of back" in shown
    assert "measured from waist and side" in shown
    assert "welt.long" in shown and "facing.long, 15.0 mm beyond at each end" in shown


def test_the_sewn_edges_are_not_told_as_sewn_to_nothing() -> None:
    text = "\n".join(set_lines(welt_skirt()))
    free = text[text.lower().index("sewn to nothing") :] if "sewn to nothing" in text else ""
    assert "welt.long" not in free and "facing.long" not in free


@pytest.mark.parametrize(
    "edit",
    [
        Blend({"waist": "36", "hip": "40"}),
        ChangeOpening(opening="back_pocket", to=Amount(mm=118.0)),
    ],
)
def test_a_result_is_saved_drawn_told_and_printed(edit: propagate.Result, tmp_path: Path) -> None:
    result = propagate.run(welt_skirt(), edit)  # type: ignore[arg-type]
    propagate.save(result, tmp_path / "out")
    again = propagate.load_result(tmp_path / "out")
    assert again.sews
    assert again.pattern.relations.welt_openings == result.pattern.relations.welt_openings
    assert [r.name for r in again.record.seams if r.kind == "welt_opening"]
    record = json.loads((tmp_path / "out" / "record.json").read_text("utf-8"))
    schema = files("propagate.io").joinpath("schema", "record.schema.json")
    jsonschema.validate(record, json.loads(schema.read_text("utf-8")))
    page = report_page(again)
    assert "back pocket" in page
    assert propagate.draw(again, "back").startswith("<svg")
    sheet = BytesIO()
    write_sheet(again, work_sheet(again), sheet, paper_of("a4"))
    assert sheet.getvalue().startswith(b"%PDF")


def test_order_of_pieces_edges_and_relations_does_not_matter() -> None:
    plain, other = welt_skirt(), welt_skirt()
    other = replace(
        other,
        pieces={name: other.pieces[name] for name in reversed(other.pieces)},
        info={name: other.info[name] for name in reversed(other.info)},
    )
    edit = propagate.Raise(edge="back.waist", by=Amount(mm=7.0))
    one, two = (propagate.run(p, edit).pattern for p in (plain, other))
    for name in one.pieces:
        assert one.sized(name, "38") == two.sized(name, "38")
