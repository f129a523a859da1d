"""A TOML text that a person wrote, changed where two canonical texts differ and nowhere else.

Each key, each item of a list and each table is changed on its own: comments, order, spelling and
blank lines of all others stay byte for byte.  What is new goes behind what the canonical text has
in front of it; what is gone goes with the comments on its own lines.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from difflib import SequenceMatcher
from typing import Any, cast

from propagate.io.toml_places import Part, Range, Table, Tables, TextOf, Value, lines_of
from propagate.pattern.toml_text import key_text, pair_lines, value_text

__all__ = ["changed_in_place"]


def changed_in_place(authored: str, old: str, new: str) -> str:
    """Return a text in which what differs between two others is changed.

    Parameters
    ----------
    authored : str
        TOML that says the same as `old`, in any spelling.
    old, new : str
        Canonical TOML.

    Returns
    -------
    str
        Says the same as `new` wherever the spelling of `authored` could be followed; the caller
        reads it again.
    """
    end = "\r\n" if "\r\n" in authored else "\n"
    change = _Change(TextOf(authored), TextOf(new), end)
    change.table(change.told.root, tomllib.loads(old), tomllib.loads(new), change.fresh.root)
    return change.text()


class _Change:
    """The changes of one text, collected and then made."""

    def __init__(self, told: TextOf, fresh: TextOf, line_end: str) -> None:
        self.told, self.fresh, self._line_end = told, fresh, line_end
        self._changes: list[tuple[int, int, str]] = []

    def text(self) -> str:
        """The text with all changes."""
        text, at = self.told.text, 0
        found: list[str] = []
        for begin, end, put in sorted(self._changes, key=lambda change: change[:2]):
            found += [text[at:begin], put.replace("\n", self._line_end)]
            at = max(at, end)
        return "".join([*found, text[at:]])

    def _put(self, at: Range, text: str) -> None:
        self._changes.append((*at, text))

    # -------------------------------------------------------------------------- values

    def part(self, told: Part, old: Any, new: Any, fresh: Part) -> bool:
        """Change a part; False where it stands as tables and is to be something else."""
        if isinstance(old, dict) and isinstance(new, dict) and isinstance(told.parts, dict):
            self.table(cast(Table, told), old, new, fresh)
        elif (
            isinstance(old, list)
            and isinstance(new, list)
            and isinstance(told.parts, list)
            and len(told.parts) == len(old)
        ):
            self._list(cast(Tables, told), old, new, fresh)
        elif isinstance(told, Value):
            self._put((told.begin, told.end), self._spelled(new, fresh))
        else:
            return False
        return True

    def table(
        self, told: Table, old: Mapping[str, Any], new: Mapping[str, Any], fresh: Part | None
    ) -> None:
        """Change the keys of a table, with a header or inline."""
        gone = [key for key in told.parts if key in old and key not in new]
        if isinstance(told, Value) and len(gone) == len(told.parts):
            self._put((told.begin, told.end), self._spelled(new, fresh))
            return
        known = fresh.parts if fresh is not None and isinstance(fresh.parts, dict) else {}
        for key, value in new.items():
            if key in old and old[key] == value:
                continue
            own, its = told.parts.get(key), cast(Part, known.get(key))
            if own is not None and self.part(own, old.get(key), value, its):
                continue
            if own is not None:
                self._take_lines(own)
            self._add_key(told, key, value, its, list(new)[: list(new).index(key)])
        self._take(told, [told.parts[key] for key in gone], list(told.parts.values()))

    def _list(self, told: Tables, old: list[Any], new: list[Any], fresh: Part) -> None:
        """Change the items of a list: tables with headers, or an array."""
        items = cast(list[Part], fresh.parts)
        gone: list[Part] = []
        added: list[tuple[int, int]] = []
        a, b = (list(map(_known_by, items)) for items in (old, new))
        moves = SequenceMatcher(None, a, b, autojunk=False).get_opcodes()
        for _, i, i_end, j, j_end in moves:
            while i < i_end and j < j_end:
                both = isinstance(old[i], dict) and isinstance(new[j], dict)
                if both and a[i] != b[j] and [*old[i].items()][1:] != [*new[j].items()][1:]:
                    break  # another table; one that was renamed has all other values
                if old[i] != new[j]:
                    self.part(told.parts[i], old[i], new[j], items[j])
                i, j = i + 1, j + 1
            gone += told.parts[i:i_end]
            added += [(i_end, each) for each in range(j, j_end)]
        if isinstance(told, Value) and len(gone) == len(told.parts):
            self._put((told.begin, told.end), self._spelled(new, fresh))
            return
        self._take(told, gone, told.parts)
        for after, each in added:
            self._add_item(told, after, new[each], items[each])

    def _spelled(self, value: Any, fresh: Part | None) -> str:
        """A value as the canonical text has it."""
        if isinstance(fresh, Value):
            return self.fresh.text[fresh.begin : fresh.end]
        return value_text(value)

    # ---------------------------------------------------------------------- what is new

    def _add_key(
        self, told: Table, key: str, value: Any, fresh: Part, before: Sequence[str]
    ) -> None:
        """Add a key behind those that the canonical text has in front of it."""
        line = f"{key_text(key)} = {self._spelled(value, fresh)}"
        if isinstance(told, Value):
            end = cast(Value, list(told.parts.values())[-1]).end
            self._put((end, end), f", {line}")
            return
        own = [part for part in told.parts.values() if isinstance(part, Value)]
        if not isinstance(fresh, Value):
            earlier = [told.parts[name] for name in before if name in told.parts]
            at = max([self.told.end(part) for part in (*earlier, *own)] + _ends(told.headers))
            self._add_lines(at, self._block(fresh), room=self._has_room(fresh))
            return
        line = "".join(f"{key_text(word)}." for word in told.dotted) + line + "\n"
        earlier = [told.parts[k] for k in before if isinstance(told.parts.get(k), Value)]
        if earlier:
            self._add_lines(self.told.end(earlier[-1]), line)
        elif told.headers or not told.path:
            self._add_lines(max(_ends(told.headers)), line)
        elif own:
            self._add_lines(self.told.end(own[-1]), line)
        else:
            header = f"[{'.'.join(key_text(word) for word in told.path)}]\n"
            self._add_lines(min(begin for begin, _ in lines_of(told)), header + line)

    def _add_item(self, told: Tables, after: int, value: Any, fresh: Part) -> None:
        """Add an item to a list, behind so many."""
        beside = told.parts[max(after - 1, 0)]
        if isinstance(beside, Table):
            at = self.told.end(beside) if after else min(lines_of(beside))[0]
            block, room = self._block(fresh), not isinstance(fresh, Value) and self._has_room(fresh)
            if isinstance(fresh, Value):
                header = ".".join(key_text(word) for word in beside.path)
                block = "\n".join([f"[[{header}]]", *pair_lines(value)]) + "\n"
            self._add_lines(at, block, room=room)
            return
        beside = cast(Value, beside)
        text = self._spelled(value, fresh)
        if beside.lines is None:
            self._put(
                (beside.end,) * 2 if after else (beside.begin,) * 2,
                f", {text}" if after else f"{text}, ",
            )
            return
        begin, end = beside.lines
        indent = self.told.text[begin : beside.begin]
        if after and "," not in self.told.text[beside.end : end].partition("#")[0]:
            self._put((beside.end,) * 2, ",")
        self._add_lines(end if after else begin, f"{indent}{text},\n")

    def _add_lines(self, at: int, lines: str, *, room: bool = False) -> None:
        open_line = at > 0 and self.told.text[at - 1] != "\n"
        self._put((at, at), "\n" * open_line + "\n" * room + lines)

    def _block(self, fresh: Part) -> str:
        """The lines of a part in the canonical text, which has them in one place."""
        lines = sorted(lines_of(fresh))
        return self.fresh.text[lines[0][0] : lines[-1][1]].rstrip("\n") + "\n" if lines else ""

    def _has_room(self, fresh: Part) -> bool:
        """Whether the canonical text has a blank line in front of it."""
        return self.fresh.text.endswith("\n\n", 0, min(lines_of(fresh))[0])

    # --------------------------------------------------------------------- what is gone

    def _take(self, told: Part, gone: Iterable[Part], all_of_it: Sequence[Part]) -> None:
        """Take parts out of a table or a list."""
        if not isinstance(told, Value):
            for part in gone:
                self._take_lines(part)
            return
        out = {id(part) for part in gone}
        stays = [k for k, part in enumerate(all_of_it) if id(part) not in out]
        for k, part in enumerate(all_of_it):
            value = cast(Value, part)
            if id(part) not in out:
                continue
            if value.lines is not None:
                self._put(value.lines, "")
            elif k > stays[0]:
                self._put((cast(Value, all_of_it[k - 1]).end, value.end), "")
            else:
                self._put((value.item[0], cast(Value, all_of_it[k + 1]).item[0]), "")

    def _take_lines(self, part: Part) -> None:
        """Take the lines of a part out, and one of two blank lines around them."""
        text = self.told.text
        for begin, end in self.told.runs(part):
            after = end + len(self._line_end)
            if text[:begin].endswith(self._line_end * 2) and text[end:after] == self._line_end:
                end = after
            self._put((begin, end), "")


def _ends(ranges: Sequence[Range]) -> list[int]:
    return [end for _, end in ranges] or [0]


def _known_by(item: Any) -> str:
    """What an item is known by: a table by its first value."""
    return repr(next(iter(item.items()), "")) if isinstance(item, dict) else repr(item)
