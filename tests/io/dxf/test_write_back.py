"""What no edit touched comes back as it was, entity by entity."""

from __future__ import annotations

import itertools
from collections import Counter
from dataclasses import replace
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from ezdxf.document import Drawing
from ezdxf.lldxf.tagwriter import TagCollector

from propagate.io.dxf import ReadOptions, WriteOptions, read, write
from propagate.io.dxf.splice import _line_starts
from propagate.io.folder import load, save
from propagate.io.origin import source_of
from propagate.pattern.model import Piece, frozen_points
from propagate.pattern.patternset import PatternSet, Relations
from tests.builders import pocket_set, tiny_set
from tests.io.dxf.hand import (
    METRIC,
    block,
    insert,
    light,
    line,
    piece,
    point,
    points,
    polyline,
    style,
    text,
)
from tests.io.dxf.hand import save as save_text
from tests.io.dxf.test_rules import RULES, front

WARM = WriteOptions(replace=True)


def entities(document: Drawing) -> dict[str, Counter[tuple[object, ...]]]:
    """Every entity of every block as its tags, without handles and owners."""
    found = {}
    for layout in [*document.blocks, document.modelspace()]:
        found[layout.name] = Counter(
            tuple(
                (tag.code, tag.value if not hasattr(tag.value, "xyz") else tag.value.xyz)
                for tag in TagCollector.dxftags(entity)
                if tag.code not in (5, 330, 360)
            )
            for entity in layout
        )
    return found


def strange(folder: Path) -> Path:
    """A file with much that is not understood, light polylines, CRLF and odd blanks."""
    extra = (
        "0\nCIRCLE\n8\n8\n10\n50\n20\n50\n40\n9\n",
        line("9", (0, 0), (9, 9)),
        line("fancy", (1, 1), (2, 2)),
        text("15", (9, 9), "keep me"),
        text("1", (0, 0), "Category: top"),
        point("81", (150, 0)),
    )
    outline = ((0, 0), (300, 0), (300, 500), (0, 500))
    blocks = [
        piece(*extra, boundary=light("1", outline) + points("2", outline)),
        piece(name="back", boundary=polyline("1", outline) + points("2", outline)),
        block("$LAYOUT", line("0", (0, 0), (1, 1))),
    ]
    content = style(
        blocks, METRIC, text("1", (0, 0), "Author: EXAMPLE"),
        insert("front-38", (5, 5), _50=30), insert("back-38"),
    )  # fmt: skip
    return save_text(folder / "in.dxf", content.replace("\n", "\r\n"))


def moved_top(pattern: PatternSet, name: str, by: float = 2.0) -> PatternSet:
    """Move the topmost points of a piece up in every size: an edit."""
    nest = {}
    for size, sized in pattern.piece(name).nest.items():
        top = sized.outline[:, 1].max() - 1e-6
        edges = tuple(
            replace(
                edge,
                points=frozen_points(edge.points + np.outer(edge.points[:, 1] >= top, (0.0, by))),
            )
            for edge in sized.edges
        )
        nest[size] = replace(sized, edges=edges)
    return replace(pattern, pieces={**pattern.pieces, name: Piece(name, nest)})


@pytest.mark.parametrize("release", ["", "R12", "R2000", "R2010"])
def test_a_style_without_an_edit_comes_back_entity_by_entity(release: str, tmp_path: Path) -> None:
    path = strange(tmp_path)
    if release:
        document = ezdxf.readfile(path)
        document.dxfversion = release
        front_block = document.blocks["front-38"]
        for entity in front_block.query("LWPOLYLINE"):
            corners = list(entity.get_points("xy"))
            front_block.delete_entity(entity)
            draw = front_block.add_polyline2d if release == "R12" else front_block.add_lwpolyline
            draw(corners, close=True, dxfattribs={"layer": "1"})
        document.saveas(path)
    pattern, _ = read(path)
    report = write(pattern, tmp_path / "out.dxf")
    assert report.as_read == ("front", "back")
    before, after = ezdxf.readfile(path), ezdxf.readfile(tmp_path / "out.dxf")
    assert entities(before) == entities(after)
    assert sum(entities(after)["front-38"].values()) == len(before.blocks["front-38"])
    assert path.read_bytes() == (tmp_path / "out.dxf").read_bytes()


