"""`suggest --ask`: what is said and written, resumed, taken back, and interrupted."""

from __future__ import annotations

import io
import json
import os
import signal
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner, Result

import propagate
from propagate.cli import app
from propagate.cli.asking import Sitting, confirm_answers
from propagate.engine.walk import walk
from tests.suggesting.bare_folders import bare_folder

SKIRT = ["y"] * 7
"""A person who says yes to all that the skirt's own set has, the likeliest first."""
SECONDS = 60


@pytest.fixture
def bare(tmp_path: Path) -> Path:
    return bare_folder("scoop_skirt", tmp_path / "skirt")


def run(bare: Path, answers: list[str], *more: str) -> Result:
    said = "".join(f"{word}\n" for word in answers)
    return CliRunner().invoke(app.cli, ["suggest", str(bare), *more], input=said)


def ask(bare: Path, *answers: str, more: tuple[str, ...] = ()) -> str:
    result = run(bare, list(answers), "--ask", *more)
    assert result.exit_code == 0, result.output
    return result.output


def kept(bare: Path) -> list[dict[str, object]]:
    file = bare.with_name("skirt.answers.json")
    found: list[dict[str, object]] = json.loads(file.read_text(encoding="utf-8"))["answers"]
    return found


def test_yes_is_written_below_what_was_there(bare: Path) -> None:
    before = (bare / "set.toml").read_text(encoding="utf-8")
    text = ask(bare, *SKIRT)
    after = (bare / "set.toml").read_text(encoding="utf-8")
    # The skirt is known: its upper edges are called so from now on, beside the titles it has.
    titles = [line for line in after.splitlines() if line.endswith('.top" = "waist"')]
    assert len(titles) == 3
    for line in titles:
        after = after.replace(f"{line}\n", "")
    assert after.startswith(before.rstrip("\n"))
    assert "# + the lengths agree within" in after
    assert "Are these two sewn together?" in text
    assert "7 confirmed, 0 refused" in text
    assert "Sewn to nothing yet:" in text
    pattern = propagate.load(bare)
    assert len(pattern.relations.seams) == 4
    assert len(pattern.relations.bands) == len(pattern.relations.stacks) == 1
    assert all(walk(pattern, size).sews for size in pattern.sizes)
    assert [path.name for path in sorted(bare.iterdir())] == ["geometry", "set.toml"]


def test_two_sittings_come_to_the_same_bytes_as_one(bare: Path, tmp_path: Path) -> None:
    (tmp_path / "other").mkdir()
    other = bare_folder("scoop_skirt", tmp_path / "other" / "skirt")
    ask(bare, *SKIRT)
    for words in (SKIRT[:2], [], SKIRT[2:3], [*SKIRT[3:], "stop"]):
        ask(other, *words)
    assert (other / "set.toml").read_bytes() == (bare / "set.toml").read_bytes()
    assert kept(other) == kept(bare)


def test_a_second_sitting_asks_what_is_left(bare: Path) -> None:
    first = ask(bare, "y", "y", "n", "s")
    assert "1. " in first and "4. " in first
    second = ask(bare, "s")
    assert "\n4. " in second
    assert "2 confirmed, 1 refused" in second
    again = [line for line in first.splitlines() if line.startswith("4. ")]
    assert again == [line for line in second.splitlines() if line.startswith("4. ")]


def test_an_answer_is_taken_back_in_a_later_sitting_too(bare: Path) -> None:
    before = (bare / "set.toml").read_text(encoding="utf-8")
    ask(bare, "y", "s")
    once = (bare / "set.toml").read_bytes()
    ask(bare, "y", "s")
    ask(bare, "u", "s")
    assert (bare / "set.toml").read_bytes() == once
    ask(bare, "u", "s")
    assert (bare / "set.toml").read_text(encoding="utf-8") == before.rstrip("\n") + "\n"
    assert kept(bare) == []
    assert not propagate.load(bare).relations.seams


def test_what_somebody_changed_by_hand_stays(bare: Path) -> None:
    ask(bare, "y", "y", "s")
    file = bare / "set.toml"
    text = file.read_text(encoding="utf-8")
    edited = text.replace("check = true", "check = true\ntolerance = 2", 1)
    assert edited != text
    file.write_text(edited, encoding="utf-8")
    said = ask(bare, "u", "s")
    assert "changed in set.toml since" in said
    left = file.read_text(encoding="utf-8")
    assert "tolerance = 2" in left
    assert len(propagate.load(bare).relations.assemblies) == 0
    assert len(propagate.load(bare).relations.seams) == 1


def test_what_somebody_took_out_is_asked_again(bare: Path) -> None:
    before = (bare / "set.toml").read_text(encoding="utf-8")
    first = ask(bare, "y", "s")
    (bare / "set.toml").write_text(before, encoding="utf-8")
    assert ask(bare, "s").count("\n1. ") == 1
    assert first.split("\n1. ")[1].split("\n")[0] in ask(bare, "s")


