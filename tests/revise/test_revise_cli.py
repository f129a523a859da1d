"""``propagate revise``: drawings that cannot be used, what is written, what can be asked of it."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

import propagate
from propagate.io.convert import write_style
from propagate.io.geometry_json import dump_piece
from propagate.pattern.model import Edge, Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from tests.cli.conftest import plain, run
from tests.io.test_schema import schema, validator
from tests.revise.test_revise import let_out
from tests.shared import demo, demo_in_few

TROUSERS = str(propagate.demo_path("slant_trouser"))


@pytest.fixture(scope="module")
def trousers() -> PatternSet:
    return demo("slant_trouser")


def style_of(pattern: PatternSet, pieces: Mapping[str, SizedPiece], size: str) -> PatternSet:
    """A style of some pieces in one size, without relations: as a colleague sends it."""
    return replace(
        pattern,
        sizes=(size,),
        base=size,
        pieces={name: Piece(name, {size: piece}) for name, piece in pieces.items()},
        info={name: pattern.info.get(name, pattern.info["front"]) for name in pieces},
        relations=Relations(),
        chart={},
    )


def as_dxf(
    pattern: PatternSet, pieces: Mapping[str, SizedPiece], file: Path, size: str = "42"
) -> str:
    write_style(style_of(pattern, pieces, size), file, "dxf")
    return str(file)


def stated(file: str, tolerance: str) -> str:
    """The same DXF with a curve tolerance in its system text (the style's author line)."""
    text = Path(file).read_text(encoding="latin-1")
    assert text.count("Units: METRIC") == 1
    entity = re.search(r"\n  0\nTEXT\n(?:(?!\n  0\n).)*?Units: METRIC\n", text, re.DOTALL)
    assert entity is not None
    entity_text = entity[0].rpartition("\n  0\nTEXT\n")
    again = "\n  0\nTEXT\n" + entity_text[2].replace(
        "Units: METRIC", f"Curve Tolerance: {tolerance}"
    )
    again = re.sub(r"\n  5\n[0-9A-F]+\n", "\n  5\nFFFE\n", again)
    text = text.replace(entity[0], entity[0].rstrip("\n") + again)
    Path(file).write_text(text, encoding="latin-1")
    return file


# ------------------------------------------------------------------------ what cannot be used


def refused(tmp_path: Path, *words: str) -> str:
    """Run a revision that must end with 2, with one message and nothing written."""
    before = sorted(tmp_path.rglob("*"))
    done = run("revise", TROUSERS, "-o", str(tmp_path / "out"), *words)
    assert done.exit_code == 2, done.output
    assert "Traceback" not in done.output and done.stderr.startswith("propagate: ")
    assert sorted(tmp_path.rglob("*")) == before
    return str(done.stderr)


def test_a_size_that_the_set_does_not_have(trousers: PatternSet, tmp_path: Path) -> None:
    file = as_dxf(trousers, {"front": trousers.sized("front", "42")}, tmp_path / "a.dxf", "43")
    said = refused(tmp_path, "--from", file)
    assert "no size '43' in revised piece 'front'" in said


def test_a_drawing_that_tells_no_size_is_of_the_base_size(
    trousers: PatternSet, tmp_path: Path
) -> None:
    lone = style_of(trousers, {"front": trousers.sized("front", trousers.base)}, trousers.base)
    write_style(lone, tmp_path / "out.svg", "svg")
    text = (tmp_path / "out.svg").read_text()
    text = text.replace(f'<g id="size-{trousers.base}" data-size="{trousers.base}">', "<g>")
    (tmp_path / "new front.svg").write_text(text.replace(f"size-{trousers.base}.", ""))
    words = ("revise", TROUSERS, "--from", str(tmp_path / "new front.svg"), "--json")
    found = plain(run(*words))
    assert found["changed"] is False
    said = [line["text"] for line in found["reading"]["lines"] if line.get("option")]
    assert f"taken as '{trousers.base}', the set's base size" in " ".join(said)
    assert not any("middle" in line for line in said)
    # With --sizes it is the size that was told.
    assert plain(run(*words, "--sizes", trousers.base))["changed"] is False
    assert "so is the base size" in run(*words[:-1], "--sizes", trousers.sizes[0]).output


def test_a_piece_that_is_not_there(trousers: PatternSet, tmp_path: Path) -> None:
    file = as_dxf(trousers, {"front": trousers.sized("front", "42")}, tmp_path / "a.dxf")
    assert "front" in refused(tmp_path, "--from", file, "--piece", "back")


def test_another_garments_file(trousers: PatternSet, tmp_path: Path) -> None:
    skirt = demo("scoop_skirt")
    sized = skirt.sized("skirt_front", "M")
    file = as_dxf(trousers, {"blouse": sized}, tmp_path / "a.dxf")
    assert "none of the pieces (blouse)" in refused(tmp_path, "--from", file)
    # The same name and another shape: nothing agrees, and the corners are counted.
    file = as_dxf(trousers, {"front": sized}, tmp_path / "b.dxf")
    assert "piece 'front', size '42'" in refused(tmp_path, "--from", file)


def test_corners_that_came_and_went_are_placed(trousers: PatternSet, tmp_path: Path) -> None:
    front = trousers.sized("front", "42")
    hem = front.edge("hem")
    at = hem.points[0] * 0.75 + hem.points[-1] * 0.25
    halves = (
        Edge("hem", np.array([hem.points[0], at])),
        Edge("slit", np.array([at, hem.points[-1]])),
    )
    came = tuple(part for e in front.edges for part in (halves if e.name == "hem" else (e,)))
    marks = tuple(m for m in front.landmarks if m.edge != "hem")
    file = as_dxf(
        trousers, {"front": replace(front, edges=came, landmarks=marks)}, tmp_path / "a.dxf"
    )
    said = " ".join(refused(tmp_path, "--from", file).split())
    distance = float(re.search(r"on 'hem' ([\d.]+) mm from its start", said)[1])  # type: ignore[index]
    assert distance == pytest.approx(0.25 * hem.length, abs=0.2)
    # Waist and mouth joined to one edge: the corner between them went.
    index = front.edge_names.index("waist")
    first, second = front.edges[index], front.edges[(index + 1) % len(front.edges)]
    joined = Edge("waist", np.vstack([first.points, second.points[1:]]))
    went = tuple(joined if e is first else e for e in front.edges if e is not second)
    marks = tuple(m for m in front.landmarks if m.edge not in ("waist", second.name))
    sent = dump_piece(Piece("front", {"42": replace(front, edges=went, landmarks=marks, darts=())}))
    (tmp_path / "front.json").write_text(sent)
    said = " ".join(refused(tmp_path, "--from", str(tmp_path / "front.json")).split())
    x, y = first.points[-1]
    assert f"between 'waist' and '{second.name}', at ({x:.1f}, {y:.1f}) mm" in said


def test_numbers_that_are_none_and_empty_files(trousers: PatternSet, tmp_path: Path) -> None:
    text = dump_piece(Piece("front", {"42": trousers.sized("front", "42")}))
    number = re.search(r"-?\d+\.\d+", text)
    assert number is not None
    for word in ("NaN", "Infinity", "1e999", '"x"'):
        (tmp_path / "front.json").write_text(text.replace(number[0], word, 1))
        assert "front" in refused(tmp_path, "--from", str(tmp_path / "front.json"))
    (tmp_path / "empty.dxf").write_text("")
    assert "empty.dxf" in refused(tmp_path, "--from", str(tmp_path / "empty.dxf"))
    (tmp_path / "bare.dxf").write_text("  0\nSECTION\n  2\nENTITIES\n  0\nENDSEC\n  0\nEOF\n")
    assert "no piece" in refused(tmp_path, "--from", str(tmp_path / "bare.dxf"))


def test_an_outline_that_crosses_itself_is_refused(trousers: PatternSet, tmp_path: Path) -> None:
    front = trousers.sized("front", "42")
    inseam = front.edge("inseam").points
    loop = np.vstack([inseam[:10], inseam[30:20:-1], inseam[10:20], inseam[31:]])
    edges = tuple(Edge("inseam", loop) if e.name == "inseam" else e for e in front.edges)
    marks = tuple(m for m in front.landmarks if m.edge != "inseam")
    sent = dump_piece(Piece("front", {"42": replace(front, edges=edges, landmarks=marks)}))
    (tmp_path / "front.json").write_text(sent)
    assert "crosses itself" in refused(tmp_path, "--from", str(tmp_path / "front.json"))


def test_what_stands_there_is_kept(trousers: PatternSet, tmp_path: Path) -> None:
    front = let_out(trousers.sized("front", "42"), "side", 4.0)
    file = as_dxf(trousers, {"front": front}, tmp_path / "a.dxf")
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "letter.txt").write_text("keep me")
    done = run("revise", TROUSERS, "--from", file, "-o", str(tmp_path / "out"), "--replace")
    assert done.exit_code == 2
    assert [p.name for p in (tmp_path / "out").iterdir()] == ["letter.txt"]


