"""What is replaced, what is kept and what is refused: seen on the disk with plain Python."""

from __future__ import annotations

import os
import socket
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

import propagate
from propagate.cli.app import cli
from propagate.demo import demo_path
from propagate.errors import OutputError
from propagate.io.dxf import WriteOptions
from propagate.io.dxf import write as write_dxf
from propagate.io.folder import save
from propagate.io.output import LIST_NAME, amend_file, open_file, write_files, write_folder
from tests.builders import pocket_set, tiny_set, write_tiny
from tests.shared import demo

OLD = {"set.toml": b"old\n", "geometry/front.json": b"{}\n", "record.json": b"1\n"}
NEW = {"set.toml": b"new\n", "geometry/back.json": b"[]\n"}


def run(*words: object) -> Result:
    return CliRunner().invoke(cli, [str(word) for word in words])


def everything(folder: Path) -> dict[str, bytes | None]:
    """All that is below a folder, hidden or not; folders and odd things hold None."""
    return {
        str(path.relative_to(folder)): path.read_bytes() if path.is_file() else None
        for path in sorted(folder.rglob("*"))
    }


@pytest.fixture
def old(tmp_path: Path) -> Path:
    """A folder that this program wrote."""
    write_folder(tmp_path / "old", OLD)
    return tmp_path / "old"


# ------------------------------------------------------------------------------ the list


def test_the_list_is_what_sha256sum_checks(old: Path) -> None:
    # An implementation that is not ours: sha256sum of GNU coreutils.
    try:
        done = subprocess.run(
            ["sha256sum", "--strict", "-c", LIST_NAME], cwd=old, capture_output=True, check=False
        )
    except FileNotFoundError:
        pytest.skip("there is no sha256sum here")
    assert done.returncode == 0, done.stderr
    assert done.stdout.decode().splitlines() == [f"{name}: OK" for name in sorted(OLD)]


def test_a_name_with_a_line_end_is_listed_as_sha256sum_does(tmp_path: Path) -> None:
    with open_file(tmp_path / "a\nb.pdf") as stream:
        stream.write(b"1")
    done = subprocess.run(["sha256sum", "a\nb.pdf"], cwd=tmp_path, capture_output=True, check=True)
    assert (tmp_path / LIST_NAME).read_bytes() == done.stdout
    with open_file(tmp_path / "a\nb.pdf", replace=True) as stream:
        stream.write(b"2")
    assert (tmp_path / "a\nb.pdf").read_bytes() == b"2"


def test_the_same_input_gives_the_same_bytes(tmp_path: Path) -> None:
    for name in ("a", "b"):
        save(pocket_set(), tmp_path / name)
    assert everything(tmp_path / "a") == everything(tmp_path / "b")


# --------------------------------------------------------------------- folders of others


def _note(folder: Path) -> None:
    (folder / "geometry" / "notes.txt").write_text("x")


def _picture(folder: Path) -> None:
    (folder / "pictures").mkdir()
    (folder / "pictures" / "mine.svg").write_text("<svg/>")


def _photos(folder: Path) -> None:
    (folder / "photos").mkdir()
    (folder / "photos" / "me.jpg").write_bytes(b"x")
    (folder / "set.toml").write_text('geometry = "photos"\n')


def _folder_for_file(folder: Path) -> None:
    (folder / "record.json").unlink()
    (folder / "record.json").mkdir()
    (folder / "record.json" / "x").write_text("x")


def _empty_folder(folder: Path) -> None:
    (folder / "mine").mkdir()


def _link(folder: Path) -> None:
    target = folder.parent / "elsewhere"
    target.write_bytes(OLD["record.json"])
    (folder / "record.json").unlink()
    (folder / "record.json").symlink_to(target)


def _changed(folder: Path) -> None:
    (folder / "geometry" / "front.json").write_text("{ }\n")


def _no_list(folder: Path) -> None:
    (folder / LIST_NAME).unlink()


def _other_list(folder: Path) -> None:
    (folder / LIST_NAME).write_text("to do: press the seams\n")


