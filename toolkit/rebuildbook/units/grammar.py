"""The grammar of unit names: shop spellings, products and quotients, gauge and absolute."""

from __future__ import annotations

import difflib
import re
from typing import Literal

from rebuildbook.units.registry import registry
from rebuildbook.units.table import ASK, DIMENSIONS, PINT, SPELLINGS, WHOLE, factor, pint_expression

Reference = Literal["", "gauge", "absolute", "difference"]


class UnitProblem(ValueError):  # noqa: N818  (an answer to the writer, not a fault)
    """A quantity that cannot be read, with what would be allowed in its place."""


_PRESSURE_END = re.compile(
    r"^((?:psi|ksi|bar|mbar|kPa|MPa|Pa|kgf/cm\^?2))\s*\(?\s*"
    r"(gauge|absolute|abs|diff|difference|g|a|d)\s*\)?$",
    re.IGNORECASE,
)
_REFERENCES: dict[str, Reference] = {"g": "gauge", "a": "absolute", "d": "difference"}


def fits(unit: str, dimension: str) -> bool:
    """Whether a canonical unit is one of the dimension."""
    kind = DIMENSIONS[dimension]
    if dimension in {"angle", "fraction", "number"}:
        return unit in {"angle": {"deg", "rad"}, "fraction": {"%", ""}, "number": {""}}[dimension]
    if unit in {"deg", "rad", "%"}:
        return False
    wanted = registry.Unit(kind.si).dimensionality
    return bool(registry.Unit(pint_expression(unit)).dimensionality == wanted)


def canonical_unit(unit: str, dimension: str) -> str:
    """Use the dimension's own spelling where it is the same unit (lbf*ft becomes ft*lbf)."""
    kind = DIMENSIONS[dimension]
    if unit in {"rpm", "cycles/min"}:
        return "1/min"
    for known in (*kind.metric, *kind.us):
        scale, offset = factor(known)
        if offset == factor(unit)[1] and abs(scale / factor(unit)[0] - 1.0) < 1e-12:
            return known
    return unit


def read_unit(text: str, dimension: str | None, given: str) -> tuple[str, Reference]:
    """Read a unit name: canonical unit, and gauge, absolute or difference where it says so."""
    reference: Reference = ""
    match = _PRESSURE_END.match(text)
    if match:
        reference = _REFERENCES[match[2][0].lower()]
        text = match[1]
    joined = re.sub(r"[\s\-·.*]", "", text)
    whole = WHOLE.get(joined.lower())
    if whole and not re.search(r"[/^]", text):
        return whole, reference
    pieces = re.split(r"(/)|[*·\-\s×]+", text)
    options: list[str] = [""]
    joiner = ""
    for piece in pieces:
        if not piece:
            continue
        if piece == "/":
            joiner = "/"
            continue
        tokens = _token(piece, dimension, given)
        options = [
            f"{option}{joiner or '*'}{token}" if option else ("1/" if joiner else "") + token
            for option in options
            for token in tokens
        ]
        joiner = ""
    unit = _choose(options, dimension, text, given)
    if unit in {"kg*m", "m*kg", "kg*cm", "cm*kg", "kg/cm^2"}:
        raise UnitProblem(f"{given!r}: kg is a mass; for force write kgf, as kgf*m or kgf/cm^2")
    return unit, reference


def _token(piece: str, dimension: str | None, given: str) -> tuple[str, ...]:
    match = re.match(r"^(.*?[^\d^²³])(?:\^?(\d)|(²)|(³))?$", piece)
    if piece == "1":
        return ("1",)
    if match is None:
        raise UnitProblem(f"{given!r}: {piece!r} is not a unit")
    name = match[1]
    power = match[2] or ("2" if match[3] else "3" if match[4] else "")
    if name in ASK:
        raise UnitProblem(f"{given!r}: {ASK[name]}")
    found = SPELLINGS.get(name) or ((name,) if name in PINT else ())
    if not found:
        found = _any_case(name, given)
    if dimension not in {None, "temperature"} and name in {"C", "F"}:
        found = ()
    if not found:
        near = difflib.get_close_matches(name, [*PINT, *SPELLINGS], 2, 0.6)
        hint = f"; nearest known: {', '.join(near)}" if near else ""
        raise UnitProblem(f"{given!r}: {name!r} is not a unit this toolkit knows{hint}")
    return tuple(f"{token}^{power}" if power else token for token in found)


def _any_case(name: str, given: str) -> tuple[str, ...]:
    same = {
        tokens
        for spelling, tokens in [*SPELLINGS.items(), *((key, (key,)) for key in PINT)]
        if spelling.lower() == name.lower() and tokens
    }
    if len(same) > 1:
        names = " or ".join(sorted({token for tokens in same for token in tokens}))
        raise UnitProblem(f"{given!r}: {name!r} could be {names}; mind the capital letters")
    return same.pop() if same else ()


def _choose(options: list[str], dimension: str | None, text: str, given: str) -> str:
    if len(options) == 1:
        return options[0]
    if dimension is not None:
        fitting = [option for option in options if fits(option, dimension)]
        if len(fitting) == 1:
            return fitting[0]
        if dimension == "torque":
            raise UnitProblem(
                f"{given!r} is not a torque: is it ft*lbf or in*lbf? They differ by a factor of 12"
            )
        if not fitting:
            kind = DIMENSIONS[dimension]
            raise UnitProblem(f"{given!r} is not {kind.named}; write one as {kind.example}")
    force, mass = options[0], options[-1]
    ask = "lbf for force or lbm for mass" if "lb" in mass else "ozf for force or ozm for mass"
    raise UnitProblem(f"{text!r} could be {force} (force) or {mass} (mass); write {ask}")
