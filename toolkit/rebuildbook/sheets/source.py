"""Read a YAML sheet into plain values, remembering the line every value stands on.

Only what a sheet needs is taken: mappings, lists and scalars. Anchors, aliases, merge keys and
tags are refused, so a small file cannot grow into a large one and no text becomes an object.
"""

from __future__ import annotations

import functools
import hashlib
import re
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

LARGEST_FILE = 1_000_000  # bytes; a real sheet is a few kilobytes
DEEPEST = 12
_TOO_DEEP = f"is nested deeper than {DEEPEST} levels"
# a sign that begins an anchor, an alias or a tag, where one can stand; and very many brackets
_MAY_BE_REFUSED = re.compile(rf"(?:^|[\s\[{{,:?-])[&*!]|(?:[\[{{]\s*){{{DEEPEST}}}", re.MULTILINE)
_STEPS = {
    "FlowMappingStartToken": 1,
    "FlowSequenceStartToken": 1,
    "FlowMappingEndToken": -1,
    "FlowSequenceEndToken": -1,
}
PathKey = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with an input: where, what was given, what is allowed."""

    file: str
    line: int | None
    field: str
    given: str
    message: str

    def __str__(self) -> str:
        place = self.file + (f":{self.line}" if self.line else "")
        parts = [place, self.field] if self.field else [place]
        given = f" (given: {self.given})" if self.given else ""
        return f"{': '.join(parts)}: {self.message}{given}"


class SheetError(Exception):
    """All problems found in one go."""

    def __init__(self, problems: list[Problem]) -> None:
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems = problems

    def __reduce__(self) -> tuple[type[SheetError], tuple[list[Problem]]]:
        return type(self), (self.problems,)


@dataclass(slots=True)
class Source:
    """The plain values of one sheet, with the line and the wording of each of them."""

    file: str
    digest: str
    data: dict[str, Any]
    lines: dict[PathKey, int] = field(default_factory=dict)
    wording: dict[PathKey, str] = field(default_factory=dict)
    overridden: dict[PathKey, str] = field(default_factory=dict)

    def problem(self, path: PathKey, message: str) -> Problem:
        """Describe a problem at ``path``, on the line of the nearest value above it."""
        dotted = ".".join(str(step) for step in path)
        setting = self._setting_at(path)
        if setting is not None:
            return Problem(f"--set {setting}", None, dotted, "", message)
        return Problem(self.file, self._line(path), dotted, self._given(path), message)

    def _setting_at(self, path: PathKey) -> str | None:
        """The setting that a value comes from, or that made the part it is missing from."""
        for length in range(len(path), 0, -1):
            if path[:length] in self.overridden:
                return self.overridden[path[:length]]
        for length in range(len(path), 0, -1):
            if path[:length] in self.lines:
                return None
            for changed, setting in self.overridden.items():
                if changed[:length] == path[:length]:
                    return setting
        return None

    def _line(self, path: PathKey) -> int | None:
        for length in range(len(path), -1, -1):
            if path[:length] in self.lines:
                return self.lines[path[:length]]
        return None

    def _given(self, path: PathKey) -> str:
        text = self.wording.get(path, "")
        return text if len(text) <= 80 else text[:77] + "…"


def read_source(path: Path) -> Source:
    """Read one sheet; raises SheetError for what is not a plain, small UTF-8 YAML mapping."""
    name = str(path)
    raw = _read_bytes(path, name)
    try:
        kept = _read(raw)
    except SheetError as error:
        raise SheetError([replace(problem, file=name) for problem in error.problems]) from None
    return replace(kept, file=name, data=copied(kept.data), overridden={})


def copied(plain: Any) -> Any:
    """Plain values of a sheet as a copy that may be changed."""
    if isinstance(plain, dict):
        return {key: copied(child) for key, child in plain.items()}
    return [copied(child) for child in plain] if isinstance(plain, list) else plain


@functools.lru_cache(maxsize=32)  # jobs have model and shop sheets in common
def _read(raw: bytes) -> Source:
    """Read a sheet whose name is not known here."""
    name = ""
    text = _decode(raw, name)
    node = _compose(text, name)
    if not isinstance(node, MappingNode):
        raise SheetError([Problem(name, 1, "", "", "a sheet is a mapping of 'field: value' lines")])
    source = Source(name, hashlib.sha256(raw).hexdigest(), {})
    problems: list[Problem] = []
    source.data = _build(node, (), source, problems)
    if problems:
        raise SheetError(problems)
    return source


def _read_bytes(path: Path, name: str) -> bytes:
    try:
        if path.is_dir():
            raise SheetError([Problem(name, None, "", "", "is a folder; wanted a YAML file")])
        with path.open("rb") as file:
            raw = file.read(LARGEST_FILE + 1)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise SheetError([Problem(name, None, "", "", f"cannot be read: {reason}")]) from None
    if len(raw) > LARGEST_FILE:
        size = path.stat().st_size
        message = f"is {size / 1e6:.1f} MB; a sheet has at most {LARGEST_FILE / 1e6:.0f} MB"
        raise SheetError([Problem(name, None, "", "", message)])
    return raw


def _decode(raw: bytes, name: str) -> str:
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        message = f"is not UTF-8 text: byte 0x{raw[error.start]:02x}; save it as UTF-8"
        raise SheetError([Problem(name, line, "", "", message)]) from None


def _compose(text: str, name: str) -> Node | None:
    yaml = YAML(typ="safe", pure=True)
    try:
        if _MAY_BE_REFUSED.search(text):  # else the pass over every token is spared
            _refuse(yaml.scan(text), name)
        node: Node | None = yaml.compose(text)
    except RecursionError:
        raise SheetError([Problem(name, None, "", "", _TOO_DEEP)]) from None
    except MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line = mark.line + 1 if mark else None
        raise SheetError([Problem(name, line, "", "", _plain_yaml_error(error, text))]) from None
    except (YAMLError, ValueError) as error:
        reason = " ".join(str(error).split())[:200]
        raise SheetError([Problem(name, None, "", "", f"is not YAML: {reason}")]) from None
    return node


def _refuse(tokens: Iterable[Any], name: str) -> None:
    depth = 0
    for token in tokens:
        kind = type(token).__name__
        depth += _STEPS.get(kind, 0)
        if depth > DEEPEST:
            line = token.start_mark.line + 1
            raise SheetError([Problem(name, line, "", "", _TOO_DEEP)])
        if kind in {"AnchorToken", "AliasToken", "TagToken"}:
            line = token.start_mark.line + 1
            message = "YAML anchors, aliases and tags are not used in sheets; write it out"
            raise SheetError([Problem(name, line, "", "", message)])


def _plain_yaml_error(error: MarkedYAMLError, text: str) -> str:
    problem = error.problem or "is not YAML"
    mark = error.problem_mark
    lines = text.splitlines()
    here = lines[mark.line] if mark and mark.line < len(lines) else ""
    if "\\t" in problem or "\t" in here[: len(here) - len(here.lstrip())]:
        return "a tab is used to indent; indent with spaces"
    if "multiple documents" in problem or "single document" in str(error.context):
        return "holds more than one YAML document; one sheet a file"
    return f"is not YAML: {problem}"


def _build(node: Node, path: PathKey, source: Source, problems: list[Problem]) -> Any:
    if len(path) >= DEEPEST and not isinstance(node, ScalarNode):
        problems.append(Problem(source.file, node.start_mark.line + 1, "", "", _TOO_DEEP))
        return None
    source.lines.setdefault(path, node.start_mark.line + 1)
    if isinstance(node, MappingNode):
        source.wording[path] = "a mapping"
        return _build_mapping(node, path, source, problems)
    if isinstance(node, SequenceNode):
        source.wording[path] = "a list"
        return [
            _build(child, (*path, index), source, problems)
            for index, child in enumerate(node.value)
        ]
    assert isinstance(node, ScalarNode)  # noqa: S101  (YAML has no fourth kind)
    return _scalar(node, path, source)


def _build_mapping(
    node: MappingNode, path: PathKey, source: Source, problems: list[Problem]
) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key_node, value_node in node.value:
        line = key_node.start_mark.line + 1
        key = str(key_node.value) if isinstance(key_node, ScalarNode) else ""
        if not key or key == "<<":
            problems.append(Problem(source.file, line, "", "", "a field name must be plain text"))
            continue
        here = (*path, key)
        if key in found:
            first = source.lines[here]
            dotted = ".".join(str(step) for step in here)
            message = f"is given twice in this sheet; first on line {first}"
            problems.append(Problem(source.file, line, dotted, "", message))
            continue
        source.lines[here] = line
        found[key] = _build(value_node, here, source, problems)
    return found


def _scalar(node: ScalarNode, path: PathKey, source: Source) -> Any:
    text = str(node.value)
    source.wording[path] = text
    kind = str(node.tag).rsplit(":", 1)[-1]
    if kind == "null":
        return None
    if kind == "bool":
        return text.lower() in {"true", "yes", "on"}
    if kind == "int" and len(text) < 16 and text.lstrip("-").isdigit() and str(int(text)) == text:
        return int(text)  # 0042 and 1_000 stay text, so a serial keeps its zeros
    return text


def read_value(text: str) -> Any:
    """Read the right-hand side of an override the way a sheet's value is read."""
    try:
        node = _compose(text, "--set")
    except SheetError:
        return text
    if node is None or isinstance(node, ScalarNode):
        return _scalar(node, (), Source("--set", "", {})) if node is not None else None
    problems: list[Problem] = []
    value = _build(node, (), Source("--set", "", {}), problems)
    if problems:
        raise SheetError(problems)
    return value
