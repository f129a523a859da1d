"""A picture drawn by ezdxf's renderer against one drawn straight from the set."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest

from propagate.engine.finish import cut_line
from propagate.io.dxf import WriteOptions, write
from propagate.pattern.model import Piece
from propagate.pattern.relations import Allowance, PieceInfo
from tests.builders import tiny_set

Pixels = npt.NDArray[np.bool_]


def grown(ink: Pixels, by: int) -> Pixels:
    """Every pixel within `by` of an inked one, in rows and columns."""
    found = ink.copy()
    for axis in (0, 1):
        for shift in range(1, by + 1):
            found |= np.roll(found, shift, axis) | np.roll(found, -shift, axis)
    return found


def test_the_outlines_are_where_the_set_has_them(tmp_path: Path) -> None:
    matplotlib = pytest.importorskip("matplotlib")
    matplotlib.use("Agg")
    drawing = pytest.importorskip("ezdxf.addons.drawing")
    pytest.importorskip("PIL")
    import ezdxf
    import matplotlib.pyplot as plt
    from ezdxf.addons.drawing.matplotlib import MatplotlibBackend

    pattern = tiny_set()
    info = PieceInfo("Front", allowance=Allowance(12.0))
    sized = pattern.sized("front", "38")
    one = replace(
        pattern,
        sizes=("38",),
        pieces={"front": Piece("front", {"38": sized})},
        info={"front": info},
    )
    path = tmp_path / "one.dxf"
    write(one, path, WriteOptions(kind="nested", validation="none", names=False))
    document = ezdxf.readfile(path)
    for entity in list(document.blocks["front-38"]):
        if entity.dxf.layer not in ("1", "14") or entity.dxftype() == "TEXT":
            document.blocks["front-38"].delete_entity(entity)
    space = document.modelspace()
    for entity in list(space.query("TEXT")):
        space.delete_entity(entity)

    def picture(draw: object) -> Pixels:
        figure = plt.figure(figsize=(6, 12), dpi=100)
        axes = figure.add_axes((0, 0, 1, 1))
        draw(axes)  # type: ignore[operator]
        axes.set_aspect("auto")
        axes.set_xlim(-40, 290)
        axes.set_ylim(-630, 30)  # the figure is twice as high as wide
        axes.set_axis_off()
        figure.patch.set_facecolor("white")
        figure.canvas.draw()
        image = np.asarray(figure.canvas.buffer_rgba())[:, :, :3].mean(axis=2)
        plt.close(figure)
        return image < 160

    def theirs(axes: object) -> None:
        backend = MatplotlibBackend(axes, adjust_figure=False)
        context = drawing.RenderContext(document)
        settings = drawing.config.Configuration(
            color_policy=drawing.config.ColorPolicy.BLACK,
            background_policy=drawing.config.BackgroundPolicy.WHITE,
        )
        drawing.Frontend(context, backend, config=settings).draw_layout(space)

    def ours(axes: object) -> None:
        for points in (sized.outline, cut_line(sized, info).points):
            closed = np.vstack([points, points[:1]])
            axes.plot(*closed.T, color="black", linewidth=1.0)  # type: ignore[attr-defined]

    a, b = picture(theirs), picture(ours)
    assert a.sum() > 2000 and b.sum() > 2000
    assert not (a & ~grown(b, 2)).any()  # nothing drawn that is not in the set
    assert not (b & ~grown(a, 2)).any()  # and nothing left out
