"""What a board shows, as HTML: the figure, the table of before and after, findings in words."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from importlib import resources

from rebuildbook.figures.style import svg
from rebuildbook.whatif.play import Play, Tried
from rebuildbook.whatif.question import Answer, Board, Number
from rebuildbook.worksheet.model import LEVELS, Finding, Level, Value

SIGNS: dict[Level, str] = {"hold": "■ HOLD", "query": "◇ QUERY", "clear": "✓ clear"}
_OFFSET = {"temperature"}  # whose zero is not nothing, so that shares of it say nothing


def style() -> str:
    """The look of a board, put into the page with it."""
    css = resources.files("rebuildbook.whatif").joinpath("board.css").read_text(encoding="utf-8")
    return f"<style>{css}</style>"


def head(board: Board) -> str:
    """The question that a board answers."""
    return f"<h2>{escape(board.title)}</h2><p>{escape(board.about)}</p>"


def wrong(message: str, kept: str = "What is shown is the last good answer.") -> str:
    """A message beside what was refused; empty where nothing was."""
    if not message:
        return ""
    return (
        f'<span class="rb-wrong" role="alert">✗ Not taken: {escape(message)}. '.replace("..", ".")
        + f"{escape(kept)}</span>"
    )


def said(message: str) -> str:
    """A message that nothing is wrong with."""
    return f'<span class="rb-said" role="status">{escape(message)}</span>' if message else ""


def figure(play: Play) -> str:
    """The figure of a board: before and after on one, as SVG, which stays sharp when enlarged."""
    after = play.after or play.before
    if after is None:
        return ""
    drawn = play.board.draw(after, play.before or after, play.seen)
    wide = drawn.get_size_inches()[0] * 8.5  # rem: words of 7.5 points come out like the page's
    text = svg(drawn, f"{play.board.title}: before and after; the table below has the numbers")
    return f'<div class="rb-figure" style="--rb-wide:{wide:.1f}rem">{text}</div>'


def results(play: Play) -> str:
    """The table of a board."""
    after, before = play.after or play.before, play.before
    if after is None:
        return ""
    return table(after.numbers, before.numbers if before else ())


def judged(play: Play) -> str:
    """The findings of a board."""
    after = play.after or play.before
    return findings(after, play.before) if after is not None else ""


def table(after: Sequence[Number], before: Sequence[Number]) -> str:
    """Before and after of every number, in both systems, with what changed in words."""
    was = {one.id: one for one in before}
    rows = [_row(one.id, one.label, was.get(one.id), one) for one in after]
    now = {one.id for one in after}
    rows += [_row(one.id, one.label, one, None) for one in before if one.id not in now]
    return (
        '<div class="rb-scroll"><h3>Before and after</h3><table><thead><tr>'
        '<th scope="col">What</th><th scope="col">Before, by the sheets</th>'
        '<th scope="col">After, as set</th><th scope="col">Change</th></tr></thead>'
        f"<tbody>{''.join(rows)}</tbody></table></div>"
    )


def _row(id_: str, label: str, before: Number | None, after: Number | None) -> str:
    words = change(before.value if before else None, after.value if after else None)
    moved = "" if words == "same" else ' class="rb-moved"'
    cells = "".join(
        f'<td class="rb-number" data-when="{when}">{_cell(one)}</td>'
        if one is not None and isinstance(one.value, Value)
        else f'<td data-when="{when}">{_cell(one)}</td>'
        for when, one in (("before", before), ("after", after))
    )
    return (
        f'<tr data-id="{escape(id_)}"{moved}><th scope="row">{escape(label)}</th>{cells}'
        f"<td>{escape(words)}</td></tr>"
    )


def _cell(number: Number | None) -> str:
    if number is None:
        return "–"
    if isinstance(number.value, str):
        return escape(number.value)
    other = number.value.other
    return escape(number.value.shown) + (f" <small>{escape(other)}</small>" if other else "")


def change(before: Value | str | None, after: Value | str | None) -> str:
    """Say how a number changed.

    >>> change(Value(20.0, "torque", "N*m"), Value(25.0, "torque", "N*m"))
    'up by\xa025\xa0%'
    >>> change("1 3 2 4", "1 2 3 4"), change(None, "1 2"), change("as set", "as set")
    ('changed', 'new', 'same')
    """
    if before is None or after is None:
        return "same" if before == after else "new" if before is None else "gone"
    if isinstance(before, str) or isinstance(after, str):
        return "same" if before == after else "changed"
    return _moved(before, after)


def _moved(before: Value, after: Value) -> str:
    step = after.si - before.si
    if not step or before.shown == after.shown:
        return "same"  # what cannot be read off is no change
    way = "up" if step > 0 else "down"
    if before.dimension == "fraction":
        return f"{way} by\u00a0{100.0 * abs(step):.3g}\u00a0points"  # of a percentage, no share
    if before.si * after.si <= 0.0 or before.dimension in _OFFSET:
        return way
    share = 100.0 * abs(step / before.si)
    if share >= 1000.0:
        return f"{way} to {after.si / before.si:.3g} times"
    return f"{way} by\u00a0{share:.3g}\u00a0%"


def findings(after: Answer, before: Answer | None) -> str:
    """What is to be said of the case, the gravest first, and what it was before."""
    was = {one.id: one.level for one in before.findings} if before else {}
    grave = [one for level in LEVELS[:-1] for one in after.findings if one.level == level]
    clear = [one for one in after.findings if one.level == "clear"]
    items = [_finding(one, was) for one in grave]
    if clear:
        names = "; ".join(f"{one.title}{_turned(one, was)}" for one in clear)
        items.append(
            f'<li class="clear"><span class="rb-level">{SIGNS["clear"]}</span> {escape(names)}</li>'
        )
    if not items:
        return ""
    return f'<h3>Findings</h3><ul class="rb-findings" role="status">{"".join(items)}</ul>'


def _finding(one: Finding, was: dict[str, Level]) -> str:
    margin = f"margin {one.margin}" if one.margin else ""
    more = "; ".join(text.rstrip(".") for text in (one.compared, margin) if text)
    more = f"{more}. {one.action}" if more else one.action
    return (
        f'<li class="{one.level}" data-finding="{escape(one.id)}">'
        f'<span class="rb-level">{SIGNS[one.level]}</span> '
        f"<b>{escape(one.title)}</b>{escape(_turned(one, was))} {escape(more)}</li>"
    )


def _turned(one: Finding, was: dict[str, Level]) -> str:
    """Say what a finding was before, where it was something else."""
    before = was.get(one.id)
    if before == one.level:
        return ""
    return f" (before: {before})" if before else " (new)"


def tried(case: Tried) -> str:
    """One case that was kept, in words."""
    settings = "; ".join(case.settings) or "as the sheets have it"
    picked = ", ".join(case.picked.values())
    numbers = "; ".join(f"{one.label}: {_words(one.value)}" for one in case.numbers)
    named = f"<b>{escape(case.name)}</b>" + (f" ({escape(picked)})" if picked else "")
    return f"{named}: {escape(settings)}<br>{escape(numbers)}"


def _words(value: Value | str) -> str:
    if isinstance(value, str):
        return value
    return f"{value.shown} ({value.other})" if value.other else value.shown