@pytest.mark.parametrize(
    ("harm", "said"),
    [
        (_note, "'geometry/notes.txt', which would be lost"),
        (_picture, "'pictures', which would be lost"),
        (_photos, "'photos', which would be lost"),
        (_folder_for_file, "'record.json', which would be lost"),
        (_empty_folder, "'mine', which would be lost"),
        (_link, "'record.json', which would be lost"),
        (_changed, "'geometry/front.json', changed since this program wrote it"),
        (_no_list, "holds no list"),
        (_other_list, "is not the list"),
    ],
)
def test_what_is_not_ours_is_refused_by_name(
    old: Path, harm: Callable[[Path], None], said: str
) -> None:
    harm(old)
    before = everything(old.parent)
    with pytest.raises(OutputError) as caught:
        write_folder(old, NEW, replace=True)
    assert said in str(caught.value)
    assert everything(old.parent) == before


def test_a_set_toml_that_is_none_is_somebody_s_too(tmp_path: Path) -> None:
    target = tmp_path / "f"
    target.mkdir()
    (target / "set.toml").write_text("shopping list")
    with pytest.raises(OutputError, match="holds no list"):
        save(tiny_set(), target, replace=True)
    assert (target / "set.toml").read_text() == "shopping list"


def test_a_folder_of_single_files_is_not_replaced_by_a_set(tmp_path: Path) -> None:
    write_files(tmp_path / "pictures", {"front.svg": b"<svg/>"})
    with pytest.raises(OutputError, match="holds no list"):
        write_folder(tmp_path / "pictures", NEW, replace=True)
    assert (tmp_path / "pictures" / "front.svg").read_bytes() == b"<svg/>"


def test_files_of_the_desktop_may_be_there(old: Path) -> None:
    for name in (".DS_Store", "geometry/Thumbs.db", "desktop.ini"):
        (old / name).write_bytes(b"x")
    write_folder(old, NEW, replace=True)
    assert set(everything(old)) == {LIST_NAME, "geometry", *NEW}


def test_a_set_toml_by_hand_is_kept_each_time(old: Path) -> None:
    (old / "set.toml").write_text("by hand\n")
    assert write_folder(old, NEW, replace=True).kept == "set.toml.1"
    assert write_folder(old, OLD, replace=True).kept is None
    (old / "set.toml").write_text("again\n")
    assert write_folder(old, NEW, replace=True).kept == "set.toml.2"
    found = everything(old)
    assert found["set.toml"] == b"new\n"
    assert (found["set.toml.1"], found["set.toml.2"]) == (b"by hand\n", b"again\n")


def test_begin_tells_what_it_keeps(tmp_path: Path) -> None:
    source, out = demo_path("workshop_gilet") / "workshop_gilet.dxf", tmp_path / "set"
    assert run("begin", source, "-o", out).exit_code == 0
    with (out / "set.toml").open("a") as stream:
        stream.write("# my seams\n")
    text = (out / "set.toml").read_bytes()
    done = run("begin", source, "-o", out, "--replace")
    assert done.exit_code == 0, done.output
    assert "kept as set.toml.1" in done.stderr
    assert (out / "set.toml.1").read_bytes() == text
    assert propagate.load(out).name


# ---------------------------------------------------------------------- files of others


def test_single_files_are_replaced_only_as_written(tmp_path: Path) -> None:
    target = tmp_path / "a.pdf"
    for content in (b"1", b"2"):
        with open_file(target, replace=True) as stream:
            stream.write(content)
    with open_file(tmp_path / "b.pdf") as stream:
        stream.write(b"b")
    target.write_bytes(b"2 with a note on it")
    with (
        pytest.raises(OutputError, match=r"a\.pdf' was changed since"),
        open_file(target, replace=True),
    ):
        pass
    (tmp_path / "c.pdf").write_bytes(b"mine")
    with pytest.raises(OutputError, match=r"c\.pdf' is not in a list"):
        write_files(tmp_path, {"b.pdf": b"B", "c.pdf": b"C"}, replace=True)
    found = everything(tmp_path)
    assert found.pop(LIST_NAME) is not None
    assert found == {"a.pdf": b"2 with a note on it", "b.pdf": b"b", "c.pdf": b"mine"}


