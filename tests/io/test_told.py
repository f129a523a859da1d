"""What relations tell of themselves: the committed schema and tables are those that follow."""

import importlib.util
import json
from pathlib import Path
from types import ModuleType

import pytest

from propagate.pattern.kinds import BLEND, KINDS
from propagate.pattern.patternset import Relations
from propagate.pattern.told import told_fields

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def reference() -> ModuleType:
    spec = importlib.util.spec_from_file_location("reference", ROOT / "docs" / "reference.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_committed_schema_is_the_one_that_follows(reference: ModuleType) -> None:
    committed = reference.SCHEMA.read_text(encoding="utf-8")
    assert committed == reference.schema_text(), "run 'python docs/reference.py'"


def test_a_key_that_is_lost_from_the_schema_is_put_in_again(
    reference: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = reference.schema_text()
    poorer = json.loads(whole)
    del poorer["$defs"]["seam"]["properties"]["ease"], poorer["properties"]["band"]
    file = tmp_path / "set.schema.json"
    file.write_text(json.dumps(poorer), encoding="utf-8")
    monkeypatch.setattr(reference, "SCHEMA", file)
    assert json.loads(reference.schema_text()) == json.loads(whole)


def test_the_tables_of_the_page_are_those_that_follow(reference: ModuleType) -> None:
    page = reference.PAGE.read_text(encoding="utf-8")
    assert page == reference.page_text(), "run 'python docs/reference.py'"
    assert reference.tables().count("| Key |") == len(list(told_tables()))


def test_the_tables_of_the_edits_are_those_that_follow(reference: ModuleType) -> None:
    page = reference.EDITS_PAGE.read_text(encoding="utf-8")
    assert page == reference.edits_text(), "run 'python docs/reference.py'"


def told_tables():
    todo = [kind.relation for kind in (*KINDS.values(), BLEND)]
    while todo:
        relation = todo.pop()
        yield relation
        todo += [one.told.of for one in told_fields(relation) if one.told.of is not None]


def test_every_field_says_what_it_means_in_one_sentence() -> None:
    for relation in told_tables():
        for one in told_fields(relation):
            assert len(one.told.doc) > 7 and "\n" not in one.told.doc, (relation, one.name)
            assert not one.told.doc.endswith("."), (relation, one.name)


def test_every_kind_is_kept_in_a_set() -> None:
    assert {kind.kept for kind in (*KINDS.values(), BLEND)} == set(vars(Relations())) - {
        *("others", "titles")
    }
