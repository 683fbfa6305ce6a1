"""A line's formula: read from its Python spelling, evaluated, and set as mathematics.

Only arithmetic is read: names, numbers, + − * / **, and a few functions. Nothing is ever executed.
"""

from __future__ import annotations

import ast
import functools
import math
import operator
from collections.abc import Callable, Mapping

from rebuildbook.worksheet.setters import SETTERS, Setter

FUNCTIONS: dict[str, Callable[..., float]] = {
    "sqrt": math.sqrt, "cos": math.cos, "sin": math.sin, "tan": math.tan, "asin": math.asin,
    "acos": math.acos, "atan": math.atan, "exp": math.exp, "log": math.log, "abs": abs,
    "min": min, "max": max,
}  # fmt: skip
# as an engineer writes them: a bare "log" could be read as the decadic one
_WRITTEN = {"log": "ln", "asin": "arcsin", "acos": "arccos", "atan": "arctan"}
_OPERATORS: dict[type[ast.operator], Callable[[float, float], float]] = {
    ast.Add: operator.add, ast.Sub: operator.sub, ast.Mult: operator.mul,
    ast.Div: operator.truediv, ast.Pow: operator.pow,
}  # fmt: skip
GREEK = {
    "alpha": "α", "beta": "β", "gamma": "γ", "delta": "δ", "Delta": "Δ", "epsilon": "ε",
    "eta": "η", "theta": "θ", "lambda": "λ", "mu": "μ", "nu": "ν", "rho": "ρ", "sigma": "σ",
    "tau": "τ", "phi": "φ", "Phi": "Φ", "psi": "ψ", "omega": "ω", "pi": "π",
}  # fmt: skip
# how tightly a piece of a formula holds together, loosest first; UNITED is "80 mm"
SUM, PRODUCT, SIGNED, UNITED, POWER, ATOM = range(6)


@functools.lru_cache(maxsize=512)
def parse(formula: str) -> ast.expr:
    """Read a formula; raises ValueError for anything but arithmetic.

    >>> ast.unparse(parse("T*L/(L + E*cos(theta))"))
    'T * L / (L + E * cos(theta))'
    >>> parse("__import__('os')")
    Traceback (most recent call last):
    ...
    ValueError: formula "__import__('os')": a function '__import__' is not known
    """
    try:
        tree = ast.parse(formula, mode="eval").body
    except (SyntaxError, ValueError, MemoryError, RecursionError):
        raise ValueError(f'formula "{formula}" is not arithmetic') from None
    _check(tree, formula)
    return tree


def _check(node: ast.expr, formula: str) -> None:
    match node:
        case ast.Name():
            return
        case ast.Constant(value=int() | float() as number) if _is_finite(number):
            return
        case ast.BinOp(left, op, right) if type(op) in _OPERATORS:
            _check(left, formula)
            _check(right, formula)
        case ast.UnaryOp(ast.USub(), operand):
            _check(operand, formula)
        case ast.Call(ast.Name(name), arguments, []):
            if name not in FUNCTIONS:
                raise ValueError(f'formula "{formula}": a function {name!r} is not known')
            if len(arguments) != 1 and (name not in ("min", "max") or not arguments):
                raise ValueError(f'formula "{formula}": {name} takes one value')
            if len(arguments) == 1 and name in ("min", "max"):
                raise ValueError(f'formula "{formula}": {name} takes two values or more')
            for argument in arguments:
                _check(argument, formula)
        case _:
            raise ValueError(f'formula "{formula}": {ast.unparse(node)!r} is not arithmetic')


def _is_finite(number: float) -> bool:
    try:
        return not isinstance(number, bool) and math.isfinite(number)
    except OverflowError:  # a whole number too large for a float
        return False


def evaluate(formula: str, values: Mapping[str, float]) -> float:
    """Evaluate a formula with the values of its symbols.

    Raises ValueError where a symbol has no value or a root of a negative number is asked for.

    >>> evaluate("T*L/(L + E)", {"T": 100.0, "L": 0.4, "E": 0.1})
    80.0
    """
    return _value(parse(formula), values)


def _value(node: ast.expr, values: Mapping[str, float]) -> float:
    match node:
        case ast.Constant(value=int() | float() as number):
            return float(number)
        case ast.Name(name):
            if name != "pi" and name not in values:
                raise ValueError(f"no value is given for {name!r}")
            return math.pi if name == "pi" else float(values[name])
        case ast.BinOp(left, op, right):
            made = _OPERATORS[type(op)](_value(left, values), _value(right, values))
            if isinstance(made, complex):
                raise ValueError(f"{ast.unparse(node)!r} is a root of a negative number")
            return made
        case ast.UnaryOp(_, operand):
            return -_value(operand, values)
        case ast.Call(ast.Name(name), arguments):
            return float(FUNCTIONS[name](*(_value(argument, values) for argument in arguments)))
    raise ValueError(f"{ast.unparse(node)!r} is not arithmetic")


