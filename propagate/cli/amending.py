"""Changing the files of a set where they are: relations, what was asked last, and back again."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from propagate.pattern.answers import Answer
    from propagate.pattern.patternset import PatternSet

__all__ = [
    "add_relations",
    "list_set_changes",
    "relations_file",
    "take_back",
    "write_set_changes",
]

_Changes: TypeAlias = Mapping[str, tuple[bytes | None, bytes]]
_BY_HAND = {
    "blending": "'blend'",
    "levels": "'levels' in the files of the pieces and 'lay_on'",
    "allowance": "'allowance'",
    "derived": "'derived'",
    "girths": "'girth'",
}


def relations_file(path: str) -> Path:
    """The file that holds a set's relations."""
    file = Path(path)
    return file / "set.toml" if file.is_dir() else file


def add_relations(path: str, change: Callable[[str], str]) -> bool:
    """Change the text of a set's file, once the whole is known to be sound.

    Returns
    -------
    bool
        Whether it was changed.

    Raises
    ------
    InvalidSet
        With what would be written; nothing was.
    """
    from dataclasses import replace

    from propagate.io import set_toml
    from propagate.io.folder import load
    from propagate.io.output import amend_file
    from propagate.pattern.validate import check_set

    file = relations_file(path)
    old = file.read_bytes()
    source = old.decode()
    new = change(source)
    if new == source:
        return False
    head = set_toml.parse_set(new.removeprefix("\ufeff"), str(file))
    check_set(replace(load(path), relations=head.relations))
    amend_file(file, old, new.encode())
    return True


def list_set_changes(path: str, pattern: PatternSet) -> _Changes:
    """Tell what of a set's files a changed set writes: each before and after, by its name."""
    from propagate.io.begin_toml import NO_LEVEL
    from propagate.io.folder import set_files
    from propagate.pattern.validate import check_set

    check_set(pattern)
    files = set_files(pattern)
    head = relations_file(path)
    text = files.pop("set.toml").decode()
    leveled = any(pattern.sized(name, pattern.base).levels for name in pattern.pieces)
    for end in ("\r\n", "\n") if leveled else ():
        text = text.replace(NO_LEVEL + end, "")
    files[head.name] = text.encode()
    before = {name: old.read_bytes() for name in files if (old := head.parent / name).exists()}
    return {one: (before.get(one), new) for one, new in files.items() if before.get(one) != new}


def write_set_changes(path: str, changes: _Changes) -> None:
    """Write what changed into the geometry and into ``set.toml``: all of it or nothing."""
    from propagate.io.output import amend_files

    amend_files(relations_file(path).parent, changes)


def take_back(path: str, answer: Answer) -> None:
    """Take out of a set's files what an answer wrote there; all else stays letter by letter.

    Raises
    ------
    EditError
        It was changed since, or the set does not hold without it; nothing was changed.
    """
    import tempfile

    from propagate.errors import EditError, FormatError
    from propagate.io.changes import put_back
    from propagate.io.folder import load, set_files
    from propagate.io.output import amend_files

    head, pattern = relations_file(path), load(path)
    cure = f"take out {_BY_HAND[answer.kind]} in {head.name} by hand, and it is asked again"
    if not answer.changes:
        raise EditError(
            f"the last answer is written into set '{pattern.name}', and it is not known what was "
            f"there before; {cure}"
        )
    files = set_files(pattern)
    files[head.name] = files.pop("set.toml")
    try:
        old = put_back(files, answer.changes)
        with tempfile.TemporaryDirectory() as folder:
            for name, content in {**files, **old}.items():
                place = Path(folder, name)
                place.parent.mkdir(exist_ok=True)
                place.write_bytes(content)
            load(Path(folder, head.name))
    except (EditError, FormatError) as error:
        raise EditError(
            f"set '{pattern.name}': the last answer cannot be taken back: {error}; {cure}"
        ) from error
    amend_files(head.parent, {name: (files[name], new) for name, new in old.items()})
