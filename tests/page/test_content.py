"""What stands in the page, read by the standard library's HTML parser and by shapely."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from click.testing import CliRunner
from shapely.affinity import rotate

import propagate
from propagate.cli.app import cli
from propagate.engine.run import Result
from propagate.errors import EditError, OutputError, UnknownName
from propagate.io.output import LIST_NAME, write_files
from propagate.pattern.patternset import Relations
from propagate.pattern.relations import Seam, parse_run
from propagate.pattern.titles import in_words, make_readable
from propagate.report.page import report_page
from tests.bench.tiling import tile
from tests.builders import tiny_set
from tests.examples import goes_on
from tests.page.conftest import page_of_hostile_names, page_of_the_skirt
from tests.page.hostile import SCRIPT, TITLES, hostile_set
from tests.shared import demo

VOID = {"meta", "input", "br", "hr", "link", "img"}


class Reader(HTMLParser):
    """Elements with their attributes, and the text of each."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.texts: dict[str, list[str]] = {}
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open:
            self.texts.setdefault(self.open[-1], []).append(data)

    def all(self, tag: str, **wanted: str) -> list[dict[str, str | None]]:
        return [a for t, a in self.found if t == tag and wanted.items() <= a.items()]


@cache
def read(text: str) -> Reader:
    """A page is read once, however many tests look at it."""
    return Reader(text)


def data_of(text: str) -> dict[str, Any]:
    found = re.search(r'<script type="application/json" id="data">(.*?)</script>', text, re.DOTALL)
    assert found
    data: dict[str, Any] = json.loads(found[1])
    return data


def points_of(d: str) -> np.ndarray:
    """Absolute points of the page's path data, y up."""
    numbers = [float(n) for n in re.findall(r"-?\d*\.?\d+", d)]
    return np.cumsum(np.array(numbers).reshape(-1, 2), axis=0) * [1.0, -1.0]


# ------------------------------------------------------------------------------ the file


def test_every_element_is_closed_and_every_id_is_its_own(page_text: str) -> None:
    reader = read(page_text)
    assert reader.open == []
    ids = [a["id"] for _, a in reader.found if "id" in a]
    assert len(ids) == len(set(ids))


def test_nothing_is_fetched(page_text: str) -> None:
    reader = read(page_text)
    fetching = {"link", "img", "iframe", "object", "embed", "audio", "video", "source", "base"}
    assert not fetching & {tag for tag, _ in reader.found}
    for _, attributes in reader.found:
        assert "src" not in attributes
        href = attributes.get("href")
        assert href is None or href.startswith("#")
    addresses = set(re.findall(r"https?://[^\s\"'<>)]+", page_text))
    assert addresses <= {"http://www.w3.org/2000/svg"}  # a namespace, not an address
    assert "@import" not in page_text
    assert "url(http" not in page_text


def test_the_policy_allows_this_script_alone(page_text: str) -> None:
    policy = read(page_text).all("meta", **{"http-equiv": "Content-Security-Policy"})[0]
    words = str(policy["content"])
    assert "default-src 'none'" in words
    assert re.search(r"script-src 'sha256-[A-Za-z0-9+/=]{44}'", words)
    assert "unsafe-eval" not in words
    assert "script-src 'unsafe-inline'" not in words


def test_the_same_result_gives_the_same_page(trouser: Result, page_text: str) -> None:
    assert report_page(trouser) == page_text


# ------------------------------------------------------------------------------ escaping


def test_hostile_names_are_text() -> None:
    text = page_of_hostile_names()
    reader = Reader(text)
    assert reader.open == []
    assert len(reader.all("script")) == 2  # the data and the page's own
    assert not reader.all("img")
    assert not reader.all("b", onerror="window.hit=1")
    assert all(not name.startswith("on") for _, a in reader.found for name in a)
    shown = "".join(part for parts in reader.texts.values() for part in parts)
    for key, title in TITLES.items():
        if key not in ("control", "lone"):
            assert title in shown, key
    assert "a�b�c�d" in shown
    assert "x�y" in shown
    text.encode("utf-8")