def test_ends_of_lines_stay_as_they_were(bare: Path) -> None:
    file = bare / "set.toml"
    file.write_bytes(file.read_bytes().replace(b"\n", b"\r\n"))
    ask(bare, "y", "y", "s")
    once = file.read_bytes()
    assert b"\n" not in once.replace(b"\r\n", b"")
    ask(bare, "y", "s")
    ask(bare, "u", "s")
    assert file.read_bytes() == once


def test_a_seam_goes_by_one_word_on_its_pieces(bare: Path) -> None:
    """An edge of the under bag is called edge_3, as a file without names has it."""
    bag, file = bare / "geometry" / "bag_back.json", bare / "set.toml"
    bag.write_text(bag.read_text("utf-8").replace('"bag_curve"', '"edge_3"'), "utf-8")
    before = file.read_text("utf-8").replace('"bag_curve.start" ', '"edge_3.start" ')
    file.write_text(before, "utf-8")
    first = ask(bare, "y", "y", "y", "s")
    assert "edge 3 of under bag" in first
    pattern = propagate.load(bare)
    assert pattern.relations.titles["bag_back.edge_3"] == "bag curve"
    assert all(line in file.read_text("utf-8").split("\n") for line in before.split("\n"))
    again = (file.read_bytes(), kept(bare))
    ask(bare, "s")
    assert (file.read_bytes(), kept(bare)) == again
    ask(bare, "u", "u", "u", "s")
    assert "bag_back.edge_3" not in propagate.load(bare).relations.titles
    assert file.read_text("utf-8") == before.rstrip("\n") + "\n"


def test_an_edge_of_a_known_garment_is_called_as_it_is_there(bare: Path) -> None:
    """The back's side has no name: on a skirt it is the side, whatever the front calls its own."""
    back, file = bare / "geometry" / "skirt_back.json", bare / "set.toml"
    back.write_text(back.read_text("utf-8").replace('"flank"', '"edge_3"'), "utf-8")
    text = file.read_text("utf-8").replace('"flank/top" = "square" }', '"edge_3/top" = "square" }')
    text = text.replace('seat_notch = "flank.start" ', 'seat_notch = "edge_3.start" ')
    file.write_text(text, "utf-8")
    assert "side of skirt back" in ask(bare, "y", "y", "y", "s")
    titles = propagate.load(bare).relations.titles
    assert titles["skirt_back.edge_3"] == "side" and "skirt_front.flank" not in titles


def test_words_letters_and_mistakes(bare: Path) -> None:
    text = ask(bare, "perhaps", "", "YES", "No", "later", "Other way  round", "stop")
    assert "Found 'perhaps', expected one of these" in text
    assert [one["answer"] for one in kept(bare)][:2] == ["yes", "no"]


def test_what_was_put_off_is_told(bare: Path) -> None:
    text = ask(bare, *["l"] * 12)
    assert text.count("What follows was put off") == 1
    assert "0 confirmed, 0 refused" in text
    assert "set.toml stays as it is" in text


def test_each_question_is_drawn_before_it_is_asked(bare: Path, tmp_path: Path) -> None:
    folder = tmp_path / "pictures"
    text = ask(bare, "y", "n", "s", more=("--pictures", str(folder)))
    names = sorted(path.name for path in folder.glob("*.svg"))
    assert names == ["question-01.svg", "question-02.svg", "question-03.svg"]
    for name in names:
        assert str(folder / name) in text.replace("\n", "")
        drawn = ElementTree.parse(folder / name).getroot()
        assert drawn.find(".//*[@id='strand']") is not None


@pytest.mark.parametrize(
    "options",
    [("--ask", "--accept", "0.9"), ("--ask", "--json"), ("--pictures", "there")],
)
def test_what_does_not_go_together_is_refused(bare: Path, options: tuple[str, ...]) -> None:
    before = (bare / "set.toml").read_bytes()
    result = run(bare, [], *options)
    assert result.exit_code == 2
    assert (bare / "set.toml").read_bytes() == before


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("{", "not readable as JSON"),
        ('{"format": 5, "set": "x", "answers": []}', "newer"),
        ('{"format": 1, "set": "other", "answers": []}', "expected about 'scoop skirt'"),
        (
            '{"format": 1, "set": "scoop skirt", "answers": [{"kind": "seam", "runs": [["x"]], '
            '"answer": "yes", "text": "[pieces.x]"}]}',
            "relations of the kinds",
        ),
        (
            '{"format": 1, "set": "scoop skirt", "answers": [{"kind": "seam", "runs": [], '
            '"answer": "perhaps"}]}',
            "perhaps",
        ),
    ],
)
def test_a_file_of_answers_that_is_none_is_refused(
    bare: Path, tmp_path: Path, content: str, words: str
) -> None:
    before = (bare / "set.toml").read_bytes()
    file = tmp_path / "answers.json"
    file.write_text(content, encoding="utf-8")
    result = run(bare, [], "--answers", str(file))
    assert result.exit_code == 2
    assert words in " ".join(result.output.split())
    assert (bare / "set.toml").read_bytes() == before


