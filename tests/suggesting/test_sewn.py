"""`suggest --sewn`: a seam that a person says is measured, written, kept and taken back."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

import propagate
from propagate.cli import app
from propagate.engine.walk import walk
from propagate.io.folder import save
from propagate.pattern.ease import Ease
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Seam
from tests.suggesting.drafts import bare_of
from tests.suggesting.garment_drafts import SIZES, set_of, strip
from tests.suggesting.same_hand_drafts import GATHERED, lintel_dress
from tests.suggesting.strangers import seam_key

CAP = "sleeve.cap=front.armhole+back.armhole"


def run(folder: Path, *more: str, said: str = "") -> Result:
    return CliRunner().invoke(app.cli, ["suggest", str(folder), *more], input=said)


def sew(folder: Path, *runs: str) -> str:
    result = run(folder, *(word for one in runs for word in ("--sewn", one)))
    assert result.exit_code == 0, result.output
    return " ".join(result.output.split())


def refuse(folder: Path, *runs: str) -> str:
    before = (folder / "set.toml").read_bytes()
    result = run(folder, *(word for one in runs for word in ("--sewn", one)))
    assert result.exit_code == 2, result.output
    assert (folder / "set.toml").read_bytes() == before
    assert not folder.with_name(f"{folder.name}.answers.json").exists()
    return " ".join(result.output.split())


@pytest.fixture
def dress(tmp_path: Path) -> Path:
    """A dress with a puffed sleeve: bare geometry, and what is cut on the fold."""
    save(bare_of(lintel_dress()), tmp_path / "dress")
    return tmp_path / "dress"


@pytest.fixture
def shirt(tmp_path: Path) -> Path:
    """A shirt of which all is joined but its sleeve, whose ease lies between the notches."""
    shutil.copytree(propagate.demo_path("ferry_shirt"), tmp_path / "shirt")
    file = tmp_path / "shirt" / "set.toml"
    text = file.read_text(encoding="utf-8")
    begin = text.rindex("[[seam]]", 0, text.index('name = "armhole"'))
    file.write_text(text[:begin] + text[text.index("[[", begin + 2) :], encoding="utf-8")
    return tmp_path / "shirt"


def only_seam(pattern: PatternSet, edge: str) -> Seam:
    (found,) = [
        one
        for one in pattern.relations.seams.values()
        if edge in {span.key for span in (*one.lead, *one.follow)}
    ]
    return found


def test_a_gathered_sleeve_is_joined_and_sews(dress: Path) -> None:
    text = sew(dress, "front.shoulder=back.shoulder", "front.side=back.side", CAP)
    assert text.count(f"gathered {1 + GATHERED:g} to 1") == 5
    assert "armhole of front, then armhole of back" in text
    assert "3 confirmed" in text
    pattern = propagate.load(dress)
    seam = only_seam(pattern, "sleeve.cap")
    # Drafted with all of it between the notches, and both pieces for the same hand.
    assert isinstance(seam.ease, Ease)
    assert [to for to, _ in seam.ease.zones] == ["front.fore", "back.hind", "end"]
    assert [one for to, one in seam.ease.zones if to != "back.hind"] == [0.0, 0.0]
    own = {seam_key(one) for one in lintel_dress().relations.seams.values()}
    assert {seam_key(one) for one in pattern.relations.seams.values()} <= own
    assert all(walk(pattern, size, cut_lines=False).sews for size in pattern.sizes)


def test_gathers_of_one_ratio_are_written_as_such(tmp_path: Path) -> None:
    sizes = range(len(SIZES))
    drawn = [{"hem": strip(300 + 20 * k, 90), "frill": strip(450 + 30 * k, 60)} for k in sizes]
    save(set_of("frill", drawn, []), tmp_path / "frill")
    assert "written as: gathered 1.5 to 1" in sew(tmp_path / "frill", "frill.sewn=hem.sewn")
    seam = only_seam(propagate.load(tmp_path / "frill"), "frill.sewn")
    assert seam.ease == Ease(gathers=1.5) and seam.lead[0].piece == "hem"


def test_what_was_said_is_taken_back_byte_for_byte(dress: Path) -> None:
    before = (dress / "set.toml").read_bytes()
    sew(dress, "front.shoulder=back.shoulder")
    once = (dress / "set.toml").read_bytes()
    sew(dress, CAP)
    assert run(dress, "--ask", said="u\ns\n").exit_code == 0
    assert (dress / "set.toml").read_bytes() == once
    assert run(dress, "--ask", said="u\ns\n").exit_code == 0
    assert (dress / "set.toml").read_bytes() == before
    assert not propagate.load(dress).relations.seams


def test_the_direction_and_the_ease_are_those_of_the_draft(shirt: Path) -> None:
    """The draft's own seam says which way each edge runs and where the ease lies."""
    own = only_seam(propagate.load(propagate.demo_path("ferry_shirt")), "sleeve.cap")
    text = sew(shirt, "sleeve.cap=front.armhole+yoke.armhole+back.armhole")
    assert "Taken the likelier way round; the other way round is --sewn" in text
    pattern = propagate.load(shirt)
    found = only_seam(pattern, "sleeve.cap")
    assert seam_key(found) == seam_key(own)
    assert (found.lead, found.follow) == (own.lead, own.follow)
    assert (found.ease, found.notches) == (own.ease, own.notches)
    assert all(walk(pattern, size).sews for size in pattern.sizes)


