"""Ratios of an ease are read, refused in words, and written as they were read."""

from __future__ import annotations

from pathlib import Path

import pytest

import propagate
from propagate.io.reading import UnreadableFile
from propagate.pattern.ease import Ease, fullness_words
from propagate.pattern.toml_text import lines_of_relation
from tests.builders import write_tiny


def with_ease(folder: Path, text: str) -> Path:
    file = write_tiny(folder) / "set.toml"
    lines = file.read_text(encoding="utf-8").replace("ease = 0\n", "")
    file.write_text(
        lines.replace('follow = ["back.side', f'ease = {text}\nfollow = ["back.side', 1)
    )
    return file.parent


@pytest.mark.parametrize(
    ("text", "ease"),
    [
        ("{ gathers = 1.5 }", Ease(gathers=1.5)),
        ("{ stretched = 0.85 }", Ease(stretched=0.85)),
    ],
)
def test_read_and_written(tmp_path: Path, text: str, ease: Ease) -> None:
    seams = propagate.load(with_ease(tmp_path, text)).relations.seams
    (seam,) = [one for one in seams.values() if one.ease]
    assert seam.ease == ease
    assert f"ease = {text}" in lines_of_relation(seam)


@pytest.mark.parametrize("text", ["{ gathers = 15 }", "{ stretched = 0 }", '{ gathers = "1.5" }'])
def test_refused_in_words(tmp_path: Path, text: str) -> None:
    with pytest.raises(UnreadableFile, match=r"from 0\.1 up to 4"):
        propagate.load(with_ease(tmp_path, text))
    with pytest.raises(UnreadableFile, match="expected an ease"):
        propagate.load(with_ease(tmp_path / "two", "{ gathers = 1.5, share = 0.5 }"))


def test_words_of_a_size() -> None:
    ease = Ease(sizes=(("S", Ease(gathers=1.5)), ("M", 4.0)))
    said = [fullness_words(ease, size, lambda mm: f"{mm:g} mm") for size in ("S", "M")]
    assert said == ["gathered 1.5 to 1", ""]