def test_rules_come_back_with_their_drawing(tmp_path: Path) -> None:
    path = save_text(tmp_path / "in.dxf", style([front()], METRIC, insert("front-38")))
    save_text(tmp_path / "in.rul", RULES)
    pattern, _ = read(path)
    report = write(pattern, tmp_path / "out.dxf")
    assert report.files == ("out.dxf", "out.rul")
    assert (tmp_path / "out.rul").read_bytes() == (tmp_path / "in.rul").read_bytes()
    assert (tmp_path / "out.dxf").read_bytes() == path.read_bytes()


def test_only_the_changed_piece_is_drawn_anew(tmp_path: Path) -> None:
    path = strange(tmp_path)
    pattern, _ = read(path)
    changed = moved_top(pattern, "front")
    report = write(changed, tmp_path / "out.dxf")
    assert (report.as_read, report.nested) == (("back",), ("front",))
    before, after = ezdxf.readfile(path), ezdxf.readfile(tmp_path / "out.dxf")
    old, new = entities(before), entities(after)
    assert old["back-38"] == new["back-38"]
    assert old["$LAYOUT"] == new["$LAYOUT"]
    assert old["*Model_Space"] == new["*Model_Space"]  # the same insert, moved and turned
    kept = {e.dxftype() for e in after.blocks["front-38"]} & {"CIRCLE"}
    assert kept == {"CIRCLE"}
    texts = {e.dxf.text for e in after.blocks["front-38"].query("TEXT")}
    assert {"keep me", "Category: top", "Piece Name: front", "Size: 38"} <= texts
    layers = {e.dxf.layer for e in after.blocks["front-38"]}
    assert {"9", "fancy", "14"} <= layers
    again, _ = read(tmp_path / "out.dxf")
    a, b = changed.sized("front", "38"), again.sized("front", "38")
    assert sorted(np.round(a.outline, 3).tolist()) == sorted(np.round(b.outline, 3).tolist())
    assert [mark.name for mark in b.landmarks] == ["castle_notch_1"]


@pytest.mark.parametrize("release", ["R12", "R2000", "R2018"])
def test_a_changed_piece_fits_the_release_of_its_file(release: str, tmp_path: Path) -> None:
    write(tiny_set(), tmp_path / "in.dxf", WriteOptions(kind="nested"))
    document = ezdxf.readfile(tmp_path / "in.dxf")
    document.dxfversion = release
    document.saveas(tmp_path / "in.dxf")
    pattern, _ = read(tmp_path / "in.dxf")
    changed = moved_top(pattern, "back")
    report = write(changed, tmp_path / "out.dxf")
    assert report.nested == ("back",) and len(report.as_read) == len(pattern.pieces) - 1
    after = ezdxf.readfile(tmp_path / "out.dxf")
    assert after.dxfversion == document.dxfversion
    audit = after.audit()
    assert not audit.errors and not audit.fixes
    again, reading = read(tmp_path / "out.dxf")
    assert not reading.of("warning")
    for name in pattern.pieces:
        for size in pattern.sizes:
            a, b = changed.sized(name, size), again.sized(name, size)
            assert np.abs(a.outline - b.outline).max() <= 0.0005 + 1e-9
            assert [m.name for m in a.landmarks] == [m.name for m in b.landmarks]


def test_sizes_that_did_not_change_keep_their_blocks(tmp_path: Path) -> None:
    write(pocket_set(), tmp_path / "in.dxf", WriteOptions(kind="nested", validation="none"))
    pattern, _ = read(tmp_path / "in.dxf")
    changed = moved_top(pattern, "back")
    nest = {**pattern.piece("back").nest, "38": changed.sized("back", "38")}
    changed = replace(pattern, pieces={**pattern.pieces, "back": Piece("back", nest)})
    write(changed, tmp_path / "out.dxf")
    old = entities(ezdxf.readfile(tmp_path / "in.dxf"))
    new = entities(ezdxf.readfile(tmp_path / "out.dxf"))
    assert {name for name in old if old[name] != new[name]} == {"back-38"}


