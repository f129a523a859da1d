"""``propagate begin``: a set from bare geometry, that every other command takes."""

from __future__ import annotations

import re
import shlex
import tomllib
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pytest

from propagate.demo import demo_path
from propagate.io.folder import load
from propagate.pattern.model import SizedPiece
from tests.cli.conftest import plain, run
from tests.shared import demo

SKIRT = demo("scoop_skirt")


def page(sizes_piece: dict[str, SizedPiece], move: float = 0.0) -> str:
    """A plain drawing: a polygon and a grain line in a named group for each piece."""
    body = []
    for number, (name, sized) in enumerate(sizes_piece.items()):
        at = np.array([600.0 * number, 0.0]) - sized.outline.min(axis=0)
        points = " ".join(f"{x:.4f},{1500 - y:.4f}" for x, y in sized.outline + at + move)
        (ax, ay), (bx, by) = np.array([sized.grain.start, sized.grain.end]) + at + move
        ticks = ""
        for mark in sized.landmarks:
            if mark.kind == "notch":
                x, y = np.array(mark.point) + at + move
                ticks += f'<path d="M{x - 3:.4f} {1500 - y - 3:.4f} l6 6"/>'
        body.append(
            f'<g id="{name}"><polygon points="{points}"/>{ticks}'
            f'<line id="grain_{number}" x1="{ax}" y1="{1500 - ay}" x2="{bx}" y2="{1500 - by}"/></g>'
        )
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="4000mm" height="2000mm" '
        f'viewBox="0 0 4000 2000">{"".join(body)}</svg>'
    )


@pytest.fixture
def drawings(tmp_path: Path) -> list[str]:
    files = []
    for size in ("S", "M", "L"):
        file = tmp_path / f"skirt_{size}.svg"
        file.write_text(page({n: p.at(size) for n, p in SKIRT.pieces.items()}))
        files.append(str(file))
    return files


def test_a_set_that_shows_and_walks(tmp_path: Path, drawings: list[str]) -> None:
    out = str(tmp_path / "new")
    done = run("begin", *drawings, "-o", out)
    assert done.exit_code == 0, done.output
    for words in ("Taken for granted", "--sizes", "--corner-angle", "skirt_front", "Next"):
        assert words in done.output
    words = [line for line in done.output.splitlines() if not line.startswith("  propagate ")]
    assert max(len(line) for line in words if " " in line.strip()) <= 80
    assert run("show", out).exit_code == 0
    assert run("walk", out, "--all-sizes").exit_code == 0
    assert run("draw", out, "-o", str(tmp_path / "drawn")).exit_code == 0


def test_geometry_is_the_drawing(tmp_path: Path, drawings: list[str]) -> None:
    out = tmp_path / "new"
    assert run("begin", *drawings, "-o", str(out)).exit_code == 0
    found = load(out)
    for name in SKIRT.pieces:
        for size in found.sizes:
            drawn, read = SKIRT.sized(name, size), found.sized(name, size)
            whole = sum(edge.length for edge in drawn.edges)
            assert sum(edge.length for edge in read.edges) == pytest.approx(whole, abs=0.01)


def test_a_numbered_picture_of_every_piece(tmp_path: Path, drawings: list[str]) -> None:
    out = tmp_path / "new"
    run("begin", *drawings, "-o", str(out))
    found = load(out)
    for name, piece in found.pieces.items():
        root = ET.parse(out / "pictures" / f"{name}.svg").getroot()
        texts = {(node.text or "") for node in root.iter("{http://www.w3.org/2000/svg}text")}
        for number, edge in enumerate(piece.at(found.base).edges, start=1):
            assert f"{number} {edge.name}" in texts


def test_each_commented_block_is_valid_when_uncommented(
    tmp_path: Path, drawings: list[str]
) -> None:
    out = tmp_path / "new"
    run("begin", *drawings, "-o", str(out))
    text = (out / "set.toml").read_text()
    lines = text.splitlines()
    first = next(i for i, line in enumerate(lines) if line.startswith("## ---"))
    head, tail = lines[:first], lines[first:]
    blocks = "\n".join(tail).split("\n\n")
    examples = [
        "\n".join(line[2:] for line in block.splitlines() if not line.startswith("##"))
        for block in blocks
    ]
    examples = [text for text in examples if text.strip()]
    assert len(examples) >= 6
    for example in examples:
        whole = "\n".join([*head, "", example, ""])
        tomllib.loads(whole)
        (out / "set.toml").write_text(whole)
        load(out)
    (out / "set.toml").write_text("\n".join([*head, *examples]))
    assert load(out).relations.seams


