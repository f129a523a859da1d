"""Girths that a revision changed stand under what to look at first, size by size.

A lower front let out by 3 mm along its whole side makes both girths of the finished gilet
6 mm larger in every size: two fronts, and the chart's own girths are known.
"""

from __future__ import annotations

import re
from dataclasses import replace
from html import unescape
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

import propagate
from propagate.cli.app import cli
from propagate.pattern.model import Edge, Piece, SizedPiece, frozen_points
from propagate.report.notices import changed_girths
from tests.shared import demo

LET_OUT_MM = 3.0
GILET = str(propagate.demo_path("workshop_gilet"))


def let_out(piece: SizedPiece, mm: float) -> SizedPiece:
    """The side moved out as it is, the edges across it drawn out to meet it."""
    edges = []
    for edge in piece.edges:
        points = np.array(edge.points)
        x = points[:, 0]
        if edge.name == "side":
            x -= mm
        elif edge.name in ("waist", "hem"):
            x -= mm * (x.max() - x) / np.ptp(x)
        edges.append(Edge(edge.name, frozen_points(points), edge.turns))
    marks = tuple(replace(m, point=(m.point[0] - mm, m.point[1])) for m in piece.landmarks)
    return replace(piece, edges=tuple(edges), landmarks=marks)


@pytest.fixture(scope="module")
def folders(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The set revised by a front that was let out, and by one with another neck."""
    top = tmp_path_factory.mktemp("revised")
    gilet = demo("workshop_gilet")
    nest = {s: let_out(gilet.sized("lower_front", s), LET_OUT_MM) for s in gilet.sizes}
    sent = {**gilet.pieces, "lower_front": Piece("lower_front", nest)}
    propagate.save(replace(gilet, pieces=sent), top / "sent")
    neck = Path(GILET) / "revised" / "front_all_sizes.dxf"
    for name, words in (
        ("wider", [str(top / "sent"), "--piece", "lower_front"]),
        ("neck", [str(neck)]),
    ):
        done = CliRunner().invoke(cli, ["revise", GILET, "--from", *words, "-o", str(top / name)])
        assert (top / name).is_dir(), done.output
        (top / f"{name}.txt").write_text(done.output, encoding="utf-8")
    return {name: top / name for name in ("wider", "neck")}


def first_section(folder: Path, tmp_path: Path, *words: str) -> str:
    page = tmp_path / "page.html"
    done = CliRunner().invoke(cli, ["report", str(folder), "-o", str(page), *words])
    assert done.exit_code == 0, done.output
    found = re.search(r'<section id="look".*?</section>', page.read_text("utf-8"), re.DOTALL)
    assert found
    return unescape(re.sub(r"<[^>]+>", "", found[0]))


@pytest.mark.parametrize("size", ["84", "96", "118"])
def test_a_changed_girth_is_told_of_every_size(
    folders: dict[str, Path], tmp_path: Path, size: str
) -> None:
    said = first_section(folders["wider"], tmp_path, "--size", size)
    line = next(row for row in said.splitlines() if row.startswith("hip girth"))
    found = re.findall(r"size (\d+) \+(\d+\.\d+) \(before (\d+\.\d), now (\d+\.\d)\)", line)
    # Hips of the finished gilet by its chart: the body's and 90 mm of ease.
    chart = {"84": 900, "90": 952, "96": 1004, "102": 1056, "110": 1130, "118": 1208}
    assert [row[0] for row in found] == list(chart)
    for row in found:
        assert abs(float(row[1]) - 2 * LET_OUT_MM) < 0.05
        assert abs(float(row[2]) - (chart[row[0]] + 90)) < 0.1
        assert abs(float(row[3]) - (chart[row[0]] + 96)) < 0.1
    assert any(row.startswith("waist girth") for row in said.splitlines())


def test_the_notice_leads_to_the_pieces_and_the_table_says_before(
    folders: dict[str, Path], tmp_path: Path
) -> None:
    first_section(folders["wider"], tmp_path)
    text = (tmp_path / "page.html").read_text("utf-8")
    item = next(i for i in re.findall(r"<li class=.mild.>.*?</li>", text, re.DOTALL) if "hip" in i)
    shown = re.findall(r"show <bdi>(.*?)</bdi>", item)
    assert shown == ["Lower front", "Lower back"]
    table = re.search(r'<section id="girths".*?</section>', text, re.DOTALL)
    assert table
    heads = re.findall(r"<th scope=.col.[^>]*>(.*?)</th>", table[0])
    assert "before" in heads
    assert "wanted" not in heads
    row = next(r for r in table[0].split("<tr ") if "<bdi>hip</bdi>" in r)
    numbers = re.findall(r'<td role="cell" class="number"[^>]*>(.*?)</td>', row)
    assert numbers == ["1004.0", "+96.0", "1100.0", "1094.0", "+6.0"]
    assert "changed: look at it" in row


def test_a_girth_that_stayed_is_not_told_of(folders: dict[str, Path], tmp_path: Path) -> None:
    assert "girth" not in first_section(folders["neck"], tmp_path)
    text = (tmp_path / "page.html").read_text("utf-8")
    assert "changed: look at it" not in text


def test_the_command_that_revises_says_it_too(folders: dict[str, Path]) -> None:
    wider = " ".join(folders["wider"].with_suffix(".txt").read_text("utf-8").split())
    assert "hip girth: the girth changed by more than 0.1 mm: size 84 +6.0 (before" in wider
    assert "girth changed" not in folders["neck"].with_suffix(".txt").read_text("utf-8")


def test_a_blend_tells_of_its_girths_itself(trouser: propagate.Result) -> None:
    assert trouser.record.girths
    rows = tuple(replace(row, ok=False) for row in trouser.record.girths)
    spoilt = replace(trouser.record, girths=rows)
    assert changed_girths({"42/48": spoilt}) == []
    words = {**spoilt.edit, "kind": "revise"}
    assert len(changed_girths({"42/48": replace(spoilt, edit=words)})) == len(rows)
