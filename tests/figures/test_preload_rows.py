"""The overview of all joints: what it draws, refuses and says."""

import numpy as np
import pytest

from rebuildbook.figures.preload_rows import PreloadRow, preload_rows
from rebuildbook.figures.style import svg


def row(name: str = "cover", *, opens: float | None = 0.2, strips: float | None = None):
    draws = np.random.default_rng(1).normal(0.6, 0.05, 4000)
    return PreloadRow(name, draws, (0.5, 0.7), opens, strips, "5 kN to 7 kN")


def test_every_joint_has_its_name_and_its_words():
    figure = preload_rows([row("cover"), row("gland")])
    said = {text.get_text() for axes in figure.axes for text in axes.texts}
    assert {"cover", "gland", "5 kN to 7 kN", "opens below", "thread strips", "yields"} <= said


def test_marks_stand_at_their_shares_and_only_where_there_are_any():
    def marks(one: PreloadRow) -> list[tuple[str, float]]:
        axes = preload_rows([one]).axes[0]
        return [
            (line.get_marker(), line.get_xdata()[0])
            for line in axes.lines
            if line.get_marker() in {"<", "x"}
        ]

    assert marks(row(opens=0.2, strips=0.9)) == [("<", 0.2), ("x", 0.9)]
    assert marks(row(opens=None)) == []
    assert marks(row(opens=9.0)) == []  # far beyond the scale


def test_the_hump_holds_the_trials():
    axes = preload_rows([row()]).axes[0]
    corners = axes.patches[0].get_xy()
    assert corners[:, 0].min() == pytest.approx(row().draws.min())
    assert corners[:, 0].max() == pytest.approx(row().draws.max())


def test_nothing_to_draw_is_refused():
    with pytest.raises(ValueError, match="no joint"):
        preload_rows([])
    with pytest.raises(ValueError, match="cover: 1 trials"):
        preload_rows([PreloadRow("cover", np.array([1.0]), (0, 1), None, None, "")])


def test_same_rows_same_bytes_and_small():
    rows = [row(name) for name in "abcdefg"]
    assert svg(preload_rows(rows)) == svg(preload_rows(rows))
    assert len(svg(preload_rows(rows))) < 32_000
