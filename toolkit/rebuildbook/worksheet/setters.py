"""The languages a formula is set in: LaTeX, MathML, Typst, and one line of plain text."""

# ruff: noqa: D102  (each method is described once, on Setter)

from __future__ import annotations

import re
from html import escape
from typing import Protocol


class Setter(Protocol):
    """How one typesetting language writes the pieces of a formula.

    ``flat`` says that fractions stand on the line, so that their parts may need brackets.
    """

    flat: bool

    def symbol(self, base: str, below: str) -> str:
        """Write a letter or word, with a subscript unless ``below`` is empty."""

    def number(self, digits: str) -> str:
        """Write a bare number."""

    def text(self, words: str) -> str:
        """Write a value with its unit, upright."""

    def operator(self, sign: str) -> str:
        """Write +, −, ×, a comma, or · for factors that stand side by side."""

    def fraction(self, top: str, bottom: str) -> str:
        """Write a fraction."""

    def power(self, base: str, exponent: str) -> str:
        """Write a power."""

    def root(self, inside: str) -> str:
        """Write a square root."""

    def brackets(self, inside: str) -> str:
        """Write round brackets that grow with what is inside."""

    def function(self, name: str, inside: str, bare: bool) -> str:
        """Write a function; ``bare`` leaves out the brackets."""

    def join(self, pieces: list[str]) -> str:
        """Put pieces side by side."""


class Latex:
    """Writes LaTeX for a notebook page."""

    flat = False

    # none of these but % occurs in our numbers and units; text must never end its own braces
    _ESCAPES = str.maketrans(dict.fromkeys("\\{}$<>&#", "") | {"%": r"\%", "_": r"\_", "^": " "})

    def symbol(self, base: str, below: str) -> str:
        letter = base if len(base) == 1 else rf"\mathrm{{{base}}}"
        return rf"{letter}_{{\mathrm{{{below}}}}}" if below else letter

    def number(self, digits: str) -> str:
        return digits

    def text(self, words: str) -> str:
        return rf"\text{{{words.translate(self._ESCAPES)}}}"

    def operator(self, sign: str) -> str:
        return {"×": r"\times ", "·": r"\,", "−": "-"}.get(sign, sign)

    def fraction(self, top: str, bottom: str) -> str:
        return rf"\frac{{{top}}}{{{bottom}}}"

    def power(self, base: str, exponent: str) -> str:
        return f"{{{base}}}^{{{exponent}}}"

    def root(self, inside: str) -> str:
        return rf"\sqrt{{{inside}}}"

    def brackets(self, inside: str) -> str:
        return rf"\left({inside}\right)"

    def function(self, name: str, inside: str, bare: bool) -> str:
        return rf"\operatorname{{{name}}}" + (rf"\,{inside}" if bare else self.brackets(inside))

    def join(self, pieces: list[str]) -> str:
        return "".join(pieces)


class MathML:
    """Writes MathML, which browsers show without any script."""

    flat = False
    _ONE = re.compile(r"<(m[in])>[^<]*</\1>|<(msub|mrow)>(?:(?!<\2>).)*</\2>")

    def symbol(self, base: str, below: str) -> str:
        letter = f"<mi>{escape(base)}</mi>"
        if not below:
            return letter
        return f"<msub>{letter}<mtext>{escape(below)}</mtext></msub>"

    def number(self, digits: str) -> str:
        return f"<mn>{digits}</mn>"

    def text(self, words: str) -> str:
        # a number with its unit; mtext would count as space and lose the gaps around operators
        return f"<mn>{escape(words)}</mn>"

    def operator(self, sign: str) -> str:
        return '<mspace width="0.17em"/>' if sign == "·" else f"<mo>{sign}</mo>"

    def fraction(self, top: str, bottom: str) -> str:
        return f"<mfrac>{self._one(top)}{self._one(bottom)}</mfrac>"

    def power(self, base: str, exponent: str) -> str:
        return f"<msup>{self._one(base)}{self._one(exponent)}</msup>"

    def _one(self, inside: str) -> str:
        """Make one element of what stands in a fraction or a power."""
        return inside if self._ONE.fullmatch(inside) else f"<mrow>{inside}</mrow>"

    def root(self, inside: str) -> str:
        return f"<msqrt>{inside}</msqrt>"

    def brackets(self, inside: str) -> str:
        return f"<mrow><mo>(</mo>{inside}<mo>)</mo></mrow>"

    def function(self, name: str, inside: str, bare: bool) -> str:
        space = '<mspace width="0.17em"/>' if bare else ""
        return f"<mi>{name}</mi>{space}" + (inside if bare else self.brackets(inside))

    def join(self, pieces: list[str]) -> str:
        return "".join(pieces)


class Typst:
    """Writes Typst mathematics for the paper."""

    flat = False

    def symbol(self, base: str, below: str) -> str:
        letter = base if len(base) == 1 else f'"{base}"'
        return f'{letter}_"{below}"' if below else letter

    def number(self, digits: str) -> str:
        return digits

    def text(self, words: str) -> str:
        # numbers and units only ever come from our own writing; quotes cannot occur in them
        return '"' + words.replace("\\", "").replace('"', "") + '"'

    def operator(self, sign: str) -> str:
        return {"×": " times ", "·": " thin ", "−": " - ", ",": ", "}.get(sign, f" {sign} ")

    def fraction(self, top: str, bottom: str) -> str:
        return f"frac({top}, {bottom})"

    def power(self, base: str, exponent: str) -> str:
        return f"attach({base}, t: {exponent})"

    def root(self, inside: str) -> str:
        return f"sqrt({inside})"

    def brackets(self, inside: str) -> str:
        return f"lr(( {inside} ))"

    def function(self, name: str, inside: str, bare: bool) -> str:
        return f'op("{name}")' + (f" thin {inside}" if bare else self.brackets(inside))

    def join(self, pieces: list[str]) -> str:
        return " ".join(pieces)


class Plain:
    """Writes one line of plain text, as "23 N·m / (0.18 × 10 mm)"."""

    flat = True
    _RAISED = str.maketrans("0123456789−", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")

    def symbol(self, base: str, below: str) -> str:
        return f"{base}_{below}" if below else base

    def number(self, digits: str) -> str:
        return digits

    def text(self, words: str) -> str:
        return words

    def operator(self, sign: str) -> str:
        return {"·": " ", ",": ", "}.get(sign, f" {sign} ")

    def fraction(self, top: str, bottom: str) -> str:
        return f"{top} / {bottom}"

    def power(self, base: str, exponent: str) -> str:
        small = exponent.strip().replace(" ", "")
        if all(c in "0123456789−" for c in small):
            return base + small.translate(self._RAISED)
        return f"{base}^({exponent})"

    def root(self, inside: str) -> str:
        return f"√({inside})"

    def brackets(self, inside: str) -> str:
        return f"({inside})"

    def function(self, name: str, inside: str, bare: bool) -> str:
        return f"{name} {inside}" if bare else f"{name}({inside})"

    def join(self, pieces: list[str]) -> str:
        return "".join(pieces)


SETTERS: dict[str, Setter] = {
    "latex": Latex(), "mathml": MathML(), "typst": Typst(), "plain": Plain()
}  # fmt: skip
