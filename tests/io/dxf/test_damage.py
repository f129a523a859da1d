"""Damaged, hostile and huge files: a clear error or a report, never a traceback."""

from __future__ import annotations

import random
import re
from pathlib import Path

import ezdxf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from propagate.errors import FormatError, PropagateError
from propagate.io.dxf import WriteOptions, read, write
from propagate.io.dxf import conventions as c
from propagate.io.origin import source_of
from tests.builders import tiny_set
from tests.effort import calls_of
from tests.examples import goes_on
from tests.io.dxf.hand import (
    METRIC,
    SQUARE,
    block,
    insert,
    piece,
    point,
    points,
    polyline,
    save,
    style,
    text,
)

WORDS = (
    b"-1e308", b"nan", b"1e400", b"", b"999999999999", b"0", b"POLYLINE", b"INSERT", b"\xff\xfe",
    b"8", b"# 1", b"1e9", b"70", b"SEQEND", b"ENDBLK", b"EOF",
)  # fmt: skip


def mutated(data: bytes, rng: random.Random) -> bytes:
    """Return data with one kind of damage."""
    kind, size = rng.randrange(6), len(data)
    at = rng.randrange(size)
    if kind == 0:
        return data[:at]
    if kind == 1:
        changed = bytearray(data)
        for _ in range(rng.randrange(1, 20)):
            changed[rng.randrange(size)] = rng.randrange(256)
        return bytes(changed)
    if kind == 2:
        return data[:at] + data[at + rng.randrange(1, 400) :]
    if kind == 3:
        other = rng.randrange(size)
        return data[:at] + data[other : other + rng.randrange(1, 2000)] + data[at:]
    lines = data.split(b"\n")
    for _ in range(rng.randrange(1, 10)):
        if kind == 4:
            lines[rng.randrange(len(lines))] = rng.choice(WORDS)
        else:
            del lines[rng.randrange(len(lines))]
    return b"\n".join(lines)


@pytest.mark.parametrize("kind", ["nested", "rules"])
def test_damaged_files_give_an_error_or_a_report(kind: str, tmp_path: Path) -> None:
    pattern = tiny_set()
    write(pattern, tmp_path / "in.dxf", WriteOptions(kind=kind))  # type: ignore[arg-type]
    data = (tmp_path / "in.dxf").read_bytes()
    rules = (tmp_path / "in.rul").read_bytes() if kind == "rules" else b""
    rng = random.Random(20250203)
    path = tmp_path / "damaged.dxf"
    outcomes = {"read": 0, "refused": 0, "all": 0}
    of_the_sound = calls_of(lambda: read(tmp_path / "in.dxf"))

    def try_it() -> None:
        try:
            found, report = read(path)
        except PropagateError as error:
            outcomes["refused"] += "damaged." in str(error)  # names its file
            outcomes["all"] += 1
        else:
            outcomes["read"] += 1
            assert report.lines
            write(found, tmp_path / "out.dxf", WriteOptions(replace=True))

    for _ in range(300 if goes_on() else 16):
        of_rules = bool(rules) and rng.random() < 0.5
        path.write_bytes(data if of_rules else mutated(data, rng))
        if rules:
            path.with_suffix(".rul").write_bytes(mutated(rules, rng) if of_rules else rules)
        assert calls_of(try_it) < 50 * of_the_sound
    assert outcomes["read"] and outcomes["refused"] == outcomes["all"] > 0


def test_a_file_that_is_cut_off_gives_the_pieces_that_stand_whole(tmp_path: Path) -> None:
    content = style([piece(), piece(name="back")], METRIC)
    cut = content[: content.rindex("Piece Name: back") + 60]
    pattern, report = read(save(tmp_path / "cut.dxf", cut))
    source = source_of(pattern)
    assert source is not None and source.recovered
    assert any("cut off inside block 'back-38'" in note.text for note in report.of("warning"))
    write(pattern, tmp_path / "out.dxf")
    assert not ezdxf.readfile(tmp_path / "out.dxf").audit().errors


def test_a_binary_file_is_read_by_the_recovery_reader(tmp_path: Path) -> None:
    pattern = tiny_set()
    write(pattern, tmp_path / "in.dxf", WriteOptions(kind="nested", validation="none"))
    document = ezdxf.readfile(tmp_path / "in.dxf")
    document.saveas(tmp_path / "binary.dxf", fmt="bin")
    found, _ = read(tmp_path / "binary.dxf")
    source = source_of(found)
    assert source is not None and source.recovered
    assert list(found.pieces) == list(pattern.pieces)


@pytest.mark.parametrize("release", ["R12", "R2000", "R2018"])
@pytest.mark.parametrize("form", ["asc", "bin"])
def test_every_release_is_read_alike_sound_or_not(release: str, form: str, tmp_path: Path) -> None:
    """Written by ezdxf, as light polylines where the release has them."""
    document = ezdxf.new(release)
    block = document.blocks.new("front")
    draw = block.add_polyline2d if release == "R12" else block.add_lwpolyline
    draw([(0, 0), (300, 0), (300, 500), (0, 500)], close=True, dxfattribs={"layer": "1"})
    document.modelspace().add_blockref("front", (0, 0))
    path = tmp_path / "style.dxf"
    document.saveas(path, fmt=form)
    if form == "asc":  # a stray end of a block: the recovery reader
        text = path.read_text("utf-8")
        path.write_text(text.replace("  0\nENDBLK\n", "  0\nENDBLK\n  8\n0\n  0\nENDBLK\n", 1))
    found, _ = read(path)
    source = source_of(found)
    assert source is not None and source.recovered
    assert sorted(found.pieces["front"].at("one").outline.tolist()) == [
        [0, 0], [0, 500], [300, 0], [300, 500],
    ]  # fmt: skip


