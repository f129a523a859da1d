"""What was taken for granted when marks followed, in words; once for all that it holds of."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

__all__ = ["Told"]


@dataclass
class Told:
    """What marks of one piece were taken to be measured from."""

    by: dict[tuple[str, ...], list[str]] = field(default_factory=dict)
    parallels: dict[tuple[str, ...], list[str]] = field(default_factory=dict)
    alone: list[str] = field(default_factory=list)
    cut: list[tuple[str, str, str]] = field(default_factory=list)

    def measured(self, names: Sequence[str], edges: Sequence[str]) -> None:
        """Note marks that keep their distances from edges."""
        self.by.setdefault(tuple(dict.fromkeys(edges)), []).extend(names)

    def parallel(self, line: str, edges: tuple[str, ...]) -> None:
        """Note a line that stays parallel to an edge, or to several one after the other."""
        self.parallels.setdefault(edges, []).append(line)

    def around(self, names: Sequence[str]) -> None:
        """Note marks of which nothing says what they are measured from."""
        self.alone.extend(names)

    def cut_off(self, line: str, was: str, now: str) -> None:
        """Note a line that ends on another edge than before."""
        self.cut.append((line, was, now))

    def of(self, name: str) -> str:
        """Say of one mark from where it is taken as measured."""
        for edges, names in self.by.items():
            if name in names:
                return f", as far from {_list_names(edges)} as before"
        for edges, names in self.parallels.items():
            if name in names:
                return f", parallel to {_list_names(edges)} as before"
        return ""

    def notices(self) -> Iterator[tuple[str, str]]:
        """Tell what was found and what to do, of each way in which marks were measured."""
        for edges, names in self.by.items():
            yield (
                f"{_list_names(names)} taken as measured from {_list_names(edges)}, and kept as "
                "far from there",
                "say it in the set, as a patch, if it is otherwise",
            )
        for edges, names in self.parallels.items():
            to = "it" if len(edges) == 1 else "them"
            by = _list_names(edges)
            yield (
                f"{_list_names(names)} taken as measured from {by}, and kept parallel to {to}",
                "draw it anew if it is not parallel",
            )
        if self.alone:
            yield (
                f"{_list_names(self.alone)} moved with the piece around, since no edge is as far "
                "off in every size",
                "say in the set, as a patch, from where it is measured",
            )
        for line, was, now in self.cut:
            yield (
                f"'{line}' ended on '{was}' and now ends on '{now}', which cuts it off",
                "look whether it is to end there, else draw it anew",
            )


def _list_names(names: Sequence[str]) -> str:
    quoted = [f"'{name}'" for name in names]
    return " and ".join([", ".join(quoted[:-1]), quoted[-1]] if quoted[1:] else quoted)