# -------------------------------------------------------------------------- what is written


@pytest.fixture(scope="module")
def revised(trousers: PatternSet, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a revision, once for all that look at it; beside it what was sent."""
    room = tmp_path_factory.mktemp("revised")
    front = let_out(trousers.sized("front", "42"), "side", 5.0)
    file = as_dxf(trousers, {"front": front}, room / "sent.dxf")
    words = ("revise", TROUSERS, "--from", file, "--carry", "proportion")
    done = run(*words, "-o", str(room / "out"))
    assert done.exit_code == 0, done.output
    # smaller in the shorter sizes
    assert "side of front: 4.9 (36, 38), 5.0 (40, 42, 44)" in " ".join(done.stdout.split())
    assert all(len(line) <= 80 or str(room) in line for line in done.stdout.splitlines())
    return room / "out"


def test_millimetres_by_size_are_in_every_form(trousers: PatternSet, revised: Path) -> None:
    told = json.loads((revised / "revised.json").read_text())
    moved = {e["size"]: e for e in told["edges"] if e["edge"] == "side"}
    again = propagate.load(revised)
    for size in trousers.sizes:
        old, new = (
            shapely.LineString(p.sized("front", size).edge("side").points)
            for p in (trousers, again)
        )
        far = shapely.hausdorff_distance(old, new, densify=0.02)
        assert moved[size]["moved_mm"] == pytest.approx(far, abs=0.02)
        assert moved[size]["carried"] == ("as drawn" if size == "42" else "proportion")
        inside = told["records"][size]["edit"]
        assert inside["carry"] == "proportion"
        assert [e["moved_mm"] for e in inside["edges"]] == [moved[size]["moved_mm"]]
    sent = str(revised.parent / "sent.dxf")
    found = plain(run("revise", TROUSERS, "--from", sent, "--carry", "proportion", "--json"))
    assert {e["size"]: e for e in found["edges"] if e["edge"] == "side"} == moved
    assert found["written_to"] is None
    assert all(not p["before"] for r in found["records"].values() for p in r["pieces"])


def test_why_and_report_of_a_revised_set(revised: Path, tmp_path: Path) -> None:
    for size in ("36", "42"):
        done = run("why", str(revised), "back.side", "--size", size)
        assert done.exit_code == 0, done.output
        assert "side seam" in done.stdout and f"revised in size {size}: front" in done.stdout
    assert (
        run("why", str(revised), "back").stdout
        == run("why", str(revised), "back", "--size", "42").stdout
    )
    assert "did not change" in run("why", str(revised), "belt_loop").stdout
    chain = plain(run("why", str(revised), "back.side", "--json"))["edges"][0]["chain"]
    assert [link["id"] for link in chain][-1] == "edit"
    done = run("why", str(revised), "back", "--size", "43")
    assert done.exit_code == 2 and "'43'" in done.stderr
    page = tmp_path / "page.html"
    done = run("report", str(revised), "--size", "48", "-o", str(page))
    assert done.exit_code == 0, done.output
    text = page.read_text("utf-8")
    assert "revised in size 48: front" in text and "Under bag" in text
    assert run("report", str(revised), "--size", "43", "-o", str(page)).exit_code == 2


def test_revised_json_is_as_its_schema_says(revised: Path) -> None:
    told = json.loads((revised / "revised.json").read_text())
    validator("revised").validate(told)
    assert set(told) == set(schema("revised")["properties"]) - {"edits"}
    record = told["records"]["42"]
    for table, key in ((told["edges"][0], "carried"), (record["edit"], "carry")):
        table[key], kept = "guessed", table[key]
        assert not validator("revised").is_valid(told)
        table[key] = kept
    del record["seams"]
    assert not validator("revised").is_valid(told)


def test_a_broken_revised_json_is_an_error(revised: Path, tmp_path: Path) -> None:
    copied = shutil.copytree(revised, tmp_path / "out")
    file = copied / "revised.json"
    value = json.loads(file.read_text())
    for broken, said in (
        ("{", "line 1"),
        (json.dumps({**value, "format": 9}), "newer"),
        (json.dumps({**value, "records": {"42": {"size": 3}}}), "records"),
    ):
        file.write_text(broken)
        done = run("why", str(copied), "back")
        assert done.exit_code == 2 and said in done.stderr, done.output


def test_a_dxf_is_written(revised: Path, tmp_path: Path) -> None:
    """Of some sizes of the set: which others there are makes no difference to them."""
    out, few = tmp_path / "out.dxf", tmp_path / "few"
    propagate.save(demo_in_few("slant_trouser"), few)
    words = (
        "revise",
        str(few),
        "--from",
        str(revised.parent / "sent.dxf"),
        "--carry",
        "proportion",
    )
    done = run(*words, "-o", str(out))
    assert done.exit_code == 0, done.output
    from propagate.io.begin import read_style

    read = read_style([out])[0]
    again = propagate.load(revised)
    for name in ("front", "back", "waistband"):
        for size in ("36", "42", "52"):
            a, b = (shapely.Polygon(p.sized(name, size).outline) for p in (read, again))
            assert a.symmetric_difference(b).area <= 0.01 * a.length  # a hundredth all round
    assert run(*words, "-o", str(out)).exit_code == 2  # it stands there already
    assert run(*words, "-o", str(tmp_path / "x"), "--onto", str(out)).exit_code == 2


# ----------------------------------------------------------------- the tolerance of the file


def coarse(piece: SizedPiece, by: float) -> SizedPiece:
    """Edges with chords as far off as `by` (the algorithm of Douglas and Peucker, 1973)."""
    edges = tuple(
        Edge(e.name, np.array(shapely.LineString(e.points).simplify(by).coords), ())
        for e in piece.edges
    )
    # Landmarks lie on the chords now.
    lines = {e.name: shapely.LineString(e.points) for e in edges}
    marks: list[Landmark] = []
    for mark in piece.landmarks:
        at = lines[mark.edge].interpolate(lines[mark.edge].project(shapely.Point(mark.point)))
        marks.append(replace(mark, point=(at.x, at.y)))
    return replace(piece, edges=edges, landmarks=tuple(marks))


def test_a_coarse_file_that_says_so_is_the_same(trousers: PatternSet, tmp_path: Path) -> None:
    pieces = {n: coarse(trousers.sized(n, "42"), 0.5) for n in ("front", "back")}
    file = as_dxf(trousers, pieces, tmp_path / "a.dxf")
    done = run("revise", TROUSERS, "--from", file)
    assert "What the drawing changed" in done.stdout and "within 0.05 mm" in done.stdout
    stated(file, "0.5")
    done = run("revise", TROUSERS, "--from", file)
    assert done.exit_code == 0, done.output
    assert "change nothing" in done.stdout and "within 0.50 mm" in done.stdout
    # What was asked for goes before what the file states.
    done = run("revise", TROUSERS, "--from", file, "--within", "0.05")
    assert "What the drawing changed" in done.stdout
    stated(as_dxf(trousers, pieces, tmp_path / "b.dxf"), "50")
    assert "--within" in refused(tmp_path, "--from", str(tmp_path / "b.dxf"))


@pytest.mark.parametrize(("by", "looked_at"), [(6.0, False), (60.0, True)])
def test_a_piece_that_is_hardly_the_old_one_is_looked_at(
    trousers: PatternSet, tmp_path: Path, by: float, looked_at: bool
) -> None:
    """The fly shield, about 40 mm wide, sent so much wider: is it this piece?"""
    shield = trousers.sized("fly_shield", "42")
    x, wide = shield.outline[:, 0].min(), float(np.ptp(shield.outline[:, 0]))
    scale = 1.0 + by / wide
    edges = tuple(
        replace(e, points=np.column_stack([x + scale * (e.points[:, 0] - x), e.points[:, 1]]))
        for e in shield.edges
    )
    sent = replace(shield, edges=edges, landmarks=(), lines=(), drills=())
    share = (
        shapely.Polygon(sent.outline).symmetric_difference(shapely.Polygon(shield.outline)).area
        / shapely.Polygon(shield.outline).area
    )
    (tmp_path / "fly_shield.json").write_text(dump_piece(Piece("fly_shield", {"42": sent})))
    done = run("revise", TROUSERS, "--from", str(tmp_path / "fly_shield.json"))
    assert (f"part over {share:.0%}" in done.output) == looked_at, done.output
