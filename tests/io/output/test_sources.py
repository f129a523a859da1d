"""No command writes to what it reads, however that is named."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner

from propagate.cli.app import cli
from propagate.demo import demo_path
from propagate.errors import OutputError
from propagate.io.output import open_file, write_files, write_folder
from tests.io.output.test_replacing import everything

BLEND = ("--size", "natural_waist=S", "--size", "seat=L")


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A set, a result of it, and a folder with a drawing and its rules; all of it stays."""
    tmp_path = tmp_path_factory.mktemp("place")
    shutil.copytree(demo_path("scoop_skirt"), tmp_path / "s")
    gilet = demo_path("workshop_gilet")
    (tmp_path / "g").mkdir()
    for end in ("dxf", "rul"):
        shutil.copy(gilet / f"workshop_gilet.{end}", tmp_path / "g" / f"style.{end}")
    shutil.copy(gilet / "set.toml", tmp_path / "seams.toml")
    done = CliRunner().invoke(cli, ["blend", str(tmp_path / "s"), *BLEND, "-o", f"{tmp_path}/r"])
    assert done.exit_code == 0, done.output
    (tmp_path / "link").symlink_to("s")
    return tmp_path


@pytest.mark.parametrize(
    "words",
    [
        "begin g/style.dxf -o g --replace",
        "begin g -o g --replace",
        "begin g -o g/set",
        "begin g/style.dxf --like s -o s --replace",
        "convert s s --to set --replace",
        "convert r r --to set --replace",
        "convert r/set.toml r/../r --to set --replace",
        "convert s link/geometry/front.svg --replace",
        "convert s link --to json --replace",
        "convert g/style.dxf g/style.dxf --to dxf --replace",
        "convert g/style.dxf g/style.dxf --to dxf-rules --replace",
        "convert g g/style.dxf --onto g/style.dxf --replace",
        "revise s --from s -o s --replace",
        "revise s --from link -o link --replace",
        "revise s --from s -o link/x.dxf",
        "print s -o s/set.toml --replace",
        "print s -o link/geometry/x.pdf",
        "print s/set.toml -o s/x.pdf",
        "report s -o s/set.toml --replace",
        "report r -o r/record.json --replace",
        "sheet r -o r/record.json --replace",
        "draw s -o s/geometry --replace",
        "draw s -o s/pictures",
        "blend s WITH -o s --replace",
        "blend link WITH -o s --replace",
        "blend s WITH -o s/out",
        "blend s WITH -o link/out",
        "blend s WITH -o . --replace",
    ],
)
def test_what_is_read_stays(place: Path, words: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(place)
    before = everything(place)
    command = [word for part in words.split() for word in (BLEND if part == "WITH" else [part])]
    done = CliRunner().invoke(cli, command)
    assert done.exit_code == 2, done.output
    assert everything(place) == before
    assert "this command reads" in done.stderr or "holds no list" in done.stderr, done.stderr


def test_a_drawing_may_get_neighbours(
    place: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    mine = shutil.copytree(place, tmp_path / "mine", symlinks=True)
    monkeypatch.chdir(mine)
    before = everything(mine / "g")
    for words in (
        "begin g/style.dxf -o g/set",
        "convert g/style.dxf g/other.svg",
        "begin g/style.dxf --keep-dxf --relations seams.toml -o g/kept",
    ):
        done = CliRunner().invoke(cli, words.split())
        assert done.exit_code == 0, done.output
    after = everything(mine / "g")
    assert {name: after[name] for name in before} == before


def test_the_demo_does_not_write_over_where_it_comes_from(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    copy = tmp_path / "demo_sets"
    shutil.copytree(demo_path("scoop_skirt"), copy / "scoop_skirt")
    monkeypatch.setattr("propagate.demo._find_folder", lambda: copy)
    before = everything(copy)
    done = CliRunner().invoke(cli, ["demo", "scoop_skirt", str(copy), "--replace"])
    assert done.exit_code == 2 and "this command reads" in done.stderr
    assert everything(copy) == before


def test_a_second_name_of_a_file_is_that_file(tmp_path: Path) -> None:
    source = tmp_path / "a.dxf"
    write_files(tmp_path, {"a.dxf": b"drawn"})
    os.link(source, tmp_path / "b.dxf")
    for path in (source, tmp_path / "b.dxf", tmp_path / "x" / ".." / "a.dxf"):
        with (
            pytest.raises(OutputError, match="what this command reads"),
            open_file(path, replace=True, sources=[source]),
        ):
            pass
    assert source.read_bytes() == b"drawn" and (tmp_path / "b.dxf").read_bytes() == b"drawn"


def test_capitals_do_not_matter_where_the_disk_knows_none(tmp_path: Path) -> None:
    write_folder(tmp_path / "set", {"set.toml": b"x"})
    if not (tmp_path / "SET").exists():
        pytest.skip("this file system tells capitals apart")
    with pytest.raises(OutputError, match="what this command reads"):
        write_folder(tmp_path / "SET", {"set.toml": b"y"}, replace=True, sources=[tmp_path / "set"])


def test_a_folder_mounted_at_two_places_is_one(tmp_path: Path) -> None:
    write_folder(tmp_path / "set", {"set.toml": b"x", "geometry/a.json": b"1"})
    (tmp_path / "other").mkdir()
    command = ["mount", "--bind", str(tmp_path / "set"), str(tmp_path / "other")]
    try:
        mounted = subprocess.run(command, capture_output=True, check=False).returncode == 0
    except FileNotFoundError:
        mounted = False
    if not mounted:
        pytest.skip("nothing can be mounted here")
    try:
        for target in (tmp_path / "other", tmp_path / "other" / "out"):
            with pytest.raises(OutputError, match="this command reads"):
                write_folder(target, {"set.toml": b"y"}, replace=True, sources=[tmp_path / "set"])
    finally:
        subprocess.run(["umount", str(tmp_path / "other")], check=True)
