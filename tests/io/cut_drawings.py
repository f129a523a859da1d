"""Drawings of cut lines alone, made of sets: what people have who were sent no seam lines."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import ezdxf
import numpy as np
import shapely

from propagate.engine.finish import CutLine, allowances, cut_line
from propagate.geometry.beside import find_squares
from propagate.geometry.polyline import locate
from propagate.io.dxf import WriteOptions, write
from propagate.pattern.model import Array, SizedPiece
from propagate.pattern.patternset import PatternSet

__all__ = ["notch_across", "own_cut_line", "write_dxf", "write_svg"]


def own_cut_line(pattern: PatternSet, piece: str, size: str) -> CutLine:
    return cut_line(pattern.sized(piece, size), pattern.info[piece], size=size)


def notch_across(sized: SizedPiece, edge: str, name: str, cut: CutLine) -> Array | None:
    """Where a notch stands on the cut line: square across, None where its edge has no line."""
    lines = [own.points for own in sized.edges]
    index = sized.edge_names.index(edge)
    place = np.array(sized.landmark(name).point)
    along = locate(lines[index], place)[0]
    at, direction = find_squares(lines, index, sized.edges[index].turns).out(along)
    ray = np.vstack([at - 0.001 * direction, at + 200.0 * direction])
    ring = np.vstack([cut.points, cut.points[:1]])
    hit = shapely.LineString(ray).intersection(shapely.LineString(ring))
    points = [np.array(p.coords[0]) for p in shapely.get_parts(hit) if p.geom_type == "Point"]
    return min(points, key=lambda p: float(np.hypot(*(p - at))), default=None)


def write_svg(
    pattern: PatternSet, folder: Path, pieces: Sequence[str] | None = None, *, seam: bool = False
) -> Path:
    """One drawing with a group for each size: closed cut lines, grains, folds and notches."""
    rows = []
    boxes = {
        name: np.vstack([own_cut_line(pattern, name, size).points for size in pattern.sizes])
        for name in pieces or pattern.pieces
    }
    left = 0.0
    shifts = {}
    for name, box in boxes.items():
        low, high = box.min(axis=0), box.max(axis=0)
        shifts[name] = np.array([left - low[0] + 20.0, -low[1] + 20.0])
        left += float(high[0] - low[0]) + 40.0
    tall = max(float(np.ptp(box[:, 1])) for box in boxes.values()) + 40.0
    for size in pattern.sizes:
        rows.append(f'<g id="size-{size}">')
        for name, shift in shifts.items():
            rows += _piece(pattern, name, size, shift, tall, seam)
        rows.append("</g>")
    page = f'width="{left:.3f}mm" height="{tall:.3f}mm" viewBox="0 0 {left:.3f} {tall:.3f}"'
    file = folder / "cut.svg"
    file.write_text(f'<svg xmlns="http://www.w3.org/2000/svg" {page}>' + "\n".join(rows) + "</svg>")
    return file


def write_dxf(pattern: PatternSet, folder: Path) -> Path:
    """What the program writes, without seam lines, names and curves to check by, by ezdxf."""
    whole = folder / "whole.dxf"
    write(pattern, whole, WriteOptions(kind="nested", names=False))
    document = ezdxf.readfile(whole)
    for block in document.blocks:
        for entity in [item for item in block if item.dxf.layer in ("14", "84", "87")]:
            block.delete_entity(entity)
    file = folder / "cut.dxf"
    document.saveas(file)
    return file


def _piece(
    pattern: PatternSet, name: str, size: str, shift: Array, tall: float, seam: bool
) -> list[str]:
    sized, info = pattern.sized(name, size), pattern.info[name]
    cut = own_cut_line(pattern, name, size)

    def path(points: Array, closed: bool = False) -> str:
        moved = (points + shift) * [1, -1] + [0, tall]
        words = " L ".join(f"{x:.9f} {y:.9f}" for x, y in moved)
        return f'd="M {words}{" Z" if closed else ""}"'

    rows = [f'<g id="{size}.{name}" data-piece="{name}">']
    rows.append(f"<path {path(cut.points, True)}/>")
    if seam:
        rows.append(f'<path class="line" id="seam_line" {path(sized.outline, True)}/>')
    ends = np.array([sized.grain.start, sized.grain.end])
    rows.append(f'<path id="grain" {path(ends)}/>')
    if info.fold is not None and allowances(sized, info)[info.fold] == 0.0:
        own = sized.edge(info.fold).points
        rows.append(f'<path id="fold" {path(own[[0, -1]])}/>')
    for mark in sized.landmarks:
        if mark.kind == "notch":
            at = notch_across(sized, mark.edge, mark.name, cut)
            if at is not None:
                dot = path(np.vstack([at, at + np.array([0.0, 1e-3])]))
                rows.append(f'<path class="notch" data-name="{mark.name}" {dot}/>')
    return [*rows, "</g>"]
