"""Write the reference of relations and edits anew: the JSON Schema and the tables of the pages.

    python docs/reference.py

All follow from what each relation and edit tells of its own fields; a test compares them.
"""

from __future__ import annotations

import json
from pathlib import Path

from propagate.engine.edits.kinds import EDITS
from propagate.io.told_schema import with_relations
from propagate.pattern.kinds import BLEND, KINDS
from propagate.pattern.told import ToldField, either_of, told_fields

ROOT = Path(__file__).resolve().parents[1]
SCHEMA = ROOT / "propagate" / "io" / "schema" / "set.schema.json"
PAGE = ROOT / "docs" / "set-format.md"
EDITS_PAGE = ROOT / "docs" / "edit-words.md"
BEGIN, END = "<!-- reference: begin -->\n", "<!-- reference: end -->\n"

FORMS = {
    "edge": "`PIECE.EDGE` or `ASSEMBLY.EDGE`",
    "dart": "`PIECE.DART`",
    "place": "place",
    "places": "place, or list of places",
    "amount": "amount",
    "amounts": "amount, or list of amounts",
    "name": "name",
    "levels": "name, or list of names",
    "text": "text",
    "texts": "list of texts",
    "length": "length",
    "width": "length, or one for each size",
    "lengths": "list of lengths",
    "ease": "ease",
    "zone ease": "ease, but not by zones",
    "angle": "degrees",
    "flag": "true or false",
    "count": "whole number",
    "run": "run",
    "runs": "list of runs",
    "pairs": "list of pairs",
    "names": "table of names",
    "runs by name": "table of runs",
    "pairs by end": "table: `start`, `end`",
    "rows": "list of tables",
    "tables": "list of tables",
    "table": "table",
}


def schema_text() -> str:
    """The schema of a set with its relations."""
    found = with_relations(json.loads(SCHEMA.read_text(encoding="utf-8")))
    return json.dumps(found, indent=2, ensure_ascii=False) + "\n"


def page_text() -> str:
    """The page of the set with its tables."""
    return _with_tables(PAGE, tables())


def edits_text() -> str:
    """The page of the edits with its tables."""
    return _with_tables(EDITS_PAGE, edit_tables())


def _with_tables(page: Path, found: str) -> str:
    before, _, rest = page.read_text(encoding="utf-8").partition(BEGIN)
    return before + BEGIN + found + END + rest.partition(END)[2]


def tables() -> str:
    """One table for each kind of relation, and for each table within one."""
    blocks = []
    for kind in (*KINDS.values(), BLEND):
        brackets = f"[{kind.key}]" if kind is BLEND else f"[[{kind.key}]]"
        blocks += _blocks(kind.relation, brackets, kind.key)
    return "".join(f"\n{block}" for block in blocks) + "\n"


def edit_tables() -> str:
    """One table for each edit."""
    blocks = []
    for kind in EDITS.values():
        fields = told_fields(kind.load())
        rows = ["| Key | What it says | Value | Default |", "|---|---|---|---|"]
        rows += [
            f"| `{one.key}` | {one.told.doc} | {_value(one)} | {_default(one)} |" for one in fields
        ]
        title = f"**`{kind.word}`** — {kind.does} `{kind.example}`"
        blocks.append(f"{title}\n\n" + "\n".join(rows) + "\n")
    return "".join(f"\n{block}" for block in blocks) + "\n"


def _blocks(relation: type, title: str, path: str) -> list[str]:
    fields = told_fields(relation)
    doc = " ".join((relation.__doc__ or "").split("\n\n")[0].split())
    rows = ["| Key | What it says | Value | Default |", "|---|---|---|---|"]
    rows += [
        f"| `{one.key}` | {one.told.doc} | {_value(one)} | {_default(one)} |" for one in fields
    ]
    choice = ""
    groups = either_of(relation)
    if groups:
        words = " or ".join(" with ".join(f"`{key}`" for key in group) for group in groups)
        choice = f" Either {words}."
    found = [f"**`{title}`** — {doc}{choice}\n\n" + "\n".join(rows) + "\n"]
    for one in fields:
        if one.told.of is not None:
            place = f"{path}.{one.key}"
            inner = {"tables": f"[[{place}]]", "table": f"[{place}]"}.get(one.told.form, place)
            found += _blocks(one.told.of, inner, place)
    return found


def _value(one: ToldField) -> str:
    if one.told.form == "choice":
        return " or ".join(f"`{word}`" for word in one.told.choices)
    if one.told.pair:
        return f"{FORMS[one.told.form]} [{one.told.pair}]"
    return FORMS[one.told.form]


def _default(one: ToldField) -> str:
    if one.told.unless is not None:
        return f"needed, but for `{one.told.unless[0]}`"
    if one.required:
        return "needed"
    if isinstance(one.default, bool):
        return "true" if one.default else "false"
    return f"{one.default:g}" if isinstance(one.default, int | float) else "none"


if __name__ == "__main__":
    SCHEMA.write_text(schema_text(), encoding="utf-8")
    PAGE.write_text(page_text(), encoding="utf-8")
    EDITS_PAGE.write_text(edits_text(), encoding="utf-8")
