"""Text output: numbers, units, tables and sentences at 80 columns."""

from __future__ import annotations

import shlex
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

import propagate
from propagate.cli.app import cli
from propagate.engine.record import Notice
from propagate.engine.walk import Check, Walk
from propagate.io.output import LIST_NAME
from propagate.pattern.titles import piece_title
from propagate.report.blend_text import blend_lines, list_failures
from propagate.report.check_words import CHECKS, words_of
from propagate.report.layout import WIDTH, Column, lay_entries, lay_table, wrap_sentence
from propagate.report.notices import list_warnings, notices_of, say_notice_of
from propagate.report.units import INCHES, MILLIMETRES
from propagate.report.walk_text import walk_lines, walks_lines
from propagate.report.why import why_lines


def test_numbers_that_are_nothing_have_no_sign() -> None:
    assert MILLIMETRES.change(-0.04) == "0.0"
    assert MILLIMETRES.change(0.06) == "+0.1"
    assert MILLIMETRES.small(-0.004) == "0.00"
    assert MILLIMETRES.length(-0.0) == "0.0"
    assert INCHES.length(768.35) == "30.25"
    assert INCHES.change(-25.4) == "-1.00"
    assert INCHES.area(25.4**2) == "1.00 in²"


def test_sentences_keep_to_the_width_but_never_break_a_name() -> None:
    name = "a_name_" + "x" * 100
    lines = wrap_sentence(f"some words and {name} " + "more words " * 20, 2, 2)
    assert any(name in line for line in lines)
    assert all(len(line) <= WIDTH or name in line for line in lines)


def test_a_row_with_a_long_name_goes_on_below() -> None:
    rows = [["x" * 70, "1.0", "2.0"], ["short", "10.0", "20.0"]]
    lines = lay_table([Column("name"), Column("a", number=True), Column("b", number=True)], rows)
    assert all(len(line) <= WIDTH for line in lines)
    long = next(i for i, line in enumerate(lines) if "xxx" in line)
    if "1.0" not in lines[long]:
        assert lines[long + 1].split() == ["1.0", "2.0"]
    columns = {line.rindex("0") for line in lines if "." in line}
    assert len(columns) == 1


def test_entries_wrap_beside_their_names() -> None:
    lines = lay_entries([("a", "word " * 30), ("a_very_long_name_of_a_seam", "text")])
    assert all(len(line) <= WIDTH for line in lines)
    assert lines[0].startswith("  a  word")


def check(verdict: str, difference: float) -> Check:
    return Check(
        "seam",
        f"seam_{verdict[:4]}",
        "a.b | c.d",
        100.0,
        100.0 + difference,
        0.0,
        difference,
        1.5,
        verdict,
        None,
    )  # type: ignore[arg-type]


def test_a_walk_says_the_worst_first() -> None:
    walk = Walk(
        "a set", "38", (check("sews", 0.0), check("look", 1.0), check("does not sew", -4.0))
    )
    lines = walk_lines(walk)
    assert lines[0] == "a set, size 38: 1 of 3 checks DOES NOT SEW, 1 to look at"
    text = "\n".join(lines)
    assert text.index("seam_does: does not sew") < text.index("seam_look: sews, look at it")
    every = "\n".join(walks_lines([walk, replace(walk, size="40")]))
    assert "-4.00" in every
    assert "DOES NOT SEW" in every


def test_what_does_not_sew_is_told_with_what_to_do() -> None:
    """In the words of the notices, by one walk and once for all sizes, and of every kind."""
    walk = Walk("a set", "38", (check("does not sew", -4.0), check("look", 1.0)))
    to_do = "change one of the two sides so that they agree, or say it as an ease of the seam"
    worse = replace(walk, size="40", checks=(check("does not sew", -5.0),))
    said = " ".join(" ".join(walk_lines(walk)).split())
    assert said.count(to_do) == 1
    said = " ".join(" ".join(walks_lines([walk, worse])).split())
    assert said.count(to_do) == 1
    assert "size 40: seam seam_does: does not sew: off by -5.00 mm" in said
    for kind in CHECKS:
        assert ";" not in words_of(kind).to_do  # it stands behind one