def set_formula(formula: str, language: str, numbers: Mapping[str, str] | None = None) -> str:
    """Set a formula in "latex", "mathml", "typst" or "plain"; with ``numbers``, those put in.

    >>> set_formula("T_aim/(2*d)", "latex")
    '\\\\frac{T_{\\\\mathrm{aim}}}{2\\\\,d}'
    >>> set_formula("T/d", "typst", {"T": "24 N·m", "d": "10 mm"})
    'frac("24 N·m", "10 mm")'
    >>> set_formula("F/(A*k)", "plain", {"F": "9 kN", "A": "58 mm²", "k": "0.9"})
    '9 kN / (58 mm² × 0.9)'
    """
    return _set(parse(formula), SETTERS[language], numbers)[0]


def set_symbol(name: str, language: str) -> str:
    """Set one symbol, as "mu_G"."""
    return _symbol(name, SETTERS[language])


def _symbol(name: str, setter: Setter) -> str:
    base, _, below = name.partition("_")
    return setter.symbol(GREEK.get(base, base), GREEK.get(below, below))


def _set(  # noqa: PLR0911  (one return for each kind of piece)
    node: ast.expr, to: Setter, numbers: Mapping[str, str] | None
) -> tuple[str, int]:
    match node:
        case ast.Constant(value=int() | float() as value):
            return _number(value, to)
        case ast.Name(name):
            if numbers is not None and name in numbers:
                return to.text(numbers[name]), _rank(numbers[name])
            return _symbol(name, to), ATOM
        case ast.UnaryOp(_, operand):
            inside = _wrapped(operand, UNITED, to, numbers)
            return to.join([to.operator("−"), inside]), SIGNED
        case ast.Call(ast.Name(name), arguments):
            return _call(name, arguments, to, numbers)
        case ast.BinOp(left, ast.Div(), right) if to.flat:
            top, bottom = _wrapped(left, PRODUCT, to, numbers), _wrapped(right, UNITED, to, numbers)
            return to.fraction(top, bottom), PRODUCT
        case ast.BinOp(left, ast.Div(), right):
            top, bottom = _set(left, to, numbers)[0], _set(right, to, numbers)[0]
            return to.fraction(top, bottom), POWER
        case ast.BinOp(left, ast.Pow(), right):
            base = _wrapped(left, ATOM, to, numbers)
            return to.power(base, _set(right, to, numbers)[0]), POWER
        case ast.BinOp(left, ast.Mult(), right):
            return _product(left, right, to, numbers), PRODUCT
        case ast.BinOp(left, op, right):
            sign = "+" if isinstance(op, ast.Add) else "−"
            first, (second, rank) = _set(left, to, numbers)[0], _set(right, to, numbers)
            if rank in (SUM, SIGNED):
                second = to.brackets(second)
            return to.join([first, to.operator(sign), second]), SUM
    raise ValueError(f"{ast.unparse(node)!r} is not arithmetic")


def _product(left: ast.expr, right: ast.expr, to: Setter, numbers: Mapping[str, str] | None) -> str:
    """Set a product: symbols stand close together, numbers and functions get a sign between."""
    first = _wrapped(left, PRODUCT, to, numbers)
    second = _wrapped(right, UNITED, to, numbers)
    tight = numbers is None and not _starts_in_number(right) and not _ends_in_call(left)
    return to.join([first, to.operator("·" if tight else "×"), second])


def _number(value: float, to: Setter) -> tuple[str, int]:
    digits, _, exponent = f"{value}".partition("e")
    if not exponent:
        return to.number(digits), ATOM
    sign = [to.operator("−")] if exponent.startswith("-") else []
    power = to.join([*sign, to.number(exponent.lstrip("+-0"))])
    ten = to.power(to.number("10"), power)
    return to.join([to.number(digits), to.operator("×"), ten]), PRODUCT


def _wrapped(node: ast.expr, least: int, to: Setter, numbers: Mapping[str, str] | None) -> str:
    text, rank = _set(node, to, numbers)
    return to.brackets(text) if rank < least else text


def _call(
    name: str, arguments: list[ast.expr], to: Setter, numbers: Mapping[str, str] | None
) -> tuple[str, int]:
    parts = [_set(argument, to, numbers) for argument in arguments]
    if name == "sqrt":
        return to.root(parts[0][0]), ATOM
    inside = parts[0][0]
    for part, _ in parts[1:]:
        inside = to.join([inside, to.operator(","), part])
    bare = len(parts) == 1 and parts[0][1] == ATOM
    return to.function(_WRITTEN.get(name, name), inside, bare), UNITED if bare else ATOM


def _starts_in_number(node: ast.expr) -> bool:
    """Whether a factor starts with a written number, as 2, 2**n and 3/4 do."""
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Pow | ast.Div):
        return _starts_in_number(node.left)
    return isinstance(node, ast.Constant)


def _ends_in_call(node: ast.expr) -> bool:
    """Whether a product ends in a function, which would seem to take in what follows."""
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mult):
        return _ends_in_call(node.right)
    return isinstance(node, ast.Call) and ast.unparse(node.func) != "sqrt"


def _rank(text: str) -> int:
    """How tightly a written value holds together: "−5 bar", "80 mm" or "18"."""
    if text.startswith(("−", "-")):
        return SIGNED
    return UNITED if " " in text else ATOM
