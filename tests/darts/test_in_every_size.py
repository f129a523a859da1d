"""Edits of darts on whole nests, from the command line and from files."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

import propagate
from propagate import NamedEdit, apply_edits
from propagate.cli import app
from propagate.pattern.validate import find_problems
from tests import shared
from tests.darts.bodice import SIZES, bodice
from tests.darts.drawn import angle_of, cloth, leg_lengths, sewn
from tests.darts.edits import divide, move, resize, swing
from tests.io.test_schema import validator

_EDITS = {
    "scoop_skirt": [
        swing("skirt_back", "back_dart", "cb", 150.0),
        swing("skirt_back", "back_dart", "cb", 150.0, share=0.4),
        divide("skirt_back", "back_dart", 44.0),
        move("skirt_back", "back_dart", -12.0),
        resize("skirt_back", "back_dart", 5.0),
        resize("skirt_back", "back_dart", -5.0),
    ],
    "slant_trouser": [
        swing("back", "dart", "centre", "hip", share=0.5),
        divide("back", "dart", 44.0, share=0.6),
        move("back", "dart", 12.0),
        resize("back", "dart", 5.0),
    ],
}
CASES = [(demo, k) for demo, edits in _EDITS.items() for k in range(len(edits))]


@pytest.mark.parametrize(("demo", "number"), CASES)
def test_every_size_of_the_demo_sets_sews_and_no_mate_follows(demo: str, number: int) -> None:
    """Every edge keeps its sewn length, so nothing that is sewn to the piece has to change."""
    pattern = shared.demo(demo)
    edit = _EDITS[demo][number]
    piece = edit.dart.partition(".")[0]
    found = apply_edits(pattern, [NamedEdit("one", edit)])
    assert found.sews and find_problems(found.pattern) == ()
    for size in pattern.sizes:
        old, new = pattern.sized(piece, size), found.pattern.sized(piece, size)
        drawn = np.ptp(leg_lengths(old, edit.dart.partition(".")[2]))
        for dart in new.darts:
            assert np.ptp(leg_lengths(new, dart.name)) <= drawn + 1e-4
        for name in old.edge_names:
            assert sewn(new, name) == pytest.approx(sewn(old, name), abs=0.01), (size, name)
        for other in pattern.pieces:
            if other != piece:
                before, after = pattern.sized(other, size), found.pattern.sized(other, size)
                assert after.edges == before.edges, (size, other)
        if edit.word == "swing-dart":
            assert cloth(new) == pytest.approx(cloth(old), abs=0.01)
            whole = angle_of(old, old.darts[0].name)
            assert sum(angle_of(new, d.name) for d in new.darts) == pytest.approx(whole, abs=1e-4)


def test_amounts_hold_in_proportion_too() -> None:
    """The width of the mouth grows with the size, and so does what it is made wider by."""
    skirt = shared.demo("scoop_skirt")
    edit = NamedEdit("wider", resize("skirt_back", "back_dart", 6.0))
    found = apply_edits(skirt, [edit], graded="proportion")

    def width(pattern: propagate.PatternSet, size: str) -> float:
        piece = pattern.sized("skirt_back", size)
        a, b = (piece.landmark(leg).point for leg in piece.darts[0].legs)
        return float(np.hypot(*np.subtract(a, b)))

    gains = [width(found.pattern, s) / width(skirt, s) for s in (skirt.sizes[0], skirt.base)]
    assert gains[0] == pytest.approx(gains[1], abs=0.01)


FILE = """\
format = 1

