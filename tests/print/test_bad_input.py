"""Names that try to break out, papers that are not known, targets that cannot be written."""

from __future__ import annotations

import os
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pikepdf
import pytest

import propagate
from propagate.errors import EditError, UnknownName
from propagate.io.output import LIST_NAME
from propagate.report.pdf.paper import PAPERS, paper_of
from tests.cli.conftest import SKIRT, TROUSER, plain, run
from tests.examples import part_of
from tests.print.conftest import print_set
from tests.print.reader import page_size, text_of
from tests.shared import demo

NAMES = [
    'Front "left" \\ (a) <script>',
    "חזית המכנסיים",
    "شلوار جلو ۳۸",
    "Vorderteil 😀",
    "🧵✂️👖",
    "x" * 300,
    "a long name " * 25,
    "\x00\x07tab\tnew\nline",
    "",
    " ",
]
PRINTED = ("bag_front", "pocket_facing")


def named(title: str) -> propagate.PatternSet:
    """The skirt; its printed pieces are called by the two names that follow."""
    pattern, at = demo("scoop_skirt"), NAMES.index(title)
    info = dict(pattern.info)
    for i, name in enumerate(PRINTED, start=1):
        info[name] = replace(info[name], title=NAMES[(at + i) % len(NAMES)])
    return replace(pattern, name=title, info=info)


@pytest.mark.parametrize("title", part_of(NAMES, 3))
def test_any_name_prints(title: str, tmp_path: Path) -> None:
    data, _ = print_set(named(title), "a4", pieces=PRINTED)
    with pikepdf.open(BytesIO(data)) as document:
        assert not document.check_pdf_syntax()
        assert len(document.pages) >= 2
        assert "/JavaScript" not in document.Root and "/OpenAction" not in document.Root
    if title == NAMES[0]:
        assert title in text_of(data, tmp_path)


def test_a_set_without_pieces_has_nothing_to_print() -> None:
    pattern = replace(demo("scoop_skirt"), pieces={}, info={})
    with pytest.raises(EditError, match="nothing to print"):
        print_set(pattern)


def test_unknown_papers_list_those_that_are_known() -> None:
    for name in ("foolscap", "a44", "", "letters"):
        with pytest.raises(UnknownName) as caught:
            paper_of(name)
        assert all(known in str(caught.value) for known in PAPERS)
    assert paper_of(" A4 ") is PAPERS["a4"]


def test_a_piece_larger_than_the_paper_says_by_how_much() -> None:
    pattern = demo("slant_trouser")
    with pytest.raises(EditError, match=r"piece 'front' is .* mm long .* --layout tiled"):
        print_set(pattern, "a1", pieces=("front",), layout="sheets")
    wide = on_its_side(pattern)
    with pytest.raises(EditError, match=r"mm wide .* more than the 894.4 mm"):
        print_set(wide, "36in-roll", pieces=("front",))
    data, summary = print_set(wide, "36in-roll", pieces=("front",), layout="tiled")
    assert summary.pages == 3
    with pikepdf.open(BytesIO(data)) as document:
        assert all(abs(page_size(page)[0] - 914.4) < 1e-4 for page in document.pages)


def on_its_side(pattern: propagate.PatternSet) -> propagate.PatternSet:
    """The front with its grain across, so that its length lies across the roll."""
    piece = pattern.piece("front")
    nest = {}
    for size, sized in piece.nest.items():
        (x, y), grain = sized.grain.start, sized.grain
        nest[size] = replace(sized, grain=replace(grain, start=(x, y), end=(x + 100.0, y)))
    return replace(pattern, pieces={**pattern.pieces, "front": replace(piece, nest=nest)})


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--paper", "foolscap"], "known: a4, letter"),
        (["--size", "99"], "no size '99'"),
        (["--piece", "sleeve"], "no piece 'sleeve'"),
        (["--overlap", "much"], "expected 770"),
        (["--overlap", "200mm"], "smaller --overlap"),
        (["--overlap=-5mm"], "smaller --overlap"),
        (["--size", "42", "--all-sizes"], "exclude each other"),
        (["--font", "absent.ttf"], "cannot be read"),
        (["--layout", "round"], "tiled"),
        (["--paper", "a2"], "--layout tiled"),
    ],
)
def test_bad_usage_writes_nothing(words: list[str], said: str, tmp_path: Path) -> None:
    done = run("print", TROUSER, "-o", str(tmp_path / "out.pdf"), *words)
    assert done.exit_code == 2
    assert said in " ".join(done.output.split())
    assert list(tmp_path.iterdir()) == []


def test_targets_that_cannot_be_written(tmp_path: Path) -> None:
    words = ["print", SKIRT, "--piece", "bag_front", "-o"]
    there = tmp_path / "there.pdf"
    there.write_bytes(b"kept")
    done = run(*words, str(there))
    assert done.exit_code == 2 and "exists already" in done.output
    assert run(*words, str(there), "--replace").exit_code == 2
    assert there.read_bytes() == b"kept"  # which this program did not write
    there.unlink()
    assert run(*words, str(there)).exit_code == 0
    assert run(*words, str(there), "--replace").exit_code == 0
    assert there.read_bytes().startswith(b"%PDF")
    assert "is a folder" in run(*words, str(tmp_path)).output
    assert "is not a folder" in run(*words, str(tmp_path / "no" / "a.pdf")).output
    assert sorted(path.name for path in tmp_path.iterdir()) == [LIST_NAME, "there.pdf"]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no full device here")
def test_an_odd_target_is_refused() -> None:
    done = run("print", SKIRT, "--piece", "bag_front", "-o", "/dev/full", "--replace")
    assert done.exit_code == 2
    assert os.path.exists("/dev/full")  # noqa: PTH110 - not replaced


def test_the_command_tells_what_it_printed(tmp_path: Path) -> None:
    out = str(tmp_path / "out.pdf")
    said = plain(run("print", SKIRT, "--piece", "bag_front", "-o", out, "--json"))
    assert said["command"] == "print" and said["pieces"] == ["bag_front"]
    with pikepdf.open(out) as document:
        assert said["pages"] == len(document.pages)
    text = run("print", SKIRT, "--piece", "bag_front", "-o", out, "--replace").output
    assert "test squares" in text and "does not judge fit" in text
    assert all(len(line) <= 80 or out in line for line in text.splitlines())


def test_missing_glyphs_are_warned_of(tmp_path: Path) -> None:
    text = (Path(SKIRT) / "set.toml").read_text(encoding="utf-8")
    folder = tmp_path / "set"
    folder.mkdir()
    (folder / "geometry").symlink_to(Path(SKIRT) / "geometry")
    renamed = text.replace('title = "Top bag"', 'title = "裙 bag"')
    (folder / "set.toml").write_text(renamed, encoding="utf-8")
    words = ["print", str(folder), "--piece", "bag_front", "-o", str(tmp_path / "o.pdf")]
    done = run(*words)
    assert done.exit_code == 0, done.output
    assert "warning: no font has 裙 (U+88D9)" in done.output
