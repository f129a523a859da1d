"""A set as a folder: what is loaded is saved alike, and a write is complete or absent."""

import errno
import json
import os
import re
import shutil
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path

import pytest

from propagate.errors import FormatError, InvalidSet, OutputError
from propagate.io.folder import load, save
from propagate.io.output import LIST_NAME, work
from propagate.pattern.model import Piece
from tests.builders import HEM_Y, HIP, TINY_TOML, contents, pocket_set, tiny_set, write_tiny
from tests.builders import edge as straight

Files = dict[str, bytes]


def files(folder: Path) -> Files:
    """Every file below a folder but the list of them, with its content."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.name != LIST_NAME
    }


@pytest.fixture
def tiny(tmp_path: Path) -> Path:
    return write_tiny(tmp_path / "tiny")


@pytest.fixture
def room(tmp_path: Path) -> Path:
    """An empty folder in which to save."""
    (tmp_path / "room").mkdir()
    return tmp_path / "room"


# --------------------------------------------------------------------- round trips


def test_the_folder_holds_what_the_code_says(tiny: Path) -> None:
    assert contents(load(tiny)) == contents(tiny_set())
    assert contents(load(tiny / "set.toml")) == contents(tiny_set())
    assert contents(load(str(tiny))) == contents(tiny_set())


def test_saving_what_was_loaded_writes_the_same_bytes(tiny: Path, room: Path) -> None:
    # Laid out by hand, with whole numbers, a byte order mark and Windows line ends.
    front = tiny / "geometry" / "front.json"
    front.write_bytes(
        b"\xef\xbb\xbf" + json.dumps(json.loads(front.read_text()), indent=7).encode()
    )
    back = tiny / "geometry" / "back.json"
    back.write_bytes(back.read_bytes().replace(b"-600.0", b"-6.00e2").replace(b"\n", b"\r\n"))
    toml = tiny / "set.toml"
    toml.write_bytes(b"# by hand\r\n" + TINY_TOML.replace("\n", "\r\n").encode())
    save(load(tiny), room / "copy")
    assert files(room / "copy") == files(tiny)


def test_another_geometry_folder_is_kept(tiny: Path, room: Path) -> None:
    (tiny / "geometry").rename(tiny / "drawings")
    (tiny / "set.toml").write_text('geometry = "drawings"\n' + TINY_TOML)
    save(load(tiny), room / "copy")
    assert files(room / "copy") == files(tiny)


def test_only_the_edited_piece_is_written_anew(tiny: Path, room: Path) -> None:
    front = tiny / "geometry" / "front.json"
    for file in (front, tiny / "geometry" / "back.json"):
        file.write_text(json.dumps(json.loads(file.read_text()), indent=3))
    pattern = load(tiny)
    sized = pattern.sized("front", "36")
    hem = straight("hem", (0.0, HEM_Y), (100.0, HEM_Y), (HIP["36"], HEM_Y))
    edges = tuple(hem if e.name == "hem" else e for e in sized.edges)
    nest = {**pattern.piece("front").nest, "36": replace(sized, edges=edges)}
    edited = replace(pattern, pieces={**pattern.pieces, "front": Piece("front", nest)})
    save(edited, room / "copy")
    before, after = files(tiny), files(room / "copy")
    assert after.pop("geometry/front.json") != before.pop("geometry/front.json")
    assert after == before  # the comments of set.toml and the layout of back.json stay
    assert contents(load(room / "copy")) == contents(edited)


def test_changed_relations_are_written_anew(tiny: Path, room: Path) -> None:
    pattern = replace(load(tiny), name="another skirt")
    save(pattern, room / "copy")
    assert contents(load(room / "copy")) == contents(pattern)
    assert 'name = "another skirt"' in (room / "copy" / "set.toml").read_text()


def test_a_nest_given_to_another_piece_does_not_bring_its_file_along(
    tiny: Path, room: Path
) -> None:
    pattern = load(tiny)
    renamed = Piece("skirt_back", pattern.piece("back").nest)
    pieces = {"front": pattern.piece("front"), "skirt_back": renamed}
    save(replace(pattern, pieces=pieces), room / "copy")
    written = json.loads((room / "copy" / "geometry" / "skirt_back.json").read_text())
    assert written["piece"] == "skirt_back"


def test_a_set_built_in_code_is_saved_and_loaded(room: Path) -> None:
    save(pocket_set(), room / "pocket")
    assert contents(load(room / "pocket")) == contents(pocket_set())


def test_pieces_may_be_any_mapping(room: Path) -> None:
    class Lazy(Mapping[str, Piece]):
        def __getitem__(self, name: str) -> Piece:
            return tiny_set().pieces[name]

        def __iter__(self) -> Iterator[str]:
            return iter(tiny_set().pieces)

        def __len__(self) -> int:
            return len(tiny_set().pieces)

    save(replace(tiny_set(), pieces=Lazy()), room / "lazy")
    assert contents(load(room / "lazy")) == contents(tiny_set())


def test_extra_files_are_written_beside(room: Path) -> None:
    save(tiny_set(), room / "result", extra={"record.json": b"{}", "sub/note.txt": b"x"})
    found = files(room / "result")
    assert found["record.json"] == b"{}" and found["sub/note.txt"] == b"x"


# --------------------------------------------------------------------- bad folders


def _no_toml(folder: Path) -> None:
    (folder / "set.toml").unlink()


def _no_geometry(folder: Path) -> None:
    shutil.rmtree(folder / "geometry")


def _no_file(folder: Path) -> None:
    (folder / "geometry" / "back.json").unlink()


def _file_too_many(folder: Path) -> None:
    text = (folder / "geometry" / "back.json").read_text()
    (folder / "geometry" / "yoke.json").write_text(text.replace('"back"', '"yoke"'))


def _wrong_name(folder: Path) -> None:
    (folder / "geometry" / "back.json").rename(folder / "geometry" / "front.json")


def _not_utf8(folder: Path) -> None:
    (folder / "set.toml").write_bytes(TINY_TOML.encode() + b"\n# \xe9t\xe9\n")


def _two_broken(folder: Path) -> None:
    (folder / "geometry" / "front.json").write_text('{"format": 1,\n')
    (folder / "geometry" / "back.json").write_text('{"format": 3}')


def _not_finite(folder: Path) -> None:
    file = folder / "geometry" / "front.json"
    file.write_text(file.read_text().replace("[195.0, -600.0]", "[NaN, -600.0]", 1))


BAD_FOLDERS: dict[str, tuple[Callable[[Path], None], type[Exception], str]] = {
    "no set.toml": (_no_toml, FormatError, r"holds no set.toml"),
    "no geometry folder": (_no_geometry, FormatError, r"geometry: there is no such folder"),
    "piece without a file": (_no_file, InvalidSet, r"1 problem\(s\):\n.*piece 'back': found it"),
    "file without a piece": (_file_too_many, InvalidSet, r"piece 'yoke': .*add \[pieces.yoke\]"),
    "file of another name": (
        _wrong_name,
        FormatError,
        r"geometry/front.json: piece: found 'back', expected 'front'",
    ),
    "not UTF-8": (_not_utf8, FormatError, r"set.toml: line \d+: found byte 0xe9, expected UTF-8"),
    "two broken files": (
        _two_broken,
        FormatError,
        r"(?s)front.json: line 2, column 1: .*back.json: format 3 is newer",
    ),
    "not finite": (_not_finite, InvalidSet, r"piece 'front', size '36', edge 'hem': found \(nan"),
}


@pytest.mark.parametrize(("harm", "kind", "message"), BAD_FOLDERS.values(), ids=BAD_FOLDERS.keys())
def test_bad_folders_are_named(
    tiny: Path, harm: Callable[[Path], None], kind: type[Exception], message: str
) -> None:
    harm(tiny)
    with pytest.raises(kind, match=message):
        load(tiny)


def test_a_path_that_is_not_there_and_a_file_that_is_no_set(tmp_path: Path) -> None:
    with pytest.raises(FormatError, match=r"there is no '.*nothing'; expected the folder of a set"):
        load(tmp_path / "nothing")
    (tmp_path / "x.dxf").write_text("0")
    with pytest.raises(FormatError, match=r"x.dxf' is not a set"):
        load(tmp_path / "x.dxf")


# --------------------------------------------------------------------- writing


def clean(room: Path) -> bool:
    """Nothing half written is left in a folder."""
    return not [path for path in room.iterdir() if path.name.startswith(".")]


def test_an_existing_set_is_left_alone_unless_it_is_to_be_replaced(room: Path) -> None:
    save(tiny_set(), room / "a", extra={"record.json": b"old"})
    before = files(room / "a")
    with pytest.raises(OutputError, match=r"exists already.*--replace"):
        save(pocket_set(), room / "a")
    assert files(room / "a") == before
    save(pocket_set(), room / "a", replace=True)
    assert load(room / "a").name == "pocket skirt"
    assert "record.json" not in files(room / "a")  # nothing of the old one stays
    assert clean(room)


def test_an_empty_folder_counts_as_free(room: Path) -> None:
    (room / "a").mkdir()
    save(tiny_set(), room / "a")
    assert load(room / "a").name == "tiny skirt"


def _home(folder: Path) -> None:
    folder.mkdir()
    (folder / "letters").mkdir()
    (folder / "letters" / "dear.txt").write_text("x")


def _set_with_notes(folder: Path) -> None:
    save(tiny_set(), folder)
    (folder / ".git").mkdir()
    (folder / "notes.txt").write_text("x")


def _file(folder: Path) -> None:
    folder.write_text("x")


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (_home, r"holds no list .* that says this program wrote a set there"),
        (_set_with_notes, r"holds '.git', 'notes.txt', which would be lost"),
        (_file, r"is a file"),
    ],
)
def test_replace_does_not_lose_what_it_did_not_write(
    room: Path, make: Callable[[Path], None], message: str
) -> None:
    make(room / "a")
    before = files(room)
    with pytest.raises(OutputError, match=message):
        save(tiny_set(), room / "a", replace=True)
    assert files(room) == before and clean(room)


def test_a_link_is_followed_and_stays(room: Path) -> None:
    save(tiny_set(), room / "real")
    (room / "link").symlink_to(room / "real")
    save(pocket_set(), room / "link", replace=True)
    assert (room / "link").is_symlink()
    assert load(room / "real").name == "pocket skirt"


@pytest.mark.parametrize("name", ["../out.txt", "/etc/x", "a/../../x", "", "a\\b", "set.toml"])
def test_extra_files_stay_inside_and_take_no_place(room: Path, name: str) -> None:
    with pytest.raises(OutputError):
        save(tiny_set(), room / "a", extra={name: b"x"})
    assert files(room) == {}


def test_a_piece_whose_name_is_a_path_is_not_written(room: Path) -> None:
    pieces = {"../front": Piece("../front", tiny_set().piece("front").nest)}
    with pytest.raises(OutputError, match="cannot name a file"):
        save(replace(tiny_set(), pieces=pieces), room / "a")
    assert files(room) == {}


def test_a_parent_that_is_not_there(room: Path) -> None:
    with pytest.raises(OutputError, match=r"no' is not a folder; make it first"):
        save(tiny_set(), room / "no" / "a")


def test_a_parent_that_cannot_be_written() -> None:
    # /proc refuses new folders to everybody, root as well.
    if not Path("/proc/self").is_dir():
        pytest.skip("no /proc here")
    with pytest.raises(OutputError, match=r"cannot be written \(.+\); nothing was changed"):
        save(tiny_set(), "/proc/set")


def test_read_only_parent(room: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr(os, "mkdir", refuse)
    with pytest.raises(OutputError, match=r"Permission denied"):
        save(tiny_set(), room / "a")
    assert list(room.iterdir()) == []


class Interrupted:
    """Stands in for a function and fails at its nth call."""

    def __init__(self, real: Callable[..., object], at: int, error: BaseException) -> None:
        self.real, self.left, self.error = real, at, error

    def __call__(self, *args: object, **kwargs: object) -> object:
        self.left -= 1
        if self.left == 0:
            raise self.error
        return self.real(*args, **kwargs)


ERRORS = [KeyboardInterrupt(), OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)), MemoryError()]


@pytest.mark.parametrize("error", ERRORS, ids=lambda e: type(e).__name__)
@pytest.mark.parametrize("replacing", [False, True])
@pytest.mark.parametrize(
    ("function", "at"),
    [("fsync", 1), ("fsync", 3), ("fsync", 5), ("replace", 1), ("replace", 2), ("replace", 3)],
)
def test_an_interrupted_write_leaves_the_old_or_nothing(
    room: Path,
    monkeypatch: pytest.MonkeyPatch,
    function: str,
    at: int,
    replacing: bool,
    error: BaseException,
) -> None:
    if replacing:
        save(tiny_set(), room / "a")
    elif (function, at) == ("replace", 3):
        pytest.skip("a new folder takes two: the journal, and the folder itself")
    before = files(room)
    with monkeypatch.context() as patch:
        patch.setattr(os, function, Interrupted(getattr(os, function), at, error))
        with pytest.raises((OutputError, KeyboardInterrupt, MemoryError)) as caught:
            save(pocket_set(), room / "a", replace=True)
    assert isinstance(caught.value, OutputError) == isinstance(error, OSError)
    assert files(room) == before and clean(room)
    save(pocket_set(), room / "a", replace=True)  # and it can be tried again
    assert load(room / "a").name == "pocket skirt"


def test_an_interrupt_after_the_swap_leaves_the_new_one(
    room: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    save(tiny_set(), room / "a")
    real = os.replace

    def swapped_then_interrupted(source: Path, target: Path) -> None:
        real(source, target)
        if Path(target) == room / "a":
            raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", swapped_then_interrupted)
        with pytest.raises(KeyboardInterrupt):
            save(pocket_set(), room / "a", replace=True)
    assert load(room / "a").name == "pocket skirt"
    assert clean(room)


def test_a_killed_write_says_where_the_old_set_is(
    room: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    save(tiny_set(), room / "a")
    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", Interrupted(os.replace, 3, KeyboardInterrupt()))
        patch.setattr(work, "_settle_moves", lambda *_: None)  # a kill leaves no time to tidy
        with pytest.raises(KeyboardInterrupt):
            save(pocket_set(), room / "a", replace=True)
    with pytest.raises(FormatError, match="an interrupted write left the old set in") as caught:
        load(room / "a")
    old = re.search(r"left the old set in '([^']+)'", str(caught.value))
    assert old is not None
    Path(old[1]).rename(room / "a")
    assert load(room / "a").name == "tiny skirt"


def test_permissions_follow_the_umask(room: Path) -> None:
    mask = os.umask(0o027)
    try:
        save(tiny_set(), room / "a")
    finally:
        os.umask(mask)
    assert (room / "a").stat().st_mode & 0o777 == 0o750
    assert (room / "a" / "set.toml").stat().st_mode & 0o777 == 0o640