[[edit]]
name = "half to the side"
do = "swing-dart"
dart = "front.waist_dart"
into = "side"
at = "110mm"
share = "50%"
title = "x"
"""


def run(*args: str, status: int = 0) -> str:
    result = CliRunner().invoke(app.cli, list(args))
    assert result.exit_code == status, result.output
    return result.output


def test_a_file_swings_and_moves_one_after_the_other(tmp_path: Path) -> None:
    propagate.save(bodice(), tmp_path / "set")
    file = tmp_path / "edits.toml"
    file.write_text(
        FILE.replace('title = "x"\n', "")
        + '\n[[edit]]\nname = "rest aside"\ndo = "move-dart"\ndart = "front.waist_dart"\n'
        'by = "10mm"\n',
        encoding="utf-8",
    )
    text = run("apply", str(tmp_path / "set"), str(file), "-o", str(tmp_path / "out"))
    assert "all sew together; the largest difference is" in " ".join(text.split())
    assert "before 24.00 wide, now" in " ".join(text.split())
    assert "a new dart," in " ".join(text.split())
    told = json.loads((tmp_path / "out" / "revised.json").read_text(encoding="utf-8"))
    validator("revised").validate(told)
    assert {(d["name"], d["what"]) for d in told["darts"]} == {
        ("waist_dart", "changed"),
        ("waist_dart_2", "came"),
    }
    new = propagate.load(tmp_path / "out")
    old = bodice()
    for size in SIZES:
        for name in ("front", "lining"):
            piece = new.sized(name, size)
            assert [d.edge for d in piece.darts] == ["waist", "side"]
            for edge in ("waist", "side"):
                own = old.sized(name, size)
                assert sewn(piece, edge) == pytest.approx(sewn(own, edge), abs=1e-3)
        assert new.sized("back", size).edges == old.sized("back", size).edges
    file.write_text(FILE, encoding="utf-8")
    assert "'title'" in run("apply", str(tmp_path / "set"), str(file), status=2)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        (["swing-dart", "dart=front.waist_dart", "into=sid", "at=20mm"], "did you mean 'side'?"),
        (["swing-dart", "dart=front.waist_dart", "into=side", "at=hips"], "no place 'hips'"),
        (["swing-dart", "dart=front.waist", "into=side", "at=20mm"], "no dart 'waist'"),
        (["swing-dart", "dart=waist_dart", "into=side", "at=20mm"], "no piece 'waist_dart'"),
        (["swing-dart", "dart=front.waist_dart", "into=side", "at=900mm"], "nearest possible"),
        (["narrow-dart", "dart=front.waist_dart", "by=90mm"], "the most possible is 23.0 mm"),
        (["move-dart", "dart=front.waist_dart", "by=-5mm"], "expected more than 0"),
    ],
)
def test_words_that_cannot_be_are_refused(tmp_path: Path, said: list[str], words: str) -> None:
    propagate.save(bodice(), tmp_path / "set")
    out = tmp_path / "out"
    text = run("change", str(tmp_path / "set"), *said, "-o", str(out), status=2)
    assert words in " ".join(text.split()) and "Traceback" not in text
    assert not out.exists()


@pytest.mark.parametrize(("demo", "number"), CASES)
def test_what_the_edit_drew_in_the_base_size_is_carried_as_a_drawing(
    demo: str, number: int
) -> None:
    """Caps and all, to sizes whose darts lie elsewhere: legs stay equal, and lengths near."""
    pattern = shared.demo(demo)
    edit = _EDITS[demo][number]
    piece = edit.dart.partition(".")[0]
    drawn = propagate.run(pattern, edit).pattern.sized(piece, pattern.base)
    found = propagate.revise(pattern, {piece: propagate.Piece(piece, {pattern.base: drawn})})
    assert found.sews and find_problems(found.pattern) == ()
    # A swing is done anew in each size.  Of the others the base size's millimetres are carried,
    # to edges of another slope.
    near = 0.02 if edit.word == "swing-dart" else 0.5
    for size in pattern.sizes:
        old, new = pattern.sized(piece, size), found.pattern.sized(piece, size)
        assert sorted((d.name, d.edge) for d in new.darts) == sorted(
            (d.name, d.edge) for d in drawn.darts
        )
        for dart in new.darts:
            assert np.ptp(leg_lengths(new, dart.name)) <= 0.05, (size, dart.name)
        for name in old.edge_names:
            assert sewn(new, name) == pytest.approx(sewn(old, name), abs=near), (size, name)
