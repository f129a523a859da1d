"""Sizes as layers, matching numbers, allowance widths, grain; the same bytes every time."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO
from pathlib import Path

import numpy as np
import pikepdf

import propagate
from propagate.report.printing.edge_texts import allowance_words
from propagate.report.printing.placed_piece import numbers_on, seam_numbers
from propagate.report.printing.tile_frame import FRAMES_LAYER
from propagate.report.units import INCHES, MILLIMETRES
from tests.print.conftest import print_set, printed
from tests.print.reader import layer_names, pixels, stroked, text_of, without_layers
from tests.shared import demo


def test_every_size_is_a_layer_that_holds_its_lines() -> None:
    pattern = demo("scoop_skirt")
    data, _ = printed("scoop_skirt", "a0", sizes=("S", "L"), pieces=("bag_front", "belt"))
    with pikepdf.open(BytesIO(data)) as document:
        assert layer_names(document) == ["size S", "size L"]
        assert document.Root.PageMode == "/UseOC"
        assert len(document.Root.OCProperties.D.Order) == 2
    paths = stroked(data)[0]
    for size in ("S", "L"):
        found = [p.length for p in paths if p.layers == (f"size {size}",) and not p.closed]
        for name in ("bag_front", "belt"):
            for edge in pattern.sized(name, size).edges:
                assert min(abs(length - edge.length) for length in found) < 0.01, edge.name


def test_a_reader_can_switch_sizes(tmp_path: Path) -> None:
    data, _ = printed("scoop_skirt", "a0", sizes=("S", "L"), pieces=("bag_front", "belt"))
    both = pixels(data, tmp_path, 1, 60) < 200
    small = pixels(without_layers(data, "size L"), tmp_path, 1, 60) < 200
    large = pixels(without_layers(data, "size S"), tmp_path, 1, 60) < 200
    none = pixels(without_layers(data, "size S", "size L"), tmp_path, 1, 60) < 200
    assert none.sum() < small.sum() < both.sum() > large.sum() > none.sum()
    assert not (none & ~both).any()


def test_one_size_needs_no_layer_but_the_frames() -> None:
    data, _ = printed("slant_trouser", "a4", pieces=("facing",))
    with pikepdf.open(BytesIO(data)) as document:
        assert layer_names(document) == [FRAMES_LAYER]


def test_every_seam_has_one_number_on_both_runs() -> None:
    pattern = demo("slant_trouser")
    numbers = seam_numbers(pattern, set(pattern.pieces))
    zones = [zone for band in pattern.relations.bands.values() for zone in band.zones if zone.run]
    assert len(numbers) == len(pattern.relations.seams) + len(zones)
    assert [entry.number for entry in numbers] == list(range(1, len(numbers) + 1))
    for entry in numbers:
        for span in (*entry.lead, *entry.follow):
            assert (span, entry.number) in numbers_on(numbers, span.piece)
    alone = seam_numbers(pattern, {"top_bag"})
    assert {entry.number for entry in alone} < {entry.number for entry in numbers}
    assert all(any(span.piece == "top_bag" for span in entry.spans) for entry in alone)


def test_numbers_names_and_widths_can_be_read(tmp_path: Path) -> None:
    pattern = demo("slant_trouser")
    data, _ = printed("slant_trouser", "36in-roll")
    words = text_of(data, tmp_path)
    for name in pattern.pieces:
        info = pattern.info[name]
        assert info.title in words
        for width in {info.allowance.of(edge) for edge in pattern.sized(name, "42").edge_names}:
            if width >= 4.0:
                assert allowance_words(width, MILLIMETRES) in words
    for number in range(1, 13):
        assert str(number) in words.split()
    assert "size 42" in words and "cut 2, mirrored pair" in words
    assert "100 mm × 100 mm" in words and "4 in × 4 in" in words


def test_widths_in_inches_are_sixteenths() -> None:
    assert allowance_words(15.875, INCHES) == "5/8 in"
    assert allowance_words(38.1, INCHES) == "1 1/2 in"
    assert allowance_words(25.4, INCHES) == "1 in"
    assert allowance_words(10.0, INCHES) == "0.39 in"
    assert allowance_words(12.5, MILLIMETRES) == "12.5 mm"


def test_grain_is_kept_and_nap_turns_nothing() -> None:
    from propagate.report.printing.packing import Item, pack_items
    from propagate.report.printing.placed_piece import on_paper, turn_piece

    pattern = demo("scoop_skirt")
    pieces = [on_paper(pattern, name, ("M",)) for name in pattern.pieces]
    for piece in pieces:
        for way, up in ((piece, 1.0), (turn_piece(piece), -1.0)):
            assert np.allclose(way.sizes["M"].grain.direction, [0.0, up], atol=1e-12)
    items = [Item(piece.name, piece.footprint, may_turn=False) for piece in pieces]
    assert not any(spot.turned for spot in pack_items(items, 900.0).spots)


def test_the_same_set_gives_the_same_bytes() -> None:
    pattern = demo("scoop_skirt")
    again = replace(pattern)
    first, _ = print_set(pattern, "letter", pieces=("bag_front", "pocket_facing"))
    second, _ = print_set(again, "letter", pieces=("bag_front", "pocket_facing"))
    assert first == second
    assert b"/CreationDate" not in first and b"/ModDate" not in first


def test_a_result_prints_in_its_own_size(result: propagate.Result, tmp_path: Path) -> None:
    data, summary = print_set(result, "36in-roll")
    assert summary.sizes == (result.pattern.base,)
    assert summary.pieces == tuple(result.pattern.pieces)
    found = [p.length for paths in stroked(data) for p in paths]
    for name in result.pattern.pieces:
        for edge in result.pattern.sized(name, result.pattern.base).edges:
            assert min(abs(length - edge.length) for length in found) < 0.01
    assert result.pattern.name.split()[0] in text_of(data, tmp_path)