def test_misplaced_blank_lines_are_repaired_or_refused(tmp_path: Path) -> None:
    content = style([piece()], METRIC).replace("ENDBLK\n8\n0\n", "ENDBLK\n8\n0\n999\n", 1)
    with pytest.raises(FormatError, match=r"bad\.dxf.*export it again"):
        read(save(tmp_path / "bad.dxf", content + "x\n"))


@pytest.mark.parametrize(
    "content",
    ["", "\n\n", "hello", "  0\nEOF\n", "<svg/>", "\x00" * 100, "0\nSECTION\n"],
)
def test_what_is_no_dxf_is_refused_by_name(content: str, tmp_path: Path) -> None:
    with pytest.raises(FormatError, match=r"no\.dxf"):
        read(save(tmp_path / "no.dxf", content))
    with pytest.raises(FormatError, match=r"gone\.dxf"):
        read(tmp_path / "gone.dxf")


def test_too_large_a_file_is_refused_before_it_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = save(tmp_path / "big.dxf", style([piece()], METRIC))
    for limit, word in (("MAX_BYTES", "MB"), ("MAX_LINES", "lines")):
        with monkeypatch.context() as patch:
            patch.setattr(f"propagate.io.dxf.frame.{limit}", 100)
            with pytest.raises(FormatError, match=word):
                read(path)


def bomb(levels: int, wide: int) -> list[str]:
    first = block("b0", polyline("1", SQUARE) + points("2", SQUARE))
    return [first, *(block(f"b{n}", insert(f"b{n - 1}") * wide) for n in range(1, levels))]


def knot(count: int) -> list[str]:
    """Blocks that all hold each other."""
    names = [f"k{index}" for index in range(count)]
    return [block(name, *(insert(other) for other in names if other != name)) for name in names]


MOST_CALLS = 1_000_000
"""Those of a second or two."""


def refuse(path: Path, words: str) -> None:
    with pytest.raises(FormatError, match=words):
        read(path)


def test_blocks_that_hold_each_other_end_in_time(tmp_path: Path) -> None:
    inserts = [insert(f"k{index}") for index in range(30)]
    path = save(tmp_path / "knot.dxf", style([piece(), *knot(30)], METRIC, *inserts))
    assert calls_of(lambda: refuse(path, r"deep|more than")) < MOST_CALLS


@pytest.mark.parametrize(
    ("blocks", "word"),
    [
        (bomb(7, 30), f"more than {c.MAX_SHAPES}"),
        (bomb(30, 2), f"more than {c.MAX_DEPTH} deep"),
        ([block(f"b{i}") for i in range(c.MAX_BLOCKS + 1)], f"more than {c.MAX_BLOCKS} blocks"),
        ([piece(point("4", (1, 1)) * 6000)], "more than 300 notches"),
        ([piece(polyline("1", SQUARE) * 6000)], "more than 5000 lines"),
        ([piece(text("15", (0, 0), "@edge a") * 6000)], "more than 5000 texts"),
    ],
    ids=["shapes", "depth", "blocks", "notches", "lines", "names"],
)
def test_bombs_are_refused_in_time(blocks: list[str], word: str, tmp_path: Path) -> None:
    inserts = [insert(found.split("\n")[3]) for found in blocks]
    path = save(tmp_path / "bomb.dxf", style(blocks, METRIC, *inserts))
    assert calls_of(lambda: refuse(path, word)) < MOST_CALLS


def test_a_rule_table_with_too_many_sizes_is_refused(tmp_path: Path) -> None:
    path = save(tmp_path / "x.dxf", style([piece()], METRIC))
    sizes = " ".join(map(str, range(c.MAX_SIZES + 1)))
    save(tmp_path / "x.rul", f"SIZE LIST: {sizes}\nSAMPLE SIZE: 1\nEND\n")
    with pytest.raises(FormatError, match=r"x\.rul"):
        read(path)


LINES = st.text("aRU LEDTN/_:#1\t\r", max_size=24) | st.sampled_from(
    [
        "RULE: DELTA 1",
        " rule delta  12 0,0 ",
        "Style Name :  a b ",
        "SIZES:",
        "a:b:c ",
        "RULE : DELTA",
    ]
)


@given(LINES)
def test_lines_are_read_as_by_the_plain_spelling_that_takes_long(line: str) -> None:
    plain = re.compile(r"\s*([A-Za-z][A-Za-z _/]*?)\s*:\s*(.*?)\s*", re.DOTALL)
    head = re.compile(r"\s*RULE\s*:?\s*DELTA\s+(\S+)\s*(.*)", re.IGNORECASE)
    for quick, slow in ((c.SYSTEM_TEXT, plain), (c.RULE_HEAD, head)):
        found, wanted = quick.fullmatch(line), slow.fullmatch(line)
        assert (found and found.groups()) == (wanted and wanted.groups())


@pytest.mark.parametrize("form", ["{}x", "RULE{}x", "RULE: DELTA{}", "Name{}x", "a:{}b{}c", "a{}"])
def test_many_blanks_in_a_line_take_no_longer_than_their_number(form: str) -> None:
    """It ends: a pattern that gives blanks back would be at a line like this for hours."""
    for pattern in (c.SYSTEM_TEXT, c.RULE_HEAD, c.RULE_NUMBER):
        few, many = (pattern.fullmatch(form.replace("{}", " " * n)) for n in (3, 1_000_000))
        assert (few is None) == (many is None)
