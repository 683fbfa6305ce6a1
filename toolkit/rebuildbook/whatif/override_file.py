"""Write a set of changes down as a what-if sheet, which ``rebuildbook run`` takes like a card."""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from rebuildbook.record.whole_file import write_whole
from rebuildbook.sheets import SheetError, load_case, parameters_root
from rebuildbook.sheets.fields import SLUG
from rebuildbook.sheets.load import SheetStore, based

FOLDER = "what-if"
_PLAIN = re.compile(r"[A-Za-z0-9][\w.-]*\Z")


class NotWritten(Exception):  # noqa: N818  (a matter of what was asked)
    """Nothing was written; the text says why."""


class AlreadyThere(NotWritten):
    """Another file has that name."""


def usual_place(card: Path, job: str, board: str) -> Path:
    """A free name in the card's parameters folder: ``what-if/<job>/<board>.yaml``."""
    folder = (parameters_root(card) or card.parent) / FOLDER / job
    names = (f"{board}-{number}" if number > 1 else board for number in range(1, 1000))
    return next(path for name in names if not (path := folder / f"{name}.yaml").exists())


def write_override(
    place: Path,
    card: Path,
    settings: Sequence[str],
    *,
    title: str = "",
    board: str = "",
    over: bool = False,
    now: datetime | None = None,
) -> Path:
    """Write the settings of a card as a what-if sheet, whole or not at all; gives its place.

    A card that is a what-if itself goes in with its own settings. Raises AlreadyThere where the
    file is there and ``over`` is not said, NotWritten for anything else that is wrong.
    """
    _check_place(place)
    try:
        base = based(card, SheetStore())
        both = dict(_split(one) for one in (*base.settings, *settings))
        if not both:
            raise NotWritten("nothing differs from the sheets; change something first")
        load_case(base.card, [f"{path}={text}" for path, text in both.items()])
    except SheetError as error:
        raise NotWritten("; ".join(problem.message for problem in error.problems)) from None
    text = sheet_text(place, base.card, both, title, board, now or datetime.now())
    try:
        write_whole(place, text.encode(), over=over)
    except FileExistsError:
        raise AlreadyThere(f"{place} is there already") from None
    except OSError as error:
        raise NotWritten(f"{place} cannot be written: {(error.strerror or '').lower()}") from None
    return place


def sheet_text(
    place: Path, card: Path, settings: dict[str, str], title: str, board: str, now: datetime
) -> str:
    """The what-if sheet as it is written."""
    root = parameters_root(place)
    schema = root / "schema" / "what-if.json" if root else None
    lines = []
    if schema is not None and schema.is_file():
        lines.append(f"# yaml-language-server: $schema={_from(schema, place.parent)}")
    lines += ["kind: what-if", f"card: {quoted(_from(card, place.parent))}"]
    if title.strip():
        lines.append(f"title: {quoted(' '.join(title.split()))}")
    if board:
        lines.append(f"board: {board}")
    lines += [f"written: {now:%Y-%m-%d %H:%M}", "settings:"]
    lines += [f"  {quoted(path)}: {quoted(text)}" for path, text in settings.items()]
    return "\n".join(lines) + "\n"


def quoted(text: str) -> str:
    """Write a text so that YAML reads it as it is.

    >>> quoted("joints.cover.torque"), quoted("3/4 in"), quoted("1' 6\\""), quoted("no")
    ('joints.cover.torque', "'3/4 in'", '\\'1\\'\\' 6"\\'', "'no'")
    """
    if _PLAIN.match(text) and "." in text and not text[0].isdigit():
        return text
    return "'" + text.replace("'", "''") + "'"


def _split(setting: str) -> tuple[str, str]:
    path, _, text = setting.partition("=")
    return path, text


def _check_place(place: Path) -> None:
    if place.suffix.lower() not in {".yaml", ".yml"}:
        raise NotWritten(f"{place}: wanted a name that ends in .yaml")
    if not re.fullmatch(SLUG, place.stem):
        raise NotWritten(
            f"{place.stem!r} cannot name a what-if; use lower-case letters, digits and hyphens"
        )


def _from(path: Path, folder: Path) -> str:
    try:
        return Path(os.path.relpath(path.resolve(), folder.resolve())).as_posix()
    except ValueError:  # another drive
        return path.resolve().as_posix()
