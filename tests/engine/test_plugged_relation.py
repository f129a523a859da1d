"""A relation that exists only here: it goes through file, schema, checks, graph, work and record.

An elastic lies in a casing and is shorter than it by so many millimetres.
"""

from __future__ import annotations

import importlib.util
import json
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from importlib.resources import files
from io import BytesIO
from pathlib import Path

import jsonschema
import numpy as np
import pytest

import propagate
from propagate.engine.edits.blend import Blend
from propagate.engine.graph import edges_read, joined_edges, order_of_work, relation_graph
from propagate.engine.kinds import WORK, Work, one_by_one
from propagate.engine.record import ChangeKind
from propagate.engine.review.taken import free_spans
from propagate.engine.revise import revise
from propagate.engine.rows import Check
from propagate.engine.run import run
from propagate.engine.walk import walk
from propagate.engine.walk_checks import Walked, verdict_of
from propagate.io.reading import UnreadableFile
from propagate.io.set_toml import parse_set, render_set
from propagate.io.told_schema import with_relations
from propagate.pattern.kinds import KINDS, Kind
from propagate.pattern.model import Edge, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import PieceInfo, Run, parse_run
from propagate.pattern.spans import run_length
from propagate.pattern.told import told
from propagate.pattern.validate import find_problems
from propagate.report.page import report_page
from propagate.report.pdf.paper import paper_of
from propagate.report.set_plain import set_plain
from propagate.report.set_text import set_lines
from propagate.report.walk_text import walk_lines
from propagate.report.worksheet.derive import work_sheet
from propagate.report.worksheet.write import write_sheet
from tests.builders import tiny_set
from tests.engine.test_corners_that_follow import _piece


@dataclass(frozen=True)
class Elastic:
    """An elastic in a casing."""

    name: str = field(metadata=told("name", "what the elastic is called"))
    casing: Run = field(metadata=told("run", "the run that it lies in"))
    strip: str = field(metadata=told("text", "the piece, a strip along its edge `long`"))
    shorter: float = field(default=0.0, metadata=told("length", "how much shorter it is cut"))
    sewn_in: bool = field(default=False, metadata=told("flag", "sewn in, not drawn through"))


def links(_: PatternSet, one: Elastic) -> tuple[list[str], list[str]]:
    return [s.key for s in one.casing], [f"{one.strip}.{e}" for e in ("long", "r", "top", "l")]


def judged(_: PatternSet, one: Elastic) -> list[str]:
    return sorted({*(s.key for s in one.casing), f"{one.strip}.long"})


def cut_to_length(state, one: Elastic, cause: str) -> bool:
    old = state.lookup(one.strip)
    wanted = run_length(state.lookup, one.casing) - one.shorter
    if abs(old.edge("long").length - wanted) < 1e-9:
        return False
    times = np.array([wanted / old.edge("long").length, 1.0])
    edges = tuple(Edge(e.name, e.points * times, e.turns) for e in old.edges)
    state.pieces[one.strip] = replace(old, edges=edges)
    state.change(f"{one.strip}.long", ChangeKind.MATCHED, f"cut to {wanted:.1f} mm", cause)
    return True


def measure(on: Walked, one: Elastic) -> list[Check]:
    casing = run_length(on.piece, one.casing)
    strip = on.piece(one.strip).edge("long").length
    off = casing - strip - one.shorter
    what = f"{one.strip}.long | {one.casing[0]}"
    said = verdict_of(off, 1.5)
    return [Check("elastic", one.name, what, strip, casing, one.shorter, off, 1.5, said)]