def test_the_data_holds_no_markup() -> None:
    text = page_of_hostile_names()
    found = re.search(r'id="data">(.*?)</script>', text, re.DOTALL)
    assert found
    assert not set("<>&") & set(found[1])
    titles = [piece["title"] for piece in data_of(text)["pieces"].values()]
    # A front and its back of one title bear their names beside it.
    assert titles[0] == f"{SCRIPT} (f0)"
    assert titles[2 * list(TITLES).index("emoji")].startswith(f"{TITLES['emoji']} (f")


# ------------------------------------------------------------------------- the numbers


def test_lengths_are_those_of_the_record(trouser: Result, page_text: str) -> None:
    data = data_of(page_text)
    by_name = {join["name"]: join for join in data["joins"].values()}
    rows = [r for r in trouser.record.seams if r.kind == "seam"]
    rows += list(trouser.record.bands)
    assert len(rows) == 10
    for row in rows:
        join = by_name[make_readable(row.name)]
        assert join["lengths"] == pytest.approx([row.first, row.second], abs=1e-6)
        for key, length in zip(("first", "second"), join["lengths"], strict=True):
            walked = sum(abs(part["b"] - part["a"]) for part in join[key])
            assert walked == pytest.approx(length, abs=1e-4), (row.name, key)
    notches = [r for r in trouser.record.seams if r.kind == "notches"]
    told = {n[0]: n[1:] for join in data["joins"].values() for n in join.get("notches", [])}
    for row in notches:
        assert told[in_words(trouser.pattern, row.what)] == pytest.approx(
            [row.first, row.second], abs=1e-6
        )


def test_every_check_of_the_record_is_a_row_with_its_numbers(
    trouser: Result, page_text: str
) -> None:
    reader = read(page_text)
    rows = [a for a in reader.all("tr") if "data-by" in a]
    walked = propagate.walk(trouser.pattern)
    assert len(rows) == sum(check.kind != "girth" for check in walked.checks)
    told = sorted(tuple(float(v) for v in str(a["data-by"]).split()[:2]) for a in rows)
    # What is meant stands first, of a corner 180 degrees.
    wanted = sorted(
        (c.second, c.first) if c.kind == "corner" else (c.first, c.second)
        for c in walked.checks
        if c.kind != "girth"
    )
    assert np.allclose(told, wanted, atol=1e-5)
    ranks = [int(str(a["data-rank"])) for a in rows]
    assert ranks == sorted(ranks)


def test_what_does_not_sew_comes_first() -> None:
    pattern = demo("slant_trouser")
    seam = pattern.relations.seams["side_seam"]
    seams = {**pattern.relations.seams, "side_seam": replace(seam, ease=40.0)}
    broken = replace(pattern, relations=replace(pattern.relations, seams=seams))
    text = report_page(broken)
    rows = [a for a in Reader(text).all("tr") if "data-by" in a]
    assert rows[0]["data-rank"] == "0"
    assert rows[0]["data-name"] == "side seam"
    assert "do not sew together" in text
    assert text.index('class="grave"') < text.index('id="garment"')


def test_the_drawn_edges_lie_on_the_outline(trouser: Result, page_text: str) -> None:
    reader = read(page_text)
    paths = [a for a in reader.all("path") if "data-length" in a]
    pieces = [piece.at("42/48") for piece in trouser.pattern.pieces.values()]
    edges = [(piece, edge) for piece in pieces for edge in piece.edges]
    assert len(paths) == len(edges)
    for path, (piece, edge) in zip(paths, edges, strict=True):
        line = shapely.LineString(points_of(str(path["d"])))
        # The grain points upwards: the drawing is turned about the origin.
        angle = 90.0 - np.degrees(np.arctan2(*np.array(piece.grain.direction)[::-1]))
        true = rotate(shapely.LineString(edge.points), angle, origin=(0, 0))
        assert shapely.hausdorff_distance(line, true, densify=0.05) < 0.025
        assert float(str(path["data-length"])) == pytest.approx(true.length, abs=1e-5)


