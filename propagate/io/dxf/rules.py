"""The grade rule table: read it, write it, and turn its deltas into displacements.

A rule gives one x,y pair for each size, in the order of the size list, in the frame of
the piece's grade reference line.  The syntax is from memory.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

import numpy as np

from propagate.errors import FormatError
from propagate.io.dxf.conventions import (
    ENGLISH,
    MAX_PAIRS,
    MAX_RULES,
    MAX_SIZES,
    RULE_END,
    RULE_HEAD,
    RULE_NUMBER,
    RULE_WORDS,
    SYSTEM_TEXT,
    VERSION_LINE,
)
from propagate.io.dxf.shapes import Shapes
from propagate.io.options import Deltas
from propagate.pattern.model import Array
from propagate.values import dataclass

__all__ = [
    "RuleTable",
    "read_moves",
    "list_rules",
    "looks_stepwise",
    "parse_rules",
    "refuse_lost_rules",
    "render_rules",
    "tell_steps",
]

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_DAMAGED = re.compile(r"\.\d*\.|,[ \t]*,")
"""Two points in a number, or two commas with nothing between: something was lost there."""
_INFINITE = re.compile(
    r"[+-]?(?:nan(?:\(\w*\))?|inf(?:inity)?|\d+\.#(?:inf|ind|q?nan|snan)\d*|#num!?"
    r"|[\d.]+e\+?\d{3,})",
    re.IGNORECASE,
)
"""How programs write what is infinite or not a number (from memory)."""
_WORDS = {text.lower(): key for key, text in RULE_WORDS.items()}


@dataclass(frozen=True)
class RuleTable:
    """A grade rule table.

    Attributes
    ----------
    name : str
    sizes : tuple of str
    sample : str
    rules : mapping of rule number to (sizes, 2) array
        As the file says them, in its units.
    units : str
        Lower case; empty when the file states none.
    words : mapping of keyword to value
        What else its head says.
    problems : tuple of str
        What could not be read.
    ended : bool
        Whether its last line was there.
    """

    name: str
    sizes: tuple[str, ...]
    sample: str
    rules: Mapping[str, Array]
    units: str = ""
    words: Mapping[str, str] | None = None
    problems: tuple[str, ...] = ()
    ended: bool = True


def parse_rules(text: str, source: str) -> RuleTable:
    """Read a rule file; pairs are counted, not lines.

    Raises
    ------
    FormatError
        No size list, a sample size that is not in it, a delta that is infinite or not a
        number, or too many rules.
    """
    head, bodies, ended = _split_rules(text)
    problems: list[str] = []
    if not ended:
        last = (
            f"; the last number of rule {bodies[-1][0]} too"
            if bodies and not text.endswith(("\n", "\r"))
            else ""
        )
        problems.append(f"found no '{RULE_END}' at the end: the file may be cut off{last}")
    sizes = _read_sizes(head, len(bodies), source)
    sample = head.get("sample", "")
    if sample not in sizes:
        raise FormatError(
            f"{source}: found the sample size '{sample}', expected one of {', '.join(sizes)}; "
            f"correct '{RULE_WORDS['sample']}'"
        )
    stated = re.sub(r"\D", "", head.get("count", ""))[:6]
    if stated and int(stated) != len(sizes):
        problems.append(
            f"the head says {stated} sizes, the list has {len(sizes)}; the list was taken"
        )
    rules = _read_rules(bodies, sizes, source, problems)
    return RuleTable(
        head.get("table", ""),
        sizes,
        sample,
        rules,
        head.get("units", "").lower(),
        head,
        tuple(problems),
        ended,
    )


def _split_rules(text: str) -> tuple[dict[str, str], list[tuple[str, str]], bool]:
    """Return the head, the rules with their bodies, and whether the end is there."""
    head: dict[str, str] = {}
    bodies: list[tuple[str, list[str]]] = []
    ended = False
    for line in text.lstrip("\ufeff").splitlines():
        match = RULE_HEAD.fullmatch(line)
        word = SYSTEM_TEXT.fullmatch(line)
        if not line.strip() or ended:
            continue
        if match:
            bodies.append((match[1].lstrip("0") or "0", [match[2]]))
        elif line.strip().upper() == RULE_END:
            ended = True
        elif bodies:
            bodies[-1][1].append(line)
        elif word and " ".join(word[1].lower().split()) in _WORDS:
            head.setdefault(_WORDS[" ".join(word[1].lower().split())], word[2].strip())
        elif "sizes" in head and "sample" not in head and not word:
            head["sizes"] += " " + line.strip()  # a long size list runs on
        else:
            head.setdefault("version", line.strip())
    return head, [(number, "\n".join(lines)) for number, lines in bodies], ended


def _read_sizes(head: Mapping[str, str], count: int, source: str) -> tuple[str, ...]:
    """Return the size list of a table with so many rules; refuse one that is not to be read."""
    sizes = tuple(head.get("sizes", "").replace(",", " ").split())
    if not sizes:
        raise FormatError(
            f"{source}: found no '{RULE_WORDS['sizes']}', expected the names of the sizes; "
            "this is no grade rule table, or a damaged one"
        )
    if len(sizes) * count > MAX_PAIRS:
        raise FormatError(
            f"{source}: found {count} rules in {len(sizes)} sizes, expected at most "
            f"{MAX_PAIRS} x,y pairs in all"
        )
    if len(sizes) > MAX_SIZES or count > MAX_RULES:
        raise FormatError(
            f"{source}: found {len(sizes)} sizes and {count} rules, expected at most "
            f"{MAX_SIZES} and {MAX_RULES}"
        )
    if len(set(sizes)) < len(sizes):
        raise FormatError(f"{source}: found a size twice in '{' '.join(sizes)}'; name each once")
    return sizes


def _read_rules(
    bodies: Sequence[tuple[str, str]], sizes: Sequence[str], source: str, problems: list[str]
) -> dict[str, Array]:
    """Return the deltas of each rule; what is wrong with the others goes to the problems."""
    rules: dict[str, Array] = {}
    for number, body in bodies:
        pairs = _read_pairs(body)
        if pairs is None:
            _refuse_infinite(number, body, sizes, source)
        if pairs is None or len(pairs) != len(sizes):
            found = "something that is no number" if pairs is None else f"{len(pairs)} pairs"
            problems.append(
                f"rule {number}: found {found}, expected {len(sizes)} x,y pairs; it was left out"
            )
        elif number in rules:
            problems.append(f"rule {number} stands twice; the first was taken")
        else:
            rules[number] = pairs
    return rules


def _refuse_infinite(number: str, body: str, sizes: Sequence[str], source: str) -> None:
    """Refuse a delta that a program wrote for what is no number, such as "nan" or "1.#INF"."""
    for index, word in enumerate(re.findall(r"[^\s,;]+", body)):
        if _INFINITE.fullmatch(word):
            size = sizes[min(index // 2, len(sizes) - 1)]
            raise FormatError(
                f"{source}: rule {number}, size {size}: found '{word}' for its "
                f"{'xy'[index % 2]}, expected a finite number; correct the rule or export the "
                "file again"
            )


def _read_pairs(body: str) -> Array | None:
    """Read x,y pairs; a decimal comma is understood where blanks divide the numbers."""
    if _NUMBER.sub("", body).strip(" ,;\t\r\n") or _DAMAGED.search(body):
        return None
    try:
        numbers = _read_numbers(body)
    except ValueError:  # a comma for the point here and there
        return None
    if len(numbers) % 2 or not numbers or max(map(abs, numbers)) > 1e5:
        return None
    return np.array(numbers).reshape(-1, 2)


def _read_numbers(body: str) -> list[float]:
    if "." in body:
        return [float(word) for word in _NUMBER.findall(body)]
    words = re.split(r"[\s;]+", body.strip())
    single = [word.strip(",") for word in words if word.strip(",")]
    if all(re.fullmatch(r"[+-]?\d+,\d+", word) for word in single):
        # "1,50" may be 1.50 or the pair 1 and 50: points come in pairs of numbers
        if any(word.endswith(",") for word in words):
            numbers = [float(word.replace(",", ".")) for word in single]
        else:
            numbers = [float(word) for word in _NUMBER.findall(body)]
    elif re.search(r"\d,\d+\s*[,;]\s+[+-]?\d+,\d", body):
        numbers = [float(word.replace(",", ".")) for word in single]
    else:
        numbers = [float(word) for word in _NUMBER.findall(body)]
    return numbers


def read_moves(table: RuleTable, number: str, deltas: Deltas) -> Array:
    """(sizes, 2) displacement of a point from the sample size, in the file's units.

    Stepwise deltas are each measured from the neighbour that is nearer to the sample
    size, and are added up outwards from it.
    """
    given = table.rules[number]
    if deltas == "from sample":
        return given
    at = table.sizes.index(table.sample)
    total = np.zeros_like(given)
    total[at + 1 :] = np.cumsum(given[at + 1 :], axis=0)
    total[:at] = np.cumsum(given[:at][::-1], axis=0)[::-1]
    return total


def tell_steps(moves: Array, sample: int, deltas: Deltas) -> Array:
    """Return displacements from the sample size as a table says them; see `read_moves`."""
    if deltas == "from sample":
        return moves
    given = np.zeros_like(moves)
    given[sample + 1 :] = np.diff(moves[sample:], axis=0)
    given[:sample] = -np.diff(moves[: sample + 1], axis=0)
    return given


def looks_stepwise(table: RuleTable) -> bool:
    """Tell whether most rules have equal steps on a side of the sample size.

    Deltas from the sample size grow outwards; equal ones of constant sign (10, 10, 10)
    point to stepwise deltas.
    """
    at = table.sizes.index(table.sample)
    given = np.array([*table.rules.values()]).reshape(-1, len(table.sizes), 2)
    alike = told = 0
    for side in (given[:, at + 1 :], given[:, :at]):
        if side.shape[1] > 1:
            largest = np.abs(side).max(axis=1)
            is_told = largest > 1e-9
            alike += int((is_told & (np.ptp(side, axis=1) <= 0.1 * largest)).sum())
            told += int(is_told.sum())
    return alike > told - alike


def render_rules(table: RuleTable, *, decimals: int = 3) -> str:
    """Write a rule file, strictly ASCII."""
    words = table.words or {}
    lines = [words.get("version", VERSION_LINE)]
    lines += [
        f"{RULE_WORDS[key]}: {words[key]}" for key in ("author", "date", "time") if words.get(key)
    ]
    lines += [
        f"{RULE_WORDS['units']}: {'ENGLISH' if table.units == ENGLISH else 'METRIC'}",
        f"{RULE_WORDS['table']}: {table.name}",
        f"{RULE_WORDS['count']}: {len(table.sizes)}",
        f"{RULE_WORDS['sizes']}: {' '.join(table.sizes)}",
        f"{RULE_WORDS['sample']}: {table.sample}",
    ]
    for number, values in table.rules.items():
        pairs = [
            f"{x + 0.0:.{decimals}f}, {y + 0.0:.{decimals}f}" for x, y in np.round(values, decimals)
        ]
        lines.append(f"RULE: DELTA {number}")
        lines += [" " + "   ".join(pairs[first : first + 4]) for first in range(0, len(pairs), 4)]
    return "\n".join([*lines, RULE_END, ""])


# ---------------------------------------------------------------------------- rules that are lost

_TOLD = 5
_NOT_GRADED = "0"  # common practice, no source: a point that does not move


def used_rules(shapes: Shapes) -> list[str]:
    """Return the rule numbers that stand in a block, each once, in the order of the file."""
    found = (RULE_NUMBER.fullmatch(text.text) for text in shapes.texts)
    return list(dict.fromkeys(match[1].lstrip("0") or "0" for match in found if match))


def list_rules(numbers: Sequence[str]) -> str:
    """Return rule numbers in words: the first few, and how many more."""
    more = len(numbers) - _TOLD
    return ", ".join(numbers[:_TOLD]) + (f" and {more} more" if more > 0 else "")


def refuse_lost_rules(
    table: RuleTable, pieces: Mapping[str, Shapes], rule_file: str, drawing: str
) -> None:
    """Refuse a table without rules that its drawing uses.

    A file with its last line may lack some rules of a piece, which the reading report tells; one
    without it only such as nothing uses.

    Parameters
    ----------
    table : RuleTable
    pieces : mapping of piece name to Shapes
    rule_file, drawing : str
        The files' names.

    Raises
    ------
    FormatError
        The file is cut off and rules are gone with its end, or no rule of a piece is there.
    """
    used = {name: used_rules(shapes) for name, shapes in pieces.items()}
    lost = {
        name: [rule for rule in rules if rule not in table.rules and rule != _NOT_GRADED]
        for name, rules in used.items()
    }
    bare = [name for name, rules in lost.items() if rules and len(rules) == len(used[name])]
    every = list(dict.fromkeys(rule for rules in lost.values() for rule in rules))
    if not every or (table.ended and not bare):
        return
    count = len(dict.fromkeys(rule for rules in used.values() for rule in rules))
    of = [name for name, rules in lost.items() if rules]
    raise FormatError(
        f"{rule_file}: found {len(every)} of the {count} rules that '{drawing}' uses missing "
        f"({list_rules(every)}; on {_list_pieces(of)})"
        + ("" if table.ended else f" and no '{RULE_END}' at the end")
        + ", expected all of them"
        + (f": {_list_pieces(bare)} would be the same in every size" if bare else "")
        + ("; it belongs to another drawing or is damaged" if table.ended else "; it was cut off")
        + ": ask for the rule file again, together with its DXF"
    )


def _list_pieces(names: Sequence[str]) -> str:
    shown = ", ".join(f"'{name}'" for name in names[:_TOLD])
    more = f" and {len(names) - _TOLD} more" if len(names) > _TOLD else ""
    return f"piece{'s' if len(names) > 1 else ''} {shown}{more}"
