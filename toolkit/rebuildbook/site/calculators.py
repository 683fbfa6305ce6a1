"""The formulas of the calculators, each with its docstring: equation, units, source, example."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from collections.abc import Iterator
from dataclasses import dataclass
from types import ModuleType

from markupsafe import Markup, escape

import rebuildbook.calculators
from rebuildbook.units import Formula, shown_unit


@dataclass(frozen=True, slots=True)
class Described:
    """A formula of a module: name, parameters with their units, unit of the result, words."""

    name: str
    parameters: tuple[tuple[str, str], ...]
    returns: str
    text: Markup


@dataclass(frozen=True, slots=True)
class Module:
    """A calculator: what it is for, its formulas, and what else it offers."""

    name: str
    title: str
    text: Markup
    formulas: tuple[Described, ...]
    others: tuple[tuple[str, str], ...]


def modules() -> Iterator[Module]:
    """Every calculator, in the order of names."""
    for found in pkgutil.iter_modules(rebuildbook.calculators.__path__):
        module = importlib.import_module(f"rebuildbook.calculators.{found.name}")
        text = inspect.getdoc(module) or ""
        title, _, rest = text.partition("\n")
        public = [(name, one) for name, one in vars(module).items() if _is_own(name, one, module)]
        yield Module(
            found.name,
            title.rstrip("."),
            words(rest),
            tuple(_described(name, one) for name, one in public if isinstance(one, Formula)),
            tuple((name, _first(one)) for name, one in public if not isinstance(one, Formula)),
        )


def _is_own(name: str, one: object, module: ModuleType) -> bool:
    kinds = isinstance(one, Formula) or inspect.isfunction(one) or inspect.isclass(one)
    return kinds and not name.startswith("_") and one.__module__ == module.__name__


def _described(name: str, formula: Formula[...]) -> Described:
    named = inspect.signature(formula.si).parameters
    units = tuple((one, _unit(formula.units[one])) for one in named if one in formula.units)
    text = words(inspect.getdoc(formula.si) or "")
    return Described(name, units, _unit(formula.returns), text)


def _unit(unit: str) -> str:
    return shown_unit(unit) if unit else "(plain number)"


def _first(one: object) -> str:
    """The first sentence of a docstring, on one line."""
    return " ".join((inspect.getdoc(one) or "").split("\n\n")[0].split())


def words(text: str) -> Markup:
    """Set a docstring: paragraphs, names in code, examples and indented lines as they stand."""
    return Markup("\n").join(_block(block) for block in re.split(r"\n\s*\n", text.strip()) if block)


def _block(block: str) -> Markup:
    head, _, below = block.partition("\n")
    if re.match(r"-{3,}\n", below):  # a heading, underlined
        return Markup("<h4>{}</h4>").format(head) + _block(below.partition("\n")[2])
    if block.lstrip().startswith(">>>"):
        return Markup('<pre><code class="language-pycon">{}</code></pre>').format(block)
    if all(line.startswith("  ") for line in block.splitlines()):
        return Markup("<pre>{}</pre>").format(inspect.cleandoc(block))
    if re.match(r"(\d+\.|-) ", block):
        items = re.split(r"^(?:\d+\.|-) ", block, flags=re.MULTILINE)[1:]
        inside = Markup("").join(Markup("<li>{}</li>").format(coded(item)) for item in items)
        return Markup("<ul>{}</ul>").format(inside)
    return Markup("<p>{}</p>").format(coded(block))


def coded(text: str) -> Markup:
    """Set what stands between backticks as code."""
    safe = str(escape(" ".join(text.split())))
    return Markup(re.sub(r"``?([^`]+)``?", r"<code>\1</code>", safe))  # noqa: S704  (escaped above)
