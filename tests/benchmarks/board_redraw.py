"""What a change of a what-if board takes in a browser, from the key to the new figure in the page.

    python tests/benchmarks/board_redraw.py --changes 30

A script and no test. In a real JupyterLab a slider of each board is moved by the arrow keys, one
press after the other has been answered; the page itself notes the time of the press and that of the
first frame with another figure.
"""

from __future__ import annotations

import argparse
import importlib.util
import statistics
import sys
import tempfile
from pathlib import Path
from typing import Any

from rebuildbook.whatif import NAMES

LAB = Path(__file__).resolve().parents[1] / "browser" / "lab.py"
SLIDER = {"joint": "Wrench set to", "order": "Wrench set to", "wrench": "Wrench set to"}

WATCH = """(at) => {
    window.rbTimes = [];
    let pressed = 0;
    at.addEventListener('keydown', () => { pressed = performance.now(); }, true);
    const figure = at.querySelector('.rb-drawn');
    new MutationObserver(() => requestAnimationFrame(
        () => window.rbTimes.push(performance.now() - pressed))).observe(
        figure, {childList: true, subtree: true});
}"""


def main() -> None:
    """Measure and print a table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--changes", type=int, default=30)
    parser.add_argument("boards", nargs="*", default=NAMES)
    wanted = parser.parse_args()
    lab_module = _lab_module()
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        with lab_module.lab(folder / "lab", folder / "shots") as lab:
            sys.stdout.write("board     median   slowest tenth, ms\n")
            for name in wanted.boards:
                times = _times(lab.open(name), wanted.changes)
                slow = statistics.quantiles(times, n=10)[-1]
                sys.stdout.write(f"{name:8} {statistics.median(times):7.0f} {slow:9.0f}\n")
                sys.stdout.flush()


def _times(board: Any, changes: int) -> list[float]:
    page = board.lab.page
    label = SLIDER.get(board.name)
    sliders = board.at.locator(".rb-knobs").get_by_role("slider")
    slider = board.slider(label) if label else sliders.first
    board.at.evaluate(WATCH)
    slider.focus()
    for done in range(changes):
        page.keyboard.press("ArrowRight" if done % 20 < 10 else "ArrowLeft")
        page.wait_for_function("done => window.rbTimes.length > done", arg=done)
        page.wait_for_timeout(50)
    found: list[float] = page.evaluate("window.rbTimes")
    return found[:changes]


def _lab_module() -> Any:
    spec = importlib.util.spec_from_file_location("board_lab", LAB)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["board_lab"] = module
    spec.loader.exec_module(module)
    return module


if __name__ == "__main__":
    main()
