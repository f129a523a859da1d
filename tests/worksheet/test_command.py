"""``propagate sheet`` from the command line: what it writes, and how it ends."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from propagate.demo import demo_path
from propagate.io.result_folder import load_result
from propagate.report.worksheet.derive import work_sheet
from tests.cli.conftest import SKIRT, TROUSER, plain, run


@pytest.fixture(scope="module")
def result_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sheet") / "result"
    sizes = ("--size", "natural_waist=M", "--size", "seat=L")
    assert run("blend", SKIRT, *sizes, "-o", str(folder)).exit_code == 0
    return folder


def test_it_writes_the_file_once(result_folder: Path, tmp_path: Path) -> None:
    target = tmp_path / "sheet.pdf"
    done = run("sheet", str(result_folder), "-o", str(target))
    assert done.exit_code == 0, done.output
    assert "pieces to change" in done.stdout and "trial garment" in done.stdout
    first = target.read_bytes()
    again = run("sheet", str(result_folder), "-o", str(target))
    assert again.exit_code == 2 and "--replace" in again.stderr
    assert run("sheet", str(result_folder), "-o", str(target), "--replace").exit_code == 0
    assert target.read_bytes() == first


def test_json_is_the_sheet(result_folder: Path, tmp_path: Path) -> None:
    target = tmp_path / "sheet.pdf"
    words = ("sheet", str(result_folder), "-o", str(target), "--paper", "letter", "--unit", "in")
    found = plain(run(*words, "--json"))
    sheet = work_sheet(load_result(result_folder))
    assert found["command"] == "sheet" and found["paper"] == "letter" and found["unit"] == "in"
    assert [step["title"] for step in found["steps"]] == [step.title for step in sheet.steps]
    edges = [edge for step in found["steps"] for edge in step["edges"]]
    for told, work in zip(edges, sheet.edges, strict=True):
        assert (told["piece"], told["edge"]) == (work.piece, work.edge)
        assert told["after_mm"] == pytest.approx(work.after_mm, abs=1e-6)
        assert " mm" not in told["text"]
    opening = next(step for step in found["steps"] if "Swing" in step["title"])
    assert any("across_mm" in said["measures"] for said in opening["sentences"])
    assert target.read_bytes().startswith(b"%PDF")


def test_pieces_are_printed_beside_the_sheet(result_folder: Path, tmp_path: Path) -> None:
    """The print is, byte for byte, what ``print --names`` writes of the same result."""
    sheet, pieces, alone = (tmp_path / f"{name}.pdf" for name in ("sheet", "pieces", "alone"))
    words = ("sheet", str(result_folder), "-o", str(sheet), "--print", str(pieces))
    told = plain(run(*words, "--json"))
    assert told["print"]["file"] == str(pieces) and told["print"]["names"] is True
    printed = plain(run("print", str(result_folder), "-o", str(alone), "--names", "--json"))
    assert printed["pages"] == told["print"]["pages"]
    assert pieces.read_bytes() == alone.read_bytes() != sheet.read_bytes()


def test_sheet_and_print_are_both_written_or_none(result_folder: Path, tmp_path: Path) -> None:
    sheet, pieces = tmp_path / "sheet.pdf", tmp_path / "pieces.pdf"
    words = ("sheet", str(result_folder), "-o", str(sheet), "--print")
    for elsewhere in (sheet, tmp_path.parent / "pieces.pdf"):
        done = run(*words, str(elsewhere))
        assert done.exit_code == 2 and "both are written or none" in done.stderr
    pieces.write_text("mine")
    done = run(*words, str(pieces), "--replace")
    assert done.exit_code == 2, done.output
    assert not sheet.exists() and pieces.read_text() == "mine"


def test_nothing_changed(tmp_path: Path) -> None:
    folder = tmp_path / "same"
    done = run("blend", SKIRT, "--size", "natural_waist=M", "--size", "seat=M", "-o", str(folder))
    assert done.exit_code == 0
    done = run("sheet", str(folder), "-o", str(tmp_path / "sheet.pdf"))
    assert done.exit_code == 2
    assert "nothing to draw" in done.stderr
    assert not (tmp_path / "sheet.pdf").exists()


def test_a_set_without_a_record(tmp_path: Path) -> None:
    done = run("sheet", TROUSER, "-o", str(tmp_path / "sheet.pdf"))
    assert done.exit_code == 2
    assert "without a record" in done.stderr and "propagate blend SET" in done.stderr
    assert not list(tmp_path.iterdir())


def test_a_revision_that_changed_nothing(tmp_path: Path) -> None:
    folder = tmp_path / "revised"
    done = run("revise", SKIRT, "--from", SKIRT, "-o", str(folder))
    assert done.exit_code == 0 and "change nothing" in done.stdout
    done = run("sheet", str(folder), "-o", str(tmp_path / "sheet.pdf"))
    assert done.exit_code == 2
    assert "nothing changed" in done.stderr and "nothing to work on" in done.stderr
    assert not (tmp_path / "sheet.pdf").exists()


def test_papers_and_sizes_that_are_not_there(result_folder: Path, tmp_path: Path) -> None:
    target = str(tmp_path / "sheet.pdf")
    done = run("sheet", str(result_folder), "-o", target, "--paper", "a3")
    assert done.exit_code == 2 and "a4, letter" in done.stderr
    done = run("sheet", str(result_folder), "-o", target, "--paper", "napkin", "--json")
    assert done.exit_code == 2 and plain(done)["known"] == ["a4", "letter"]
    done = run("sheet", str(result_folder), "-o", target, "--size", "L")
    assert done.exit_code == 2 and "M/L" in done.stderr
    assert not list(tmp_path.iterdir())


def test_a_revised_set_has_a_sheet_for_each_size(tmp_path: Path) -> None:
    gilet = demo_path("workshop_gilet")
    folder = tmp_path / "revised"
    drawing = gilet / "revised" / "front_base_size.dxf"
    done = run("revise", str(gilet), "--from", str(drawing), "-o", str(folder))
    assert done.exit_code == 0, done.output
    found = {}
    for size in ("96", "110"):
        words = ("sheet", str(folder), "-o", str(tmp_path / f"{size}.pdf"), "--size", size)
        found[size] = plain(run(*words, "--json"))
        assert found[size]["size"] == size
    base = plain(run("sheet", str(folder), "-o", str(tmp_path / "base.pdf"), "--json"))
    assert base["steps"] == found["96"]["steps"] != found["110"]["steps"]
    done = run("sheet", str(folder), "-o", str(tmp_path / "no.pdf"), "--size", "3")
    assert done.exit_code == 2 and "no size '3'" in done.stderr
    assert not (tmp_path / "no.pdf").exists()


def test_no_set_at_all(tmp_path: Path) -> None:
    done = run("sheet", str(tmp_path / "none"), "-o", str(tmp_path / "sheet.pdf"))
    assert done.exit_code == 2 and "there is no" in done.stderr


def test_targets_that_cannot_be_written(result_folder: Path, tmp_path: Path) -> None:
    done = run("sheet", str(result_folder), "-o", str(tmp_path / "no" / "sheet.pdf"))
    assert done.exit_code == 2 and "make it first" in done.stderr
    done = run("sheet", str(result_folder), "-o", str(tmp_path))
    assert done.exit_code == 2 and "is a folder" in done.stderr
    if os.geteuid() != 0:
        locked = tmp_path / "locked"
        locked.mkdir(mode=0o500)
        done = run("sheet", str(result_folder), "-o", str(locked / "sheet.pdf"))
        assert done.exit_code == 2 and "cannot be written" in done.stderr
    assert not list(tmp_path.rglob("*.pdf"))


def test_missing_characters_are_named(result_folder: Path, tmp_path: Path) -> None:
    text = (result_folder / "set.toml").read_text("utf-8")
    other = tmp_path / "result"
    other.mkdir()
    for file in result_folder.rglob("*"):
        if file.is_file():
            place = other / file.relative_to(result_folder)
            place.parent.mkdir(exist_ok=True)
            place.write_bytes(file.read_bytes())
    (other / "set.toml").write_text(text.replace("Pocket facing", "袋口 <b>"), "utf-8")
    done = run("sheet", str(other), "-o", str(tmp_path / "sheet.pdf"))
    assert done.exit_code == 0, done.output
    assert "no font has" in done.stderr and "--font" in done.stderr