def test_areas_are_what_the_record_says(trouser: Result, page_text: str) -> None:
    """Shoelace formula on the page's own paths; slivers of rounding are left out there."""
    figures = "".join(re.findall(r'<figure class="piece.*?</figure>', page_text, re.DOTALL))
    reader = Reader(figures)
    for kind, amount in (("tape-on", "added_mm2"), ("trim", "trimmed_mm2")):
        drawn = 0.0
        for path in reader.all("path", **{"class": f"area {kind}"}):
            for ring in re.findall(r"M[^M]+", str(path["d"])):
                x, y = points_of(ring).T
                drawn += abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2
        told = sum(getattr(piece, amount) for piece in trouser.record.pieces)
        assert drawn == pytest.approx(told, rel=0.01, abs=20.0), kind


def test_every_change_stands_in_the_tree_of_causes(trouser: Result, page_text: str) -> None:
    reader = read(page_text)
    shown = " ".join("".join(part) for part in reader.texts.values())
    for change in trouser.record.changes[1:]:
        assert in_words(trouser.pattern, change.what) in shown, change.id


def test_inches() -> None:
    skirt, text = demo("scoop_skirt"), page_of_the_skirt()
    assert data_of(text)["unit"] == "in"
    first = next(iter(skirt.pieces.values())).at(skirt.base).edges[0]
    assert f"{first.name} {first.length / 25.4:.2f}" in text


# ------------------------------------------------------------------------- many pieces


def test_pieces_that_all_changed_take_below_thirty_kilobytes_each(trouser: Result) -> None:
    """So that a hundred of them are a page of less than three megabytes."""
    pattern, copies = demo("slant_trouser"), 10 if goes_on() else 3
    result = propagate.blend(tile(pattern, copies), propagate.Blend({"waist": "42", "hip": "48"}))
    changes = list(result.record.pieces)
    for k in range(1, copies):
        changes += [replace(c, piece=f"copy{k}_{c.piece}") for c in trouser.record.pieces]
    every = propagate.Result(result.pattern, replace(result.record, pieces=tuple(changes)))
    told: list[tuple[int, int]] = []
    text = report_page(every, progress=lambda done, of: told.append((done, of)))
    count = len(result.pattern.pieces)
    assert count == 11 * copies
    assert told == [(i + 1, count) for i in range(count)]
    assert len(text.encode("utf-8")) < 27_000 * count


# ---------------------------------------------------------------------------- bad input


def test_a_set_without_pieces_is_refused() -> None:
    empty = replace(hostile_set(), name="empty", pieces={}, info={})
    with pytest.raises(EditError, match="'empty' has no pieces"):
        report_page(empty)


def test_an_unknown_size_is_refused() -> None:
    with pytest.raises(UnknownName, match="no size '43'"):
        report_page(demo("slant_trouser"), size="43")


def test_the_command_writes_one_file_and_never_over_another(
    trouser: Result, tmp_path: Path
) -> None:
    folder, page = tmp_path / "result", tmp_path / "page.html"
    propagate.save(trouser, folder)
    words = ["report", str(folder), "-o", str(page)]
    done = CliRunner().invoke(cli, words)
    assert done.exit_code == 0, done.output
    assert "no network" in done.output
    assert page.read_text(encoding="utf-8") == report_page(propagate.load_result(folder))
    assert sorted(p.name for p in tmp_path.iterdir()) == [LIST_NAME, "page.html", "result"]
    again = CliRunner().invoke(cli, words)
    assert again.exit_code == 2
    assert "--replace" in again.output
    assert CliRunner().invoke(cli, [*words, "--replace"]).exit_code == 0


def test_a_target_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    target = tmp_path / "missing" / "deeper" / "page.html"
    done = CliRunner().invoke(
        cli, ["report", str(propagate.demo_path("scoop_skirt")), "-o", str(target)]
    )
    assert done.exit_code == 2
    assert "missing" in done.output
    assert list(tmp_path.iterdir()) == []
    assert "Traceback" not in done.output


