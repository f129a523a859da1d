"""Every command on a set whose geometry is a DXF, as on any other set."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from propagate.demo import demo_path
from propagate.io.folder import load
from propagate.io.output import LIST_NAME
from tests.cli.conftest import SKIRT, plain, run

GILET = demo_path("workshop_gilet")
REVISED = GILET / "revised" / "front_base_size.dxf"


@pytest.fixture
def gilet(tmp_path: Path) -> Path:
    folder = tmp_path / "gilet"
    folder.mkdir()
    for name in ("set.toml", "workshop_gilet.dxf", "workshop_gilet.rul"):
        shutil.copy(GILET / name, folder)
    return folder


def spoilt(folder: Path) -> Path:
    """A line of the drawing that nobody understands: reading it gives a warning."""
    file = folder / "workshop_gilet.dxf"
    text = file.read_text("ascii")
    circle = "  0\nCIRCLE\n  8\n8\n 10\n50.0\n 20\n50.0\n 40\n9.0\n"
    file.write_text(text.replace("  0\nENDBLK", f"{circle}  0\nENDBLK", 1), encoding="ascii")
    return folder


def files(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in folder.iterdir() if p.is_file()}


# ------------------------------------------------------------------------- all commands


def test_the_commands_that_look_at_a_set(gilet: Path, tmp_path: Path) -> None:
    before = files(gilet)
    for words in (
        ("show", str(gilet)),
        ("walk", str(gilet), "--all-sizes"),
        ("blend", str(gilet), "--size", "waist=90", "--size", "hip=102"),
        ("suggest", str(gilet)),
        ("draw", str(gilet), "-o", str(tmp_path / "pictures")),
        ("report", str(gilet), "-o", str(tmp_path / "page.html")),
        ("print", str(gilet), "-o", str(tmp_path / "print.pdf"), "--piece", "pocket"),
        ("convert", str(gilet), str(tmp_path / "out.svg")),
    ):
        done = run(*words)
        assert done.exit_code == 0, (words, done.output)
        assert done.stderr == "", words
    assert files(gilet) == before


def test_a_blend_of_it_can_be_asked_why(gilet: Path, tmp_path: Path) -> None:
    out = str(tmp_path / "out")
    words = ("blend", str(gilet), "--size", "waist=90", "--size", "hip=102", "-o", out)
    assert run(*words).exit_code == 0
    assert "waist of size 90" in run("why", out, "lower_front.waist").stdout
    assert run("walk", out).exit_code == 0


def test_revise_writes_it_back_as_it_came(gilet: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    done = run("revise", str(gilet), "--from", str(REVISED), "-o", str(out))
    assert done.exit_code == 0, done.output
    names = {path.name for path in out.iterdir()}
    assert names == {
        LIST_NAME,
        "set.toml",
        "workshop_gilet.dxf",
        "workshop_gilet.rul",
        "revised.json",
    }
    assert (out / "set.toml").read_bytes() == (gilet / "set.toml").read_bytes()
    assert run("walk", str(out), "--all-sizes").exit_code == 0
    again = run("revise", str(gilet), "--from", str(REVISED), "-o", str(out), "--replace")
    assert again.exit_code == 0, again.output


def test_accepted_suggestions_are_added_to_its_relations(gilet: Path) -> None:
    text = (gilet / "set.toml").read_text("utf-8")
    head, _, rest = text.partition("# --- seams")
    tail = rest[rest.index("# --- strips") :]
    bare = re.sub(r'seam = "side_seam"', 'seam = "waist"', head + tail)
    bare = bare[: bare.index("# --- blending sizes")]
    (gilet / "set.toml").write_text(bare, encoding="utf-8")
    done = run("suggest", str(gilet), "--accept", "0.93")
    assert done.exit_code == 0, done.output
    assert len(load(gilet).relations.seams) >= 2


# ----------------------------------------------------------------------------- what is told


def test_show_tells_how_it_was_read(gilet: Path) -> None:
    assert "dxf.deltas in set.toml" in run("show", str(gilet)).stdout.replace("\n    ", " ")
    said = plain(run("show", str(gilet), "--json"))
    assert said["reading"]["format"] == "DXF"
    assert "reading" not in plain(run("show", SKIRT, "--json"))


def test_warnings_are_pointed_out_once_and_shown_by_show(gilet: Path, tmp_path: Path) -> None:
    spoilt(gilet)
    line = f"reading workshop_gilet.dxf gave 1 warning; to see them: propagate show {gilet}\n"
    for words in (
        ("walk", str(gilet)),
        ("walk", str(gilet), "--json"),
        ("draw", str(gilet), "-o", str(tmp_path / "pictures")),
        ("blend", str(gilet), "--size", "waist=90", "--size", "hip=102"),
    ):
        done = run(*words)
        assert done.exit_code == 0
        assert done.stderr == line
        assert "reading workshop_gilet" not in done.stdout
    shown = run("show", str(gilet))
    assert shown.stderr == ""
    assert "To look at" in shown.stdout and "CIRCLE" in shown.stdout


def test_what_is_not_understood_comes_back(gilet: Path, tmp_path: Path) -> None:
    spoilt(gilet)
    done = run("revise", str(gilet), "--from", str(REVISED), "-o", str(tmp_path / "out"))
    assert done.exit_code == 0, done.output
    assert "CIRCLE" in (tmp_path / "out" / "workshop_gilet.dxf").read_text("ascii")


# -------------------------------------------------------------------------------- convert


def test_convert_writes_a_drawn_set_back_on_its_drawing(gilet: Path, tmp_path: Path) -> None:
    out = tmp_path / "out.dxf"
    done = run("convert", str(gilet), str(out))
    assert done.exit_code == 0, done.output
    assert "letter for letter" in done.stdout
    assert out.read_bytes() == (gilet / "workshop_gilet.dxf").read_bytes()
    assert out.with_suffix(".rul").read_bytes() == (gilet / "workshop_gilet.rul").read_bytes()
    done = run("convert", str(gilet), str(tmp_path / "anew.dxf"), "--to", "dxf")
    assert done.exit_code == 0, done.output
    assert (tmp_path / "anew.dxf").read_text("ascii").count("\nENDBLK\n") == 6 * 8
    assert not (tmp_path / "anew.rul").exists()


def test_convert_onto_the_original(gilet: Path, tmp_path: Path) -> None:
    original = str(gilet / "workshop_gilet.dxf")
    assert run("begin", original, "-o", str(tmp_path / "set")).exit_code == 0
    out = tmp_path / "out.dxf"
    done = run("convert", str(tmp_path / "set"), str(out), "--onto", original, "--json")
    assert done.exit_code == 0, done.output
    assert plain(done)["to"] == "dxf-as-read"
    assert out.read_bytes() == Path(original).read_bytes()
    done = run("convert", str(tmp_path / "set"), str(tmp_path / "a.svg"), "--onto", original)
    assert done.exit_code == 2
    assert "--onto" in done.output
    done = run("convert", SKIRT, str(tmp_path / "b.dxf"), "--onto", str(tmp_path / "none.dxf"))
    assert done.exit_code == 2
    assert "none.dxf" in done.output
    done = run("convert", SKIRT, str(tmp_path / "b.dxf"), "--to", "dxf-as-read")
    assert done.exit_code == 2
    assert "--onto ORIGINAL.dxf" in done.output


def test_convert_makes_a_set_of_our_own_form(gilet: Path, tmp_path: Path) -> None:
    done = run("convert", str(gilet), str(tmp_path / "out"))
    assert done.exit_code == 0, done.output
    assert "what set.toml says of the DXF" in done.stdout
    old, new = (
        (folder / "set.toml").read_text().splitlines() for folder in (gilet, tmp_path / "out")
    )
    assert [line for line in old if line[:1] == "#"] == [line for line in new if line[:1] == "#"]
    assert (tmp_path / "out" / "geometry" / "collar.json").is_file()
    a, b = load(gilet), load(tmp_path / "out")
    assert a.relations == b.relations
    assert all(
        a.sized(piece, size) == b.sized(piece, size) for piece in a.pieces for size in a.sizes
    )


# ---------------------------------------------------------------------------------- begin


def test_begin_keeps_the_drawing(gilet: Path, tmp_path: Path) -> None:
    out = tmp_path / "set"
    words = ("begin", str(gilet / "workshop_gilet.dxf"), "-o", str(out), "--keep-dxf")
    options = ("--dxf", "mirror=keep", "--level", "hip=lower_front.hip_notch", "--base", "102")
    done = run(*words, *options)
    assert done.exit_code == 0, done.output
    for name in ("workshop_gilet.dxf", "workshop_gilet.rul"):
        assert (out / name).read_bytes() == (gilet / name).read_bytes()
    assert not (out / "geometry").exists()
    text = (out / "set.toml").read_text("utf-8")
    for part in ('geometry = "workshop_gilet.dxf"', '[dxf]\nmirror = "keep"', "[levels.hip]"):
        assert part in text
    pattern = load(out)
    assert (pattern.base, pattern.lay_on) == ("102", "hip")
    assert run("walk", str(out)).exit_code == 0
    again = run(*words, *options, "--replace")  # the pictures are its own
    assert again.exit_code == 0, again.output
    live = "\n".join(re.sub(r"^# (?!#)", "", line) for line in text.splitlines() if line)
    assert "[[seam]]" in live


def test_begin_keeps_the_drawing_with_relations_that_are_there(gilet: Path, tmp_path: Path) -> None:
    relations = tmp_path / "relations.toml"
    text = (gilet / "set.toml").read_text("utf-8")
    relations.write_text(re.sub(r"^geometry = .*\n", "", text, flags=re.M).replace(
        '[dxf]                             # how the file is read, where it leaves that open\n'
        'deltas = "from sample"\n', ""), encoding="utf-8")  # fmt: skip
    words = ("begin", str(gilet / "workshop_gilet.dxf"), "--relations", str(relations))
    done = run(*words, "-o", str(tmp_path / "a"), "--keep-dxf", "--dxf", "deltas=from sample")
    assert done.exit_code == 0, done.output
    assert load(tmp_path / "a").relations == load(gilet).relations
    assert run("walk", str(tmp_path / "a"), "--all-sizes").exit_code == 0
    done = run(*words, "-o", str(tmp_path / "b"))  # our own geometry, with the levels
    assert done.exit_code == 0, done.output
    assert run("walk", str(tmp_path / "b"), "--all-sizes").exit_code == 0
    words = (*words[:3], str(gilet / "set.toml"), "-o", str(tmp_path / "c"))
    done = run(*words)
    assert done.exit_code == 2
    assert "--keep-dxf" in done.output
    done = run(*words, "--keep-dxf", "--level", "hip=lower_front.hip_notch")
    assert done.exit_code == 2
    assert "[levels]" in done.output
    assert not (tmp_path / "c").exists()


def test_begin_keeps_a_drawing_whose_rules_have_another_name(gilet: Path, tmp_path: Path) -> None:
    rules = gilet / "grading.rul"
    (gilet / "workshop_gilet.rul").rename(rules)
    words = ("begin", str(gilet / "workshop_gilet.dxf"), str(rules), "-o", str(tmp_path / "set"))
    done = run(*words, "--keep-dxf")
    assert done.exit_code == 0, done.output
    assert (tmp_path / "set" / "workshop_gilet.rul").read_bytes() == rules.read_bytes()
    assert len(load(tmp_path / "set").sizes) == 6


def test_begin_says_what_cannot_be_kept(gilet: Path, tmp_path: Path) -> None:
    out = ("-o", str(tmp_path / "set"), "--keep-dxf")
    two = shutil.copy(gilet / "workshop_gilet.dxf", tmp_path / "two.dxf")
    for words, said in (
        ((str(gilet / "workshop_gilet.dxf"), str(two)), "2 DXF files"),
        ((str(Path(SKIRT) / "geometry"),), "no DXF"),
        ((str(gilet / "workshop_gilet.dxf"), "--like", SKIRT), "exclude each other"),
        ((str(gilet / "workshop_gilet.dxf"), "--level", "hip=front.x"), "'front'"),
    ):
        done = run("begin", *words, *out)
        assert done.exit_code == 2, done.output
        assert said in done.output
    assert not (tmp_path / "set").exists()


# --------------------------------------------------------------------------------- errors


@pytest.mark.parametrize("command", ["show", "walk", "suggest"])
def test_what_is_missing_is_one_clear_message(gilet: Path, command: str) -> None:
    (gilet / "workshop_gilet.dxf").unlink()
    done = run(command, str(gilet))
    assert done.exit_code == 2
    assert "there is no 'workshop_gilet.dxf' beside it" in done.stderr
    assert "Traceback" not in done.output


# ----------------------------------------------------------------------------------- demo


def test_the_demo_copies_its_drawings(tmp_path: Path) -> None:
    found = plain(run("demo", "workshop_gilet", str(tmp_path / "here"), "--json"))
    assert found["sews"] is True
    for name in ("workshop_gilet.dxf", "workshop_gilet.rul", "set.toml"):
        assert (Path(found["set"]) / name).read_bytes() == (GILET / name).read_bytes()
    for path in (GILET / "revised").iterdir():
        assert (Path(found["revised"]) / path.name).read_bytes() == path.read_bytes()
    again = run("demo", "workshop_gilet", str(tmp_path / "here"), "--replace")
    assert again.exit_code == 0, again.output
    assert all(len(line) <= 80 or " " not in line.strip() for line in again.stdout.splitlines()
               if str(tmp_path) not in line)  # fmt: skip