@pytest.mark.parametrize("deltas", ["from sample", "stepwise"])
def test_a_changed_piece_gets_new_rules_beside_the_old(deltas: str, tmp_path: Path) -> None:
    path = save_text(
        tmp_path / "in.dxf",
        style(
            [front(), front().replace("front", "back")], METRIC,
            insert("front-38"), insert("back-38"),
        ),
    )  # fmt: skip
    save_text(tmp_path / "in.rul", RULES)
    options = ReadOptions(dxf={"deltas": deltas})
    pattern, _ = read(path, options)
    changed = moved_top(pattern, "front")
    report = write(changed, tmp_path / "out.dxf")
    assert (report.as_read, report.ruled) == (("back",), ("front",))
    assert (tmp_path / "out.rul").read_text().startswith(RULES[: RULES.index("END\n")])
    old = entities(ezdxf.readfile(path))
    new = entities(ezdxf.readfile(tmp_path / "out.dxf"))
    assert old["back-38"] == new["back-38"] and old["front-38"] != new["front-38"]
    again, _ = read(tmp_path / "out.dxf", options)
    for size in pattern.sizes:
        a, b = changed.sized("front", size).outline, again.sized("front", size).outline
        shift = int(np.argmin(np.hypot(*(b - a[0]).T)))
        assert np.abs(np.roll(b, -shift, axis=0) - a).max() <= 0.01


def test_a_piece_taken_out_of_the_set_leaves_the_drawing(tmp_path: Path) -> None:
    pattern, _ = read(strange(tmp_path))
    fewer = replace(pattern, pieces={"back": pattern.pieces["back"]})
    report = write(fewer, tmp_path / "out.dxf")
    assert any("no longer has it" in note.text for note in report.lines)
    after = ezdxf.readfile(tmp_path / "out.dxf")
    assert "front-38" not in after.blocks
    assert [i.dxf.name for i in after.modelspace().query("INSERT")] == ["back-38"]


def test_the_drawing_is_found_again_for_a_set_that_was_saved(tmp_path: Path) -> None:
    write(pocket_set(), tmp_path / "in.dxf", WriteOptions(kind="nested"))
    pattern, _ = read(tmp_path / "in.dxf")
    save(replace(pattern, relations=Relations()), tmp_path / "set")
    loaded = load(tmp_path / "set")
    assert source_of(loaded) is None
    back = replace(moved_top(loaded, "back"), origin=pattern.origin)
    report = write(back, tmp_path / "out.dxf")
    assert report.nested == ("back",)
    assert set(report.as_read) == set(pattern.pieces) - {"back"}


def test_names_may_change_without_touching_the_drawing(tmp_path: Path) -> None:
    path = strange(tmp_path)
    pattern, _ = read(path, name_edges=lambda _n, _p: {"edge_1": "hem"})
    write(pattern, tmp_path / "out.dxf")
    assert (tmp_path / "out.dxf").read_bytes() == path.read_bytes()


def test_a_drawing_is_parsed_once_to_be_written_back_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One piece of a hundred took as long as reading the file again, and as much memory."""
    pattern, _ = read(strange(tmp_path))
    monkeypatch.setattr("propagate.io.dxf.damaged.parse_file", None)
    report = write(moved_top(pattern, "front"), tmp_path / "out.dxf")
    assert (report.as_read, report.nested) == (("back",), ("front",))


@pytest.mark.parametrize("data", [b"a\r\nb\rc\nd", b"a\n\n\r\rb\n", b"\r\n\n\r", b"0"])
def test_lines_begin_where_other_readers_begin_them(data: bytes) -> None:
    starts = _line_starts(data)
    lines = [data[low:high] for low, high in itertools.pairwise(starts)]
    assert lines == data.splitlines(keepends=True)


def test_an_existing_file_is_not_overwritten_unasked(tmp_path: Path) -> None:
    from propagate.errors import OutputError

    path = strange(tmp_path)
    pattern, _ = read(path)
    before = path.read_bytes()
    with pytest.raises(OutputError, match=r"in\.dxf"):
        write(pattern, path)
    assert path.read_bytes() == before
    with pytest.raises(OutputError, match="may be somebody's work"):
        write(pattern, path, WARM)
    assert path.read_bytes() == before
