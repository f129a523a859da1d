"""What the program refuses: wrong words on the command line, wrong lines in a set, wrong pieces."""

from __future__ import annotations

import json
import re
import shlex
import shutil
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

from tests.corpus.job import Job

__all__ = ["refused_jobs"]

_WORDS = Path(__file__).with_name("refused.txt")
"""Command lines, one a line."""


def refused_jobs() -> Iterator[Job]:
    """Yield every refusal; the list may hold some that are not refused, which is told as well."""
    lines = _WORDS.read_text(encoding="utf-8").splitlines()
    for number, words in enumerate(shlex.split(line) for line in lines if line[0] != "#"):
        yield Job(f"refused/words/{number:03}_{words[0]}", tuple(words), number % 4 == 0)
    for name in ("scoop_skirt", "slant_trouser"):
        text = Path(name, "set.toml").read_text(encoding="utf-8")
        for number, line in enumerate(text.splitlines()):
            if number % 2 or not line.partition("#")[0].strip():
                continue
            label = f"refused/lines/{name}/{number + 1:03}"
            ready = partial(_spoil_line, name, number)
            yield Job(label, ("walk", "spoilt"), number % 16 == 0, ready=ready)
    for label, harm in _HARMS.items():
        ready = partial(_spoil_piece, harm)
        yield Job(f"refused/pieces/{label}", ("show", "spoilt"), True, ready=ready)
        words = ("revise", "scoop_skirt", "--from", "spoilt/geometry/skirt_front.json")
        yield Job(f"refused/sent/{label}", words, True, ready=ready)


def _copy(name: str) -> Path:
    """A fresh copy of a set, to be spoilt."""
    shutil.rmtree("spoilt", ignore_errors=True)
    shutil.copytree(name, "spoilt", ignore=shutil.ignore_patterns("*.py", "*.md", "__pycache__"))
    return Path("spoilt")


def _spoil_line(name: str, number: int) -> None:
    """One line of set.toml is left out, has its first word changed, or its first value."""
    file = _copy(name) / "set.toml"
    lines = file.read_text(encoding="utf-8").splitlines()
    line = lines[number]
    lines[number] = (
        "",
        re.sub(r"[a-z_]{3,}", lambda found: found[0][:-1], line, count=1),
        re.sub(
            r'"([^"]*)"|\b\d+\b', lambda found: '"x"' if found[1] is None else "3", line, count=1
        ),
    )[number % 3]
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")


def _spoil_piece(harm: Callable[[dict[str, Any]], None]) -> None:
    file = _copy("scoop_skirt") / "geometry" / "skirt_front.json"
    piece = json.loads(file.read_text(encoding="utf-8"))
    harm(piece)
    file.write_text(json.dumps(piece), encoding="utf-8")


def _edge(piece: dict[str, Any], number: int) -> dict[str, Any]:
    edge: dict[str, Any] = piece["sizes"]["M"]["edges"][number]
    return edge


def _crossed(piece: dict[str, Any]) -> None:
    _edge(piece, 1)["points"][1] = [9000.0, 9000.0]


def _gap(piece: dict[str, Any]) -> None:
    _edge(piece, 1)["points"][0][0] += 3.0


def _backwards(piece: dict[str, Any]) -> None:
    sized = piece["sizes"]["M"]
    sized["edges"].reverse()
    for edge in sized["edges"]:
        if "points" in edge:
            edge["points"].reverse()


_HARMS: dict[str, Callable[[dict[str, Any]], None]] = {
    "newer": lambda piece: piece.update(format=9),
    "other_name": lambda piece: piece.update(piece="skirt_back"),
    "no_size": lambda piece: piece["sizes"].pop("M"),
    "size_more": lambda piece: piece["sizes"].update(XXL=piece["sizes"]["M"]),
    "no_edge": lambda piece: piece["sizes"]["M"]["edges"].pop(),
    "edge_twice": lambda piece: _edge(piece, 1).update(name=_edge(piece, 0)["name"]),
    "edge_renamed": lambda piece: _edge(piece, 1).update(name="flunk"),
    "no_points": lambda piece: _edge(piece, 0).pop("points", None),
    "text_point": lambda piece: _edge(piece, 0).update(points=[["a", 1.0], [2.0, 3.0]]),
    "one_point": lambda piece: _edge(piece, 0).update(points=[[1.0, 1.0]]),
    "path_and_points": lambda piece: _edge(piece, 0).update(path="M 0 0 L 1 1"),
    "crossed": _crossed,
    "gap": _gap,
    "backwards": _backwards,
    "no_grain": lambda piece: piece["sizes"]["M"].pop("grain"),
    "no_level": lambda piece: piece["sizes"]["M"].pop("levels"),
    "mark_far_off": lambda piece: piece["sizes"]["M"]["landmarks"][0].update(point=[0.0, 9.0]),
    "mark_on_nothing": lambda piece: piece["sizes"]["M"]["landmarks"][0].update(edge="flunk"),
    "mark_kind": lambda piece: piece["sizes"]["M"]["landmarks"][0].update(kind="blob"),
    "unknown_key": lambda piece: piece["sizes"]["M"].update(notches=[]),
}
"""Ways to spoil the front of the skirt."""
