"""The command line as its own help has it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Command:
    """A command: how it is called, what it does, and what it takes, each with its help."""

    name: str
    usage: str
    help: str
    options: tuple[tuple[str, str], ...]


def commands_of(program: Any, name: str) -> Iterator[Command]:
    """Every command of a click program, those of its groups too, in the order of its help."""
    context = program.make_context(name, [], resilient_parsing=True)
    if not hasattr(program, "list_commands"):
        yield _command(program, context, name)
        return
    for below in program.list_commands(context):
        found = program.get_command(context, below)
        if found is not None and not found.hidden:
            yield from commands_of(found, f"{name} {below}")


def _command(command: Any, context: Any, name: str) -> Command:
    named = [one for one in command.params if one.param_type_name == "argument"]
    wanted = [_argument(one, context) if one.required else f"[{_argument(one, context)}]"
              for one in named]  # fmt: skip
    options = [_option(one, context) for one in command.params]
    told = " ".join((command.help or "").split())
    usage = " ".join([name, *wanted, "[OPTIONS]"] if len(options) > len(named) else [name, *wanted])
    return Command(name, usage, told, tuple(one for one in options if one))


def _argument(one: Any, context: Any) -> str:
    """An argument's name as the help has it, without its type."""
    written, _, _ = str(one.get_help_record(context)[0]).partition(" <")
    return re.sub(r"[\[\]{}]", "", written)


def _option(one: Any, context: Any) -> tuple[str, str] | None:
    record = one.get_help_record(context)
    if record is None:
        return None
    written, words = record
    if one.param_type_name == "argument":
        return _argument(one, context), words
    return re.sub(r"<(int|float)[^>]*>", "N", written), words