def test_names_survive_an_edit(tmp_path: Path, drawings: list[str]) -> None:
    out, again = tmp_path / "new", tmp_path / "again"
    run("begin", *drawings, "-o", str(out))
    before = load(out)
    for file in drawings:
        size = Path(file).stem.rpartition("_")[2]
        pieces = {n: p.at(size) for n, p in SKIRT.pieces.items()}
        text = page(pieces, move=13.0)
        Path(file).write_text(text.replace("<polygon", '<polygon transform="scale(1.01 1)"'))
    assert run("begin", *drawings, "-o", str(again)).exit_code == 0
    for name, piece in load(again).pieces.items():
        assert piece.at("M").edge_names == before.sized(name, "M").edge_names


def test_names_as_in_an_older_set(tmp_path: Path, drawings: list[str]) -> None:
    out = tmp_path / "new"
    done = run("begin", *drawings, "-o", str(out), "--like", str(demo_path("scoop_skirt")))
    assert done.exit_code == 0, done.output
    found = load(out)
    carried = 0
    for name in found.pieces:
        old = SKIRT.sized(name, "M")
        new = found.sized(name, "M")
        for edge in new.edges:
            if edge.name in old.edge_names:
                carried += 1
                if len(new.edges) == len(old.edges):
                    assert edge.length == pytest.approx(old.edge(edge.name).length, abs=0.01)
    assert carried >= 18


def test_levels_through_landmarks(tmp_path: Path, drawings: list[str]) -> None:
    out = tmp_path / "new"
    edge = "hem"
    done = run("begin", *drawings, "-o", str(out), "--level", f"low=skirt_front.{edge}.start")
    assert done.exit_code == 0, done.output
    found = load(out)
    assert found.lay_on == "low"
    for size in found.sizes:
        sized = found.sized("skirt_front", size)
        assert sized.levels["low"] == tuple(sized.edge(edge).points[0])


def test_json(tmp_path: Path, drawings: list[str]) -> None:
    out = str(tmp_path / "new")
    said = plain(run("begin", *drawings, "-o", out, "--json"))
    assert said["sizes"] == ["S", "M", "L"]
    assert {line["kind"] for line in said["reading"]["lines"]} >= {"assumed", "found"}
    assert {piece["name"] for piece in said["pieces"]} == set(SKIRT.pieces)


def test_geometry_files_of_ours(tmp_path: Path) -> None:
    folder = demo_path("scoop_skirt") / "geometry"
    out = tmp_path / "new"
    done = run("begin", str(folder), "-o", str(out), "--base", "M", "--name", "skirt")
    assert done.exit_code == 0, done.output
    found = load(out)
    for name in SKIRT.pieces:
        assert found.piece(name).nest == SKIRT.piece(name).nest


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["missing.svg"], "there is no"),
        (["{drawing}", "--base", "44"], "'44'"),
        (["{drawing}", "--dpi", "0"], "--dpi"),
        (["{drawing}", "--corner-angle", "900"], "--corner-angle"),
        (["{drawing}", "--level", "hip"], "--level"),
        (["{drawing}", "--level", "hip=front.hem.start"], "front"),
        (["{drawing}", "--unit", "in"], "mm"),
        (["{drawing}", "--piece", "front=nobody"], "nobody"),
        (["{drawing}", "--piece", "front"], "NEW=OLD"),
        (["{drawing}", "--piece", "a.b=skirt_front"], "a name: text without"),
        (["{drawing}", "--piece", "skirt_back=skirt_front"], "two pieces"),
        (["{drawing}", "--piece", "front=skirt_front", "--keep-dxf"], "--piece"),
    ],
)
def test_what_cannot_be_is_said_and_nothing_is_written(
    tmp_path: Path, drawings: list[str], words: list[str], message: str
) -> None:
    out = tmp_path / "new"
    filled = [word.format(drawing=drawings[0]) for word in words]
    done = run("begin", *filled, "-o", str(out))
    assert done.exit_code == 2
    assert message in done.output
    assert not out.exists()


def test_what_was_taken_for_granted_names_pieces_as_they_are_called_now(tmp_path: Path) -> None:
    """A drawing of 11 pieces, two of them renamed: no line names them as they were read."""
    drawing = Path(__file__).resolve().parents[2] / "docs" / "patterns" / "trousers.pdf"
    names = ("--piece", "fore=front", "--piece", "hind=back")
    done = run("begin", str(drawing), "-o", str(tmp_path / "set"), *names)
    assert done.exit_code == 0
    told = " ".join(done.stdout.split())
    assert "(pieces hind, fore, waistband" in told
    assert not re.search(r"\b(front|back)\b", told)


