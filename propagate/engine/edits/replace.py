"""Replace pieces by revised ones in one size."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import Any, Literal

from propagate.engine.compare import edge_status, find_remarked
from propagate.engine.darts.changes import dart_changes, dart_words
from propagate.engine.job import Drawn, Given, Job
from propagate.engine.record import EDIT, Change, ChangeKind, Notice
from propagate.pattern.patternset import PatternSet
from propagate.values import dataclass

__all__ = ["Replace"]


@dataclass(frozen=True)
class Replace:
    """The edit: revised pieces take the place of the old ones, in one size.

    Attributes
    ----------
    size : str
    given : Given
    follow : "shape" or "length"
        A mate takes the shape that its lead got, or its length alone.
    words : mapping
        More to say of the edit in the record.
    notices : tuple of Notice
        What is known to look at already.
    """

    size: str
    given: Given
    follow: Literal["shape", "length"] = "length"
    words: Mapping[str, Any] = field(default_factory=dict)
    notices: tuple[Notice, ...] = ()

    def job(self, pattern: PatternSet) -> Job:
        """Everything is taken from the one size; raises UnknownName."""
        return Job.in_one_size(pattern, self.size, self.follow)

    def draw(self, job: Job) -> Drawn:
        """Nothing is drawn: the pieces are given."""
        pieces = self.given.pieces
        names = sorted(pieces)
        old = {name: job.pattern.sized(name, job.size) for name in pieces}
        moved, changes = find_remarked(old, pieces), []
        for name, piece in pieces.items():
            darts = dart_changes(old[name], piece)
            for before, after in zip(old[name].edges, piece.edges, strict=True):
                status, node = edge_status(before, after), f"{name}.{after.name}"
                marks = [
                    m.name
                    for key, m in moved.items()
                    if f"{key.partition('.')[0]}.{m.edge}" == node
                ]
                said = [dart_words(d) for d in darts if after.name in (d.edge, d.was_on)]
                kind = ChangeKind.MARKED
                if status != "same":
                    kind = ChangeKind.DRAWN
                    word = "changed" if status == "reshaped" else status
                    text = "; ".join([f"{word} in the revised piece", *said])
                elif said:
                    text = f"{'; '.join(said)} in the revised piece"
                elif marks:
                    text = f"{', '.join(marks)} moved along it in the revised piece"
                else:
                    continue
                changes.append(Change(node, kind, text, EDIT))
        return Drawn(
            said=f"revised in size {self.size}: {', '.join(names)}",
            words={"kind": "revise", "pieces": names, "follow": self.follow, **self.words},
            changes=tuple(changes),
            given=self.given,
            notices=self.notices,
            kept=frozenset(f"{name}.{e.name}" for name in names for e in pieces[name].edges),
        )