def test_the_same_warning_of_two_pieces_is_said_once(
    results: dict[str, propagate.Result],
) -> None:
    result = results["slant_trouser"]
    notices = (
        Notice("under_bag", "one text", "look"),
        Notice("top_bag", "one text", "look"),
        Notice("full_front/side", "bends back", "look"),
        Notice("side_seam", "of a seam", "look"),
        Notice("front_pocket", "of an opening", "look"),
        Notice("front_pocket_layers", "of a stack", "look"),
        Notice("waistband_fit", "of a band", "look"),
        Notice("nothing known", "of nothing", "look"),
    )
    spoilt = propagate.Result(result.pattern, replace(result.record, warnings=notices))
    pattern = spoilt.pattern
    first = list_warnings(pattern, spoilt.record)[0]
    assert (first.where, first.text) == ("under bag, top bag", "one text; look")
    assert first.places == ("under_bag", "top_bag")

    def said_of(piece: str) -> list[str]:
        return [say_notice_of(pattern, piece, one) for one in notices_of(spoilt, piece)]

    assert said_of("top_bag") == ["one text; look", "front pocket layers: of a stack; look"]
    seam = "side seam: of a seam; look"
    bend = "side of full front: bends back; look"
    assert said_of("front") == [bend, seam, "front pocket: of an opening; look"]
    assert said_of("facing") == [bend, seam, "front pocket layers: of a stack; look"]
    assert said_of("back") == [seam]
    assert said_of("waistband") == ["waistband fit: of a band; look"]


@pytest.mark.parametrize("unit", [MILLIMETRES, INCHES])
def test_a_blend_at_80_columns(results: dict[str, propagate.Result], unit: object) -> None:
    for result in results.values():
        lines = blend_lines(result, unit)  # type: ignore[arg-type]
        assert all(len(line) <= WIDTH for line in lines)
        text = "\n".join(lines)
        for piece in result.pattern.pieces:
            assert piece_title(result.pattern, piece).lower() in text.lower()
            for line in why_lines(result, piece, unit):  # type: ignore[arg-type]
                assert len(line) <= WIDTH


def test_failures_come_worst_first(results: dict[str, propagate.Result]) -> None:
    record = results["slant_trouser"].record
    assert list_failures(record) == []
    first, second, *rest = record.seams
    spoilt = replace(
        record,
        seams=(
            replace(first, difference=2.0, verdict="does not sew"),
            replace(second, difference=-9.0, verdict="does not sew"),
            *rest,
        ),
    )
    lines = list_failures(spoilt)
    assert [second.name in lines[0], first.name in lines[1]] == [True, True]
    assert f"off by -9.00 mm, allowed {second.tolerance:.1f}" in lines[0]
    assert "off by -0.354 in, allowed" in list_failures(spoilt, INCHES)[0]


def test_another_edit_is_told_by_its_own_words(results: dict[str, propagate.Result]) -> None:
    result = results["slant_trouser"]
    record = replace(result.record, edit={"kind": "revise", "pieces": ["front"]})
    text = "\n".join(blend_lines(propagate.Result(result.pattern, record)))
    assert f"\nslant trouser: {result.record.changes[0].what}" in text
    assert "<svg" in propagate.draw(propagate.Result(result.pattern, record), "belt_loop")


def test_the_next_lines_of_a_blend_are_ready_commands(tmp_path: Path) -> None:
    """Each is run as it stands, in a folder with a space in its name."""
    folder, at = str(tmp_path / "my result"), str(propagate.demo_path("scoop_skirt"))
    words = ["blend", at, "--size", "natural_waist=S", "--size", "seat=L", "-o", folder]
    done = CliRunner().invoke(cli, words)
    assert done.exit_code == 0, done.output
    _, found, rest = done.output.partition("  next: ")
    assert found
    commands = [shlex.split(line) for line in rest.partition("\n\n")[0].splitlines()]
    assert [command[1] for command in commands] == ["report", "sheet", "print", "draw", "why"]
    for program, *command in commands:
        assert program == "propagate"
        ran = CliRunner().invoke(cli, command)
        assert ran.exit_code == 0, ran.output
    written = {path.name for path in tmp_path.iterdir()}
    names = {".html", "_sheet.pdf", ".pdf", "_pictures", ""}
    assert written == {LIST_NAME, *(f"my result{name}" for name in names)}
