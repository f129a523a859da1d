"""The chain of causes of every change, as one tree from the edit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from propagate.engine.record import Change
from propagate.pattern.titles import in_words
from propagate.report.blend_text import edit_words
from propagate.report.page.subject import Subject
from propagate.report.page.words import node_words
from propagate.values import dataclass

__all__ = ["Cause", "causes_of_all"]


@dataclass(frozen=True)
class Cause:
    """One change with all that it led to."""

    where: str
    what: str
    led_to: Sequence[Cause]

    @property
    def count(self) -> int:
        """How many changes it led to, near and far."""
        return sum(1 + cause.count for cause in self.led_to)


def causes_of_all(subject: Subject) -> list[Cause]:
    """Trees of causes; usually one, that of the edit."""
    record = subject.record
    if record is None:
        return []
    known = {change.id for change in record.changes}
    below: dict[str | None, list[Change]] = {}
    for change in record.changes:
        key = change.cause if change.cause in known else None
        below.setdefault(key, []).append(change)
    return [_tree(subject, change, below, frozenset()) for change in below.get(None, [])]


def _tree(
    subject: Subject,
    change: Change,
    below: Mapping[str | None, Sequence[Change]],
    above: frozenset[str],
) -> Cause:
    first = change.cause is None and subject.result is not None
    path = above | {change.id}
    return Cause(
        where=node_words(subject.pattern, change.id),
        what=edit_words(subject.result)
        if first and subject.result
        else in_words(subject.pattern, change.what),
        led_to=[
            _tree(subject, item, below, path)
            for item in below.get(change.id, [])
            if item.id not in path
        ],
    )