def test_a_piece_takes_another_name_and_then_that_of_a_set_before(
    tmp_path: Path, drawings: list[str]
) -> None:
    before, out = str(tmp_path / "before"), str(tmp_path / "new")
    assert run("begin", *drawings, "-o", before).exit_code == 0
    names = ("--piece", "front=skirt_front", "--piece", "skirt_front=skirt_back")
    done = run("begin", *drawings, "-o", out, *names)
    assert done.exit_code == 0, done.output
    found, old = load(out), load(before)
    assert found.piece("front").nest == old.piece("skirt_front").nest
    assert found.piece("skirt_front").nest == old.piece("skirt_back").nest
    assert found.info["front"].title == "front"
    assert list(found.pieces)[:2] == ["front", "skirt_front"]


def test_a_set_is_not_replaced_unasked(tmp_path: Path, drawings: list[str]) -> None:
    out = str(tmp_path / "new")
    assert run("begin", *drawings, "-o", out).exit_code == 0
    done = run("begin", *drawings, "-o", out)
    assert done.exit_code == 2
    assert "--replace" in done.output
    assert run("begin", *drawings, "-o", out, "--replace").exit_code == 0


APRON = demo_path("scoop_skirt").parent / "garden_apron"


@pytest.mark.parametrize("extra", [[], ["--sizes", "S,M,L"], ["--sizes", "S,L"]])
def test_the_apron_drawn_by_hand(tmp_path: Path, extra: list[str]) -> None:
    """Drawings in centimetres with transforms; the files come in alphabetical order."""
    out = tmp_path / "apron"
    files = sorted(str(file) for file in APRON.glob("*.svg"))
    if extra == ["--sizes", "S,L"]:
        files = [file for file in files if not file.endswith("_M.svg")]
        done = run("begin", *files, "-o", str(out), *extra)
        assert done.exit_code == 0, done.output
        assert load(out).sizes == ("S", "L")
        return
    relations = ["--relations", str(APRON / "relations.toml")]
    done = run("begin", *files, "-o", str(out), *extra, *relations)
    assert done.exit_code == 0, done.output
    assert (out / "set.toml").read_bytes() == (APRON / "relations.toml").read_bytes()
    found = load(out)
    # By hand, from the measures in the draft: cm times ten.
    measures = (("S", 110, 300, 800), ("M", 120, 330, 840), ("L", 130, 365, 880))
    for size, bib, width, length in measures:
        apron = found.sized("apron", size)
        assert apron.edge("top").length == pytest.approx(bib)
        assert apron.edge("hem").length == pytest.approx(width)
        assert apron.edge("fold").length == pytest.approx(length)
        assert apron.edge("scoop").path is not None
        assert apron.grain.direction == pytest.approx([0.0, 1.0])
        assert [line.name for line in apron.lines] == ["pocket_place"]
        assert [mark.edge for mark in apron.landmarks] == ["side"]
        strap = found.sized("strap", size)
        assert sorted(edge.length for edge in strap.edges)[::3] == pytest.approx(
            [60.0, 2 * bib + 240.0]
        )
    assert run("walk", str(out), "--all-sizes").exit_code == 0


def test_the_apron_is_what_its_draft_writes() -> None:
    import runpy

    draft = runpy.run_path(str(APRON / "draft.py"))
    for one in draft["SIZES"]:
        file = APRON / f"garden_apron_{one.size}.svg"
        assert file.read_text(encoding="utf-8") == draft["drawing"](one)


def test_relations_of_other_sizes_are_refused(tmp_path: Path) -> None:
    file = str(APRON / "garden_apron_M.svg")
    done = run(
        "begin", file, "-o", str(tmp_path / "a"), "--relations", str(APRON / "relations.toml")
    )
    assert done.exit_code == 2
    assert "size 'S'" in done.output


def test_the_commands_that_the_drawn_demo_tells_make_a_set_that_sews(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    done = run("demo", APRON.name)
    assert done.exit_code == 0, done.output
    assert max(map(len, done.stdout.splitlines())) <= 80
    own = Path("propagate_demo") / f"{APRON.name}_drawings"
    for copied in own.glob("*.svg"):
        assert copied.read_bytes() == (APRON / copied.name).read_bytes()
    told = done.stdout.replace("\\\n", " ").splitlines()
    commands = [shlex.split(line)[1:] for line in told if line.startswith("  propagate ")]
    assert [words[0] for words in commands] == ["begin", "walk", "change"]
    for words in commands:
        said = run(*words)
        assert said.exit_code == 0, said.output
    again = run("demo", APRON.name)
    assert again.exit_code == 2 and "--replace" in again.stderr
    assert plain(run("demo", APRON.name, "--replace", "--json"))["drawings"] == str(own)