def test_a_folder_as_target_is_refused_before_anything_is_done(tmp_path: Path) -> None:
    folder = tmp_path / "pages"
    folder.mkdir()
    for words in ([], ["--replace"]):
        done = CliRunner().invoke(cli, ["report", "no such set", "-o", str(folder), *words])
        assert done.exit_code == 2
        assert f"'{folder}' is a folder, expected the name of the page" in done.output
        assert f"such as {folder / 'page.html'}" in done.output
    assert list(folder.iterdir()) == []


# ------------------------------------------------------------------------------ numbers


@pytest.mark.parametrize(("count", "said"), [(1, "1 of 2 checks does"), (2, "2 of 2 checks do")])
def test_the_verb_goes_with_the_number(count: int, said: str) -> None:
    tiny = tiny_set()
    seams = {
        name: Seam(name, parse_run("front.side"), parse_run("back.side reversed"), ease=ease)
        for name, ease in (("one", 50.0), ("two", 50.0 if count == 2 else 0.0))
    }
    text = report_page(replace(tiny, relations=Relations(seams=seams)))
    assert f"{said} not sew together." in text
    assert not re.search(r"\b1 (checks|pieces|changes)\b", text)


def test_alike_failures_stand_together() -> None:
    """Nine seams that fail by different amounts are one point to look at, and all of them in it."""
    tiny = tiny_set()
    seams = {
        f"n{i}": Seam(
            f"n{i}", parse_run("front.side"), parse_run("back.side reversed"), ease=30 + i
        )
        for i in range(9)
    }
    text = report_page(replace(tiny, relations=Relations(seams=seams)))
    first = re.search(r'<section id="look".*?</section>', text, re.DOTALL)
    assert first
    assert first[0].count("<details") == 1
    assert "9 do not sew</span>, alike" in first[0]
    assert len(set(re.findall(r"seam n\d", first[0]))) == 9


def test_one_file_stays_as_it_is_and_two_stay_as_they_are(tmp_path: Path) -> None:
    write_files(tmp_path, {"a": b"", "b": b""})
    with pytest.raises(OutputError, match=r"a' exists already and .* replace it with"):
        write_files(tmp_path, {"a": b""})
    with pytest.raises(OutputError, match=r"'a', 'b' already and .* replace them with"):
        write_files(tmp_path, {"a": b"", "b": b""})


# ----------------------------------------------------------------------------- contrast


def luminance(colour: str) -> float:
    """Relative luminance by WCAG 2.2."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return float(np.dot(linear, [0.2126, 0.7152, 0.0722]))


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_formula_of_contrast_at_its_known_ends() -> None:
    assert contrast("#ffffff", "#000000") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)  # from memory


@pytest.mark.parametrize("scheme", [0, 1, 2], ids=["light", "dark", "print"])
def test_texts_stand_out_by_four_and_a_half(page_text: str, scheme: int) -> None:
    """Also texts inside drawings, which a checker of pages does not look at."""
    roots = re.findall(r":root \{(.*?)\}", page_text, re.DOTALL)
    colours = dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6})", roots[scheme]))
    colours |= {
        name: "#" + "".join(2 * c for c in short)
        for name, short in re.findall(r"--([a-z-]+): #([0-9a-f]{3});", roots[scheme])
    }
    grounds = ["paper", "sheet", "piece", "wash", "bad-wash", "look-wash"]
    for ground in grounds:
        for ink in ("ink", "quiet", "added"):
            assert contrast(colours[ink], colours[ground]) >= 4.5, (ink, ground)
    for ink in ("bad", "look", "good", "chosen", "trimmed"):
        assert contrast(colours[ink], colours["paper"]) >= 4.5, ink
        assert contrast(colours[ink], colours["sheet"]) >= 4.5, ink
    assert contrast(colours["bad"], colours["bad-wash"]) >= 4.5
    assert contrast(colours["look"], colours["look-wash"]) >= 4.5