@pytest.fixture(autouse=True)
def _plugged(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(KINDS, "elastic", Kind("elastic", Elastic, judged=judged, links=links))
    work = Work(measure, one_by_one(cut_to_length), lambda _, one: [one.strip])
    monkeypatch.setitem(WORK, "elastic", work)


def rectangle(names: Sequence[str], wide: float, high: float) -> SizedPiece:
    corners = np.array([(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high), (0.0, 0.0)])
    return _piece(*((name, corners[i : i + 2]) for i, name in enumerate(names)))


SKIRT, STRIP = ("hem", "side", "waist", "centre"), ("long", "r", "top", "l")
LINES = """[[elastic]]
name = "waist"
casing = ["skirt.waist"]
strip = "elastic"
shorter = 60"""


def the_set(casing: str = "skirt.waist") -> PatternSet:
    elastic = Elastic("waist", parse_run(casing), "elastic", 60.0)
    pieces: Mapping[str, SizedPiece] = {
        "skirt": rectangle(SKIRT, 300.0, 500.0),
        "elastic": rectangle(STRIP, 240.0, 30.0),
    }
    return PatternSet(
        name="skirt",
        sizes=("M",),
        base="M",
        lay_on="hip",
        pieces={name: Piece(name, {"M": piece}) for name, piece in pieces.items()},
        info={name: PieceInfo(name) for name in pieces},
        relations=Relations(others={"elastic": {"waist": elastic}}),
    )


def test_its_file_is_written_and_read() -> None:
    pattern = the_set()
    text = render_set(pattern)
    assert text.endswith(f"\n\n{LINES}\n")
    assert parse_set(text, "set.toml").relations == pattern.relations
    with pytest.raises(UnreadableFile, match=r"elastic 'waist': unknown key 'short'.*'shorter'"):
        parse_set(text.replace("shorter", "short"), "set.toml")
    with pytest.raises(UnreadableFile, match="elastic 'waist': 'casing' is missing"):
        parse_set(text.replace('casing = ["skirt.waist"]\n', ""), "set.toml")


def test_the_schema_and_the_tables_of_the_page_know_it() -> None:
    place = files("propagate.io").joinpath("schema", "set.schema.json")
    schema = with_relations(json.loads(place.read_text("utf-8")))
    check = jsonschema.Draft202012Validator(schema)
    text = render_set(the_set())
    check.validate(tomllib.loads(text))
    for old, new in (("shorter = 60", "shorter = -60"), ('"skirt.waist"', '"skirt waist"')):
        assert list(check.iter_errors(tomllib.loads(text.replace(old, new))))
    page = Path(__file__).parents[2] / "docs" / "reference.py"
    spec = importlib.util.spec_from_file_location("reference", page)
    assert spec is not None and spec.loader is not None
    reference = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(reference)
    assert "| `shorter` | how much shorter it is cut | length | 0 |" in reference.tables()


def test_names_in_its_runs_are_checked() -> None:
    assert find_problems(the_set()) == ()
    (line,) = find_problems(the_set("skirt.waste"))
    assert "elastic 'waist', casing" in line and "'waist'" in line


def test_it_has_its_place_in_the_graph() -> None:
    pattern, node = the_set(), ("elastic", "waist")
    assert order_of_work(pattern, ["skirt.waist"]) == [node]
    assert order_of_work(pattern, ["skirt.hem"]) == []
    assert edges_read(pattern, node) == ["elastic.long", "skirt.waist"]
    assert set(relation_graph(pattern).successors(node)) == {f"elastic.{e}" for e in STRIP}
    assert "skirt.waist" in joined_edges(pattern)
    assert "skirt.hem" not in joined_edges(pattern)


def test_a_change_is_carried_walked_and_recorded() -> None:
    pattern = the_set()
    assert walk(pattern).of("elastic")[0].difference == 0.0
    wider = Piece("skirt", {"M": rectangle(SKIRT, 320.0, 500.0)})
    broken = replace(pattern, pieces={**pattern.pieces, "skirt": wider})
    assert walk(broken).of("elastic")[0].difference == 20.0 and not walk(broken).sews
    result = revise(pattern, {"skirt": wider})
    assert result.pattern.sized("elastic", "M").edge("long").length == pytest.approx(260.0)
    (check,) = walk(result.pattern).of("elastic")
    assert check.verdict == "sews" and abs(check.difference) < 1e-9
    record = result.records["M"]
    assert [row.name for row in record.seams if row.kind == "elastic"] == ["waist"]
    assert "elastic" in [piece.piece for piece in record.pieces]
    assert any(c.id == "elastic.long" and "260.0" in c.what for c in record.changes)


def test_it_is_left_alone_where_nothing_reaches_it() -> None:
    longer = Piece("skirt", {"M": rectangle(SKIRT, 300.0, 520.0)})
    result = revise(the_set(), {"skirt": longer})
    assert result.pattern.sized("elastic", "M") == the_set().sized("elastic", "M")


def test_it_is_saved_told_drawn_and_written_down(tmp_path: Path) -> None:
    """On a skirt with a blend: the elastic in the back's waist follows the waist of 36."""
    skirt = tiny_set()
    waists = {size: skirt.sized("back", size).edge("waist").length for size in skirt.sizes}
    nest = {size: rectangle(STRIP, mm - 60.0, 30.0) for size, mm in waists.items()}
    elastic = Elastic("waist", parse_run("back.waist"), "elastic", 60.0)
    pattern = replace(
        skirt,
        pieces={**skirt.pieces, "elastic": Piece("elastic", nest)},
        info={**skirt.info, "elastic": PieceInfo("Elastic")},
        relations=replace(skirt.relations, others={"elastic": {"waist": elastic}}),
    )
    result = run(pattern, Blend({"waist": "36", "hip": "40"}))
    size = result.pattern.base
    new = result.pattern.sized("back", size).edge("waist").length
    assert result.pattern.sized("elastic", size).edge("long").length == pytest.approx(new - 60.0)
    assert abs(new - waists["40"]) > 1.0 and result.sews
    propagate.save(result, tmp_path / "out")
    again = propagate.load_result(tmp_path / "out")
    assert again.pattern.relations.others == pattern.relations.others and again.sews
    assert [row.name for row in again.record.seams if row.kind == "elastic"] == ["waist"]
    record = json.loads((tmp_path / "out" / "record.json").read_text("utf-8"))
    place = files("propagate.io").joinpath("schema", "record.schema.json")
    jsonschema.validate(record, json.loads(place.read_text("utf-8")))
    lines = walk_lines(walk(again.pattern))
    assert any(line.lower().startswith("elastic") for line in lines)
    shown = set_lines(again.pattern)
    assert any("casing back.waist; strip elastic; shorter 60.0 mm" in line for line in shown)
    said = {"name": "waist", "casing": ["back.waist"], "strip": "elastic", "shorter": 60}
    assert set_plain(again.pattern)["elastic"] == [said]
    assert "back.waist" not in {str(s) for s in free_spans(again.pattern).get("back", ())}
    assert "front.waist" in {str(s) for s in free_spans(again.pattern)["front"]}
    assert propagate.draw(again, "elastic").startswith("<svg")
    assert "long of elastic | waist of back" in report_page(again)
    sheet = BytesIO()
    write_sheet(again, work_sheet(again), sheet, paper_of("a4"))
    assert sheet.getvalue().startswith(b"%PDF")