def test_the_other_way_round_takes_the_place_of_the_first(shirt: Path) -> None:
    text = sew(shirt, "sleeve.cap=front.armhole+yoke.armhole+back.armhole")
    first = only_seam(propagate.load(shirt), "sleeve.cap")
    other = text.partition('way round is --sewn "')[2].partition('"')[0]
    assert "Sewn the way round that was said" in sew(shirt, other)
    turned = only_seam(propagate.load(shirt), "sleeve.cap")
    assert turned.follow == first.follow and turned.lead != first.lead


def test_the_order_and_the_direction_in_which_it_is_said_do_not_matter(shirt: Path) -> None:
    said = shutil.copytree(shirt, shirt.with_name("said"))
    for folder, text in (
        (shirt, "sleeve.cap=front.armhole+yoke.armhole+back.armhole"),
        (said, "Sleeve . Cap = Back.armhole + yoke.Armhole + front.armhole"),
    ):
        sew(folder, text.replace(" . ", "."))
    one, other = (only_seam(propagate.load(at), "sleeve.cap") for at in (shirt, said))
    assert seam_key(one) == seam_key(other)


def test_a_difference_that_grows_is_an_ease_for_each_size(dress: Path) -> None:
    sew(dress, "sleeve.wrist=front.armhole")
    pattern = propagate.load(dress)
    ease = only_seam(pattern, "sleeve.wrist").ease
    assert isinstance(ease, Ease) and [size for size, _ in ease.sizes] == list(pattern.sizes)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            "sleve.cap=front.armhole",
            "no piece 'sleve' in set 'lintel dress'; did you mean 'sleeve'?",
        ),
        ("sleeve.cup=front.armhole", "no edge 'cup' in piece 'sleeve'; did you mean 'cap'?"),
        ("sleeve.cap from here=front.armhole", "no mark 'here' in edge 'cap' of piece 'sleeve'"),
        ("sleeve.cap=sleeve.cap", "which cannot be sewn to itself"),
        ("sleeve.cap=front.armhole+front.armhole", "which cannot be sewn to itself"),
        ("sleeve.cap", "expected what is sewn on, '=', and what it is sewn to"),
        ("sleeve.cap=front.armhole+", "found '' in --sewn"),
        ("sleeve.cap=front", "found 'front' in --sewn"),
        ("sleeve.cap from end to end=front.armhole", "which begins where it ends"),
        ("front.centre=back.armhole", "where nothing is sewn"),
    ],
)
def test_what_cannot_be_sewn_is_told_and_nothing_is_written(
    dress: Path, text: str, told: str
) -> None:
    assert told in refuse(dress, "front.shoulder=back.shoulder", text)


def test_what_is_sewn_already_is_refused(shirt: Path) -> None:
    assert "'front.side' is sewn already, by seam" in refuse(shirt, "front.side=sleeve.cap")


def test_the_end_of_asking_says_how(dress: Path) -> None:
    assert '--sewn "PIECE.EDGE' in " ".join(run(dress, "--ask", said="s\n").output.split())
