"""What stands against the times of an assembly: open threads, handling, the test."""

from __future__ import annotations

from collections.abc import Iterator

from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import Finding, Level
from rebuildbook.worksheet.traveller_cure import Clock, Setting, lasting, moment


def time_findings(context: Context, clock: Clock) -> Iterator[Finding]:
    """Judge every threadlocker and sealant of the assembly, and the hour of the test."""
    for setting in clock.settings:
        yield from _open(context, clock, setting)
        yield from _handled(context, clock, setting)
    yield from _test(context, clock)


def _open(context: Context, clock: Clock, setting: Setting) -> Iterator[Finding]:
    thread, working = clock.open.get(setting.work.name), setting.times.working
    joint = setting.work.plan
    on_thread = any(name == setting.name and "thread" in use for use, name in setting.work.takes)
    if thread is None or working is None or joint is None or not on_thread:
        return
    turned, limit = lasting(thread.span).shown, lasting(working).shown
    late = thread.span > working
    passes = len(joint.tightening.passes) if joint.tightening else 0
    who = f"fastener {thread.position}" if joint.joint.count > 1 else "the fastener"
    yield Finding(
        f"time.{setting.work.name}.{setting.name}.open",
        "hold" if late else "clear",
        f"{setting.work.name}: {setting.name} "
        + ("has begun to set before its last pass" if late else "is still wet at its last pass"),
        f"{who} is turned last {turned} after it is wetted ({passes} passes over "
        f"{joint.joint.count}), {setting.name} may be worked for {limit}",
        lasting(abs(working - thread.span)).shown + (" too long" if late else " left"),
        "Fewer passes, two pairs of hands, or a locker that stays open longer. A thread whose "
        "locker has begun to set is not turned on: take it apart, clean it, begin anew."
        if late
        else "",
        f"{context.source('shop', f'consumables.{setting.name}')}, shortest; "
        "common practice, no source",
    )


def _handled(context: Context, clock: Clock, setting: Setting) -> Iterator[Finding]:
    touched, fixture = clock.touched.get(setting.work.name), setting.times.fixture
    if touched is None or fixture is None:
        return
    step, gap = touched
    early = gap < fixture
    wanted = lasting(fixture).shown
    yield Finding(
        f"time.{setting.work.name}.{setting.name}.fixture",
        "query" if early else "clear",
        f"{setting.work.name}: {step} comes "
        + ("before its locker holds" if early else "when its locker holds"),
        f"{step} would begin {lasting(gap).shown} after it, "
        f"{setting.name} may be handled after {wanted}",
        lasting(abs(fixture - gap)).shown + (" to wait" if early else " over"),
        f"Let it stand for {wanted} before {step}; do other steps meanwhile." if early else "",
        f"{context.source('shop', f'consumables.{setting.name}')}, longest; "
        "common practice, no source",
    )


def _test(context: Context, clock: Clock) -> Iterator[Finding]:
    job = context.job
    if job.test is None or job.test.started is None or job.assembly_started is None:
        return
    ready = moment(job.assembly_started, clock.earliest_test)
    over = (job.test.started - ready).total_seconds()
    level: Level = "clear" if over >= 0.0 else "hold"
    last = max(clock.settings, key=clock.ready, default=None)
    cures = last is not None and clock.ready(last) > clock.end
    why = f"{last.name} on {last.work.name} has cured" if cures and last else "the last step ends"
    yield Finding(
        "time.test",
        level,
        "Pressure came " + ("before the assembly had cured" if over < 0.0 else "after the cure"),
        f"pressure on {job.test.started:%Y-%m-%d %H:%M}, {why} {ready:%Y-%m-%d %H:%M}",
        lasting(abs(over)).shown + (" too soon" if over < 0.0 else " over"),
        "The locker may have been torn as it set: loosen the joint, clean, make it anew, let it "
        "cure and test again."
        if over < 0.0
        else "",
        f"{context.source('job', 'assembly_started, test.started')}; "
        f"{context.source('shop', 'consumables')}",
    )
