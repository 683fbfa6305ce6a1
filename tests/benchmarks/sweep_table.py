"""Points a second of a sweep: python tests/benchmarks/sweep_table.py --points 10000 [KIND …].

A script and no test. ``map`` has the square root of the points on either side. The card is the
transfer pump's; ``balls`` takes one whose fluid has no flow curve, so that the viscosity moves the
balls of its checks anew at every point.
"""

from __future__ import annotations

import argparse
import math
import os
import time
from pathlib import Path

from rich.console import Console

from rebuildbook.worksheet.sweep import prepare, run

JOBS = Path(__file__).resolve().parents[2] / "parameters" / "jobs"
TORQUE, PRESSURE = "joints.inlet-flange.torque=5 to 25 N*m", "duty.working_pressure=2 to 6 bar"
FREE = ["tools.inlet-flange.setting="]
SHOWN = ["preload.inlet-flange.*", "service.inlet-flange.*"]
KINDS: dict[str, tuple[str, list[str], list[str], list[str]]] = {
    "torque": ("TW-2611", [TORQUE], FREE, []),
    "torque, shown": ("TW-2611", [TORQUE], FREE, SHOWN),
    "map": ("TW-2611", [TORQUE, PRESSURE], FREE, []),
    "viscosity": ("TW-2611", ["fluid.viscosity=100 to 250 mPa*s"], [], []),
    "balls": ("TW-2612", ["fluid.viscosity=20 to 60 mPa*s"], [], []),
}


def main() -> None:
    """Measure the kinds asked for, or all."""
    asked = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    asked.add_argument("kinds", nargs="*", default=[])
    asked.add_argument("--points", type=int, default=1000)
    given, out = asked.parse_args(), Console(highlight=False, soft_wrap=True)
    for kind in given.kinds or KINDS:
        card, overs, settings, show = KINDS[kind]
        points = given.points if len(overs) == 1 else math.isqrt(given.points)
        before, began = os.times(), time.perf_counter()
        prepared = prepare(
            JOBS / f"{card}.yaml", overs, settings=settings, points=points, show=show
        )
        sweep = run(prepared)
        took, after = time.perf_counter() - began, os.times()
        worked = sum(after[:4]) - sum(before[:4])
        count = len(sweep.plan)
        out.print(
            f"{kind:14} {count:6} points in {took:7.1f} s: {count / took:6.1f} a second, "
            f"{1e3 * worked / count:5.1f} ms of a processor each; load {os.getloadavg()[0]:.1f}"
        )


if __name__ == "__main__":
    main()
