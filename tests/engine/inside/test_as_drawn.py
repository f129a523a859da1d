"""What lines rest on in a set is found out once, and anew in a set that has changed."""

import pytest

from propagate import Amount, NamedEdit, TakeIn, apply_edits
from propagate.engine.inside import as_drawn
from tests.engine.inside.draft import the_set


def taken_in(pattern, by):
    edit = TakeIn(edge="front.side", by=Amount(mm=by))
    return apply_edits(pattern, [NamedEdit("side", edit)]).pattern


@pytest.fixture
def asked(monkeypatch):
    """The pieces of which it was found out what a line rests on or runs along."""
    pieces = []
    for name in ("contacts_of", "parallel_of"):
        real = getattr(as_drawn, name)

        def note(*of, real=real):
            pieces.append(next(one for one in of if not isinstance(one, str)))
            return real(*of)

        monkeypatch.setattr(as_drawn, name, note)
    return pieces


def test_a_second_edit_of_a_set_asks_no_line_again(asked):
    pattern = the_set()
    taken_in(pattern, 12.0)
    assert asked
    asked.clear()
    taken_in(pattern, 7.0)
    assert not asked


def test_a_set_that_changed_is_asked_anew(asked):
    changed = taken_in(the_set(), 12.0)
    asked.clear()
    taken_in(changed, 7.0)
    here = {id(one) for piece in changed.pieces.values() for one in piece.nest.values()}
    assert asked
    assert {id(piece) for piece in asked} <= here