def test_answers_of_a_file_are_taken_over(bare: Path, tmp_path: Path) -> None:
    (tmp_path / "other").mkdir()
    other = bare_folder("scoop_skirt", tmp_path / "other" / "skirt")
    ask(other, *SKIRT, "n")
    file = other.with_name("skirt.answers.json")
    result = run(bare, [], "--answers", str(file))
    assert result.exit_code == 0, result.output
    assert (bare / "set.toml").read_bytes() == (other / "set.toml").read_bytes()
    assert kept(bare) == kept(other)
    again = run(bare, [], "--answers", str(file))
    assert "set.toml stays as it is" in again.output


# ------------------------------------------------------------------------- interrupted


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGKILL])
def test_interrupted_in_the_middle(bare: Path, how: signal.Signals) -> None:
    before = (bare / "set.toml").read_bytes()
    command = [sys.executable, "-u", "-m", "propagate", "suggest", str(bare), "--ask"]
    # Tests that run in the background ignore it, and what they start would inherit that.
    usual = signal.signal(signal.SIGINT, signal.default_int_handler)
    asked = subprocess.Popen(
        command,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(Path(propagate.__file__).parent.parent)},
        text=True,
    )
    signal.signal(signal.SIGINT, usual)
    assert asked.stdin is not None and asked.stdout is not None
    asked.stdin.write("y\ny\n")
    asked.stdin.flush()
    for line in asked.stdout:
        if line.startswith("3. "):
            break
    asked.send_signal(how)
    asked.communicate(timeout=SECONDS)
    assert asked.returncode in (130, -how)
    assert (bare / "set.toml").read_bytes() == before
    assert [one["answer"] for one in kept(bare)] == ["yes", "yes"]
    text = ask(bare, *SKIRT[2:])
    assert "\n3. " in text and "7 confirmed" in text
    pattern = propagate.load(bare)
    assert len(pattern.relations.seams) == 4


def test_a_second_sitting_at_the_same_time_is_told(bare: Path) -> None:
    """Another one keeps an answer while a question waits: what it kept stays."""

    class Typing(io.StringIO):
        def readline(self, *_: object) -> str:
            ask_other()
            return "n\n"

    def ask_other() -> None:
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr("sys.stdin", io.StringIO("y\n"))
            confirm_answers(sitting(), asks=True, answers=None, pictures=None)

    def sitting() -> Sitting:
        return Sitting(str(bare), propagate.load(bare), 0.3)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("sys.stdin", Typing())
        with pytest.raises(propagate.OutputError, match="another sitting goes on"):
            confirm_answers(sitting(), asks=True, answers=None, pictures=None)
    assert [one["answer"] for one in kept(bare)] == ["yes"]
    assert len(propagate.load(bare).relations.seams) == 1


def test_answers_that_cannot_be_read_are_told_with_what_to_do(bare: Path) -> None:
    file = bare.with_name("skirt.answers.json")
    ask(bare, "y", "y", "s")
    sound = file.read_bytes()
    before = (bare / "set.toml").read_bytes()
    for content in (sound[: len(sound) // 2], b"", sound.replace(b"scoop skirt", b"another")):
        file.write_bytes(content)
        result = run(bare, ["y"], "--ask")
        assert result.exit_code == 2
        said = " ".join(result.output.split())
        assert "move the file away to be asked afresh" in said
        assert file.read_bytes() == content and (bare / "set.toml").read_bytes() == before
    file.unlink()
    assert "2 confirmed" not in ask(bare, "s")  # what stands in the set is not asked again
    assert (bare / "set.toml").read_bytes() == before


def test_without_an_input_nothing_is_answered(
    bare: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A shell can close it."""
    monkeypatch.setattr("sys.stdin", None)
    sitting = Sitting(str(bare), propagate.load(bare), 0.3)
    confirm_answers(sitting, asks=True, answers=None, pictures=None)
    assert "0 confirmed" in capsys.readouterr().out


def test_a_folder_that_cannot_be_written_is_told_before_anything_is_asked(
    bare: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("os.access", lambda *_: False)
    result = run(bare, ["y"], "--ask")
    assert result.exit_code == 2
    assert "cannot be written" in result.output and "nothing was asked" in result.output
    assert "1. " not in result.output


def test_a_set_of_one_size_is_not_asked_what_its_blends_go_by(tmp_path: Path) -> None:
    """There is nothing to blend; what else is asked last, the allowances, still is."""
    corners = {"panel": "0,0 200,0 190,300 0,300", "twin": "300,0 500,0 510,300 300,300"}
    shapes = "".join(f'<polygon id="{name}" points="{at}"/>' for name, at in corners.items())
    drawing = tmp_path / "bag.svg"
    page = 'width="600mm" height="400mm" viewBox="0 0 600 400"'
    drawing.write_text(f'<svg xmlns="http://www.w3.org/2000/svg" {page}>{shapes}</svg>')
    set_of_one = tmp_path / "bag"
    begun = CliRunner().invoke(app.cli, ["begin", str(drawing), "-o", str(set_of_one)])
    assert begun.exit_code == 0, begun.output
    text = ask(set_of_one, *["y"] * 20)
    assert "blending" not in text.lower()
    assert "No piece has a seam allowance" in text