def test_nothing_is_written_into_a_set(old: Path) -> None:
    before = everything(old)
    with pytest.raises(OutputError, match="is a set, which holds nothing but its own files"):
        write_files(old, {"a.svg": b""})
    with pytest.raises(OutputError, match="is a set"), open_file(old / "a.pdf"):
        pass
    assert everything(old) == before


def test_no_new_drawing_stands_beside_old_rules(tmp_path: Path) -> None:
    gilet = demo("workshop_gilet")
    path = tmp_path / "a.dxf"
    write_dxf(gilet, path, WriteOptions(kind="rules"))
    assert set(everything(tmp_path)) == {LIST_NAME, "a.dxf", "a.rul"}
    write_dxf(gilet, path, WriteOptions(kind="nested", replace=True))
    assert set(everything(tmp_path)) == {LIST_NAME, "a.dxf"}
    (tmp_path / "a.RUL").write_bytes(b"mine")
    before = everything(tmp_path)
    with pytest.raises(OutputError, match=r"a\.RUL' is not in a list"):
        write_dxf(gilet, path, WriteOptions(kind="nested", replace=True))
    assert everything(tmp_path) == before


@pytest.mark.parametrize("kind", ["fifo", "socket", "device"])
def test_no_writer_takes_the_place_of_a_device(
    tmp_path: Path, kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)  # the name of a socket must be short
    odd, server = tmp_path / "odd", socket.socket(socket.AF_UNIX)
    if kind == "fifo":
        os.mkfifo(odd)
    elif kind == "socket":
        server.bind("odd")
    else:
        odd.symlink_to("/dev/null")
    mode = odd.stat().st_mode
    with pytest.raises(OutputError, match="no ordinary file"), open_file(odd, replace=True):
        pass
    for write in (write_folder, write_files):
        with pytest.raises(OutputError, match="no ordinary file"):
            write(odd, {"set.toml": b""}, replace=True)
    with pytest.raises(OutputError, match="no ordinary file"):
        write_files(tmp_path, {"odd": b""}, replace=True)
    skirt = demo_path("scoop_skirt")
    for words in (
        ("report", skirt, "-o", odd),
        ("draw", skirt, "-o", odd),
        ("print", skirt, "-o", odd),
        ("convert", skirt, odd, "--to", "svg"),
        ("convert", skirt, odd, "--to", "set"),
    ):
        done = run(*words, "--replace")
        assert done.exit_code == 2 and "no ordinary file" in done.output, done.output
    server.close()
    assert odd.stat().st_mode == mode and set(everything(tmp_path)) == {"odd"}


# ------------------------------------------------------------------------------ in place


def test_suggest_amends_the_set_and_the_list_follows(tmp_path: Path) -> None:
    save(tiny_set(), tmp_path / "a")
    file = tmp_path / "a" / "set.toml"
    old = file.read_bytes()
    with pytest.raises(OutputError, match="was changed while it was worked on"):
        amend_file(file, old + b"#", b"")
    amend_file(file, old, old + b"# more\n")
    assert save(tiny_set(), tmp_path / "a", replace=True).kept is None
    file.write_bytes(old + b"# by hand\n")
    amend_file(file, old + b"# by hand\n", old + b"# by hand\n# more\n")
    assert save(tiny_set(), tmp_path / "a", replace=True).kept == "set.toml.1"
    write_tiny(tmp_path / "b")
    text = (tmp_path / "b" / "set.toml").read_bytes()
    amend_file(tmp_path / "b" / "set.toml", text, text + b"#")
    assert LIST_NAME not in everything(tmp_path / "b")


def test_a_file_in_the_place_of_a_folder_is_named(tmp_path: Path) -> None:
    (tmp_path / "notes").write_text("mine")
    with pytest.raises(OutputError, match=r"notes' is not a folder"):
        write_folder(tmp_path / "notes" / "set", NEW)
    assert (tmp_path / "notes").read_text() == "mine"
