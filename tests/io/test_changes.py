"""Files as they were before: whatever was changed in them, and whatever was written beside it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from propagate.errors import EditError
from propagate.io.changes import list_changes, put_back
from propagate.pattern.answers import Change
from tests.examples import examples

lines = st.lists(st.sampled_from(["a", "b", "", "[seam]", "ä = 1", "c\r", "\u2028"]), max_size=12)


def text_of(rows: list[str], *, ends: bool) -> bytes:
    return ("\n".join(rows) + ("\n" if ends and rows else "")).encode()


@examples(200)
@given(before=lines, after=lines, ends=st.booleans())
def test_what_was_changed_is_put_back(before: list[str], after: list[str], ends: bool) -> None:
    old, new = text_of(before, ends=ends), text_of(after, ends=ends)
    changes = list_changes({"set.toml": (old, new)})
    if old == new or not new:
        assert changes == ()
    else:
        assert put_back({"set.toml": new, "other": b"x"}, changes) == {"set.toml": old}


def test_what_was_written_beside_it_stays() -> None:
    old = b"# head\n[seam]\nname = 1\n"
    changes = list_changes({"set.toml": (old, old + b"\n[blend]\nupper = 2\n")})
    now = b"# my own\n" + old + b"\n[blend]\nupper = 2\n\n[chart]\nhip = 3\n"
    assert put_back({"set.toml": now}, changes) == {
        "set.toml": b"# my own\n" + old + b"\n[chart]\nhip = 3\n"
    }


@pytest.mark.parametrize("now", [b"", b"[blend]\nupper = 3\n", b"[blend]\nupper = 2\n" * 2])
def test_what_is_not_there_as_it_was_written_is_told(now: bytes) -> None:
    changes = list_changes({"set.toml": (b"", b"[blend]\nupper = 2\n")})
    with pytest.raises(EditError, match="was changed since"):
        put_back({"set.toml": now}, changes)


def test_a_new_file_cannot_be_told_by_lines() -> None:
    assert list_changes({"new.json": (None, b"{}\n"), "set.toml": (b"a\n", b"b\n")}) == ()


def test_lines_are_looked_for_and_no_ends_of_lines() -> None:
    now = b"my_upper = 2\nupper = 2\n"
    back = put_back({"set.toml": now}, [Change("set.toml", "", "upper = 2\n")])
    assert back == {"set.toml": b"my_upper = 2\n"}


def test_places_that_share_a_line_are_not_put_back() -> None:
    changes = [Change("set.toml", "x\n", "a\nb\n"), Change("set.toml", "y\n", "b\nc\n")]
    with pytest.raises(EditError, match="two places that were written meet"):
        put_back({"set.toml": b"a\nb\nc\n"}, changes)
