"""Formulas come to what Python makes of them, and are set as mathematics that can be read."""

import math
import xml.etree.ElementTree as ET

import pytest
import typst
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from rebuildbook.worksheet.formula import FUNCTIONS, evaluate, parse, set_formula, set_symbol

NAMES = ("a", "F_p", "mu_G", "theta", "D_line")
VALUES = {"a": 2.5, "F_p": 29.3, "mu_G": 0.12, "theta": 0.4, "D_line": 7.0}
SHOWN = {"a": "2.5 mm", "F_p": "−29.3 kN", "mu_G": "12 %", "theta": "0.4°", "D_line": "7 ft·lbf"}

numbers = st.one_of(st.integers(0, 99), st.floats(1e-9, 1e12)).map(repr)


def larger(inner):
    pair = st.tuples(inner, st.sampled_from(["+", "-", "*", "/", "**"]), inner)
    one = st.sampled_from(sorted(set(FUNCTIONS) - {"min", "max"}))
    return st.one_of(
        pair.map(lambda p: f"({p[0]}){p[1]}({p[2]})"),
        inner.map(lambda x: f"-({x})"),
        st.tuples(one, inner).map(lambda p: f"{p[0]}({p[1]})"),
        st.tuples(st.sampled_from(["min", "max"]), inner, inner).map(
            lambda p: f"{p[0]}({p[1]}, {p[2]})"
        ),
    )


expressions = st.recursive(
    st.one_of(numbers, st.sampled_from([*NAMES, "pi"])), larger, max_leaves=8
)


@given(expressions)
def test_a_formula_comes_to_what_python_makes_of_it(formula):
    # whole numbers are read as floats, so that nothing grows without end
    class Floats(dict):
        pass

    import ast

    class AsFloat(ast.NodeTransformer):
        def visit_Constant(self, node):
            return ast.copy_location(ast.Constant(float(node.value)), node)

    tree = ast.fix_missing_locations(AsFloat().visit(ast.parse(formula, mode="eval")))
    try:
        expected = eval(  # noqa: S307  (our own strategy wrote it)
            compile(tree, "formula", "eval"), {**FUNCTIONS, **VALUES, "pi": math.pi}
        )
    except (ArithmeticError, ValueError, TypeError):
        assume(False)
    assume(not isinstance(expected, complex))
    assert evaluate(formula, VALUES) == pytest.approx(expected, rel=1e-15, nan_ok=True)


@given(expressions, st.booleans())
def test_mathml_is_well_formed_and_shows_every_number(formula, put_in):
    made = set_formula(formula, "mathml", SHOWN if put_in else None)
    tree = ET.fromstring(f"<math>{made}</math>")  # noqa: S314  (our own)
    assert "".join(tree.itertext()).strip()


@given(expressions, st.booleans())
def test_latex_braces_and_brackets_close(formula, put_in):
    made = set_formula(formula, "latex", SHOWN if put_in else None)
    assert made.count("{") == made.count("}")
    assert made.count(r"\left(") == made.count(r"\right)")
    assert "$" not in made


def test_typst_takes_every_formula(tmp_path):
    batch: list[str] = []

    @settings(max_examples=100)
    @given(expressions)
    def collect(formula):
        batch.extend(set_formula(formula, "typst", values) for values in (None, SHOWN))

    collect()
    assert len(batch) >= 100
    document = tmp_path / "batch.typ"
    document.write_text("\n\n".join(f"$ {formula} $" for formula in batch), encoding="utf-8")
    assert typst.compile(str(document)).startswith(b"%PDF")


@pytest.mark.parametrize(
    ("formula", "mathml"),
    [
        ("a - (b - c)", "a−(b−c)"),
        ("a - b - c", "a−b−c"),
        ("a - -b", "a−(−b)"),
        ("a*(b + c)", "a(b+c)"),
        ("2*3", "2×3"),
        ("a*2", "a×2"),
        ("2*a", "2a"),
        ("(-a)**2", "(−a)2"),
        ("-a**2", "−a2"),
        ("cos(a)*b", "cosa×b"),
        ("cos(a)**2", "(cosa)2"),
        ("cos(a + b)", "cos(a+b)"),
        ("max(a, b)", "max(a,b)"),
        ("1e-05*a", "1×10−5a"),
        ("True_x", "Truex"),
    ],
)
def test_brackets_and_signs_keep_the_meaning(formula, mathml):
    tree = ET.fromstring(f"<math>{set_formula(formula, 'mathml')}</math>")  # noqa: S314
    assert "".join(tree.itertext()) == mathml


@pytest.mark.parametrize(
    ("formula", "shown", "expected"),
    [
        ("a**2", {"a": "80 mm"}, "(80 mm)2"),
        ("a - b", {"a": "5 bar", "b": "−2 bar"}, "5 bar−(−2 bar)"),
        ("a*b", {"a": "12 %", "b": "3 mm"}, "12 %×3 mm"),
        ("a", {"a": "<b> & \"c\""}, "<b> & \"c\""),
    ],
)  # fmt: skip
def test_values_are_put_in_with_the_brackets_they_need(formula, shown, expected):
    tree = ET.fromstring(f"<math>{set_formula(formula, 'mathml', shown)}</math>")  # noqa: S314
    assert "".join(tree.itertext()) == expected


def test_a_value_cannot_end_its_text_in_latex_or_typst():
    hostile = '}$ \\input{a} " #eval("1")'
    assert set_formula("a", "latex", {"a": hostile}) == r'\text{ inputa " eval("1")}'
    assert set_formula("a", "typst", {"a": hostile}).count('"') == 2


def test_symbols_are_set_with_their_greek_letters():
    assert set_symbol("mu_G", "latex") == r"μ_{\mathrm{G}}"
    assert set_symbol("p_relief", "typst") == 'p_"relief"'
    assert set_symbol("p", "mathml") == "<mi>p</mi>"
    assert set_symbol("p_l", "mathml") == "<msub><mi>p</mi><mtext>l</mtext></msub>"  # upright


@pytest.mark.parametrize(
    ("formula", "rows"),
    [
        ("a/b", 0), ("F_p/2", 0), ("a**2", 0), ("(a + b)**2", 1), ("a/(b + c)", 1),
        ("(a*b)/(b + c)", 2), ("F_p*D_line/a", 1), ("a/sqrt(b)", 1), ("(a + b)*(b + c)/2", 3),
    ],
)  # fmt: skip
def test_each_part_of_a_fraction_or_power_is_one_element(formula, rows):
    made = set_formula(formula, "mathml")
    tree = ET.fromstring(f"<math>{made}</math>")  # noqa: S314  (our own)
    for piece in (*tree.iter("mfrac"), *tree.iter("msup"), *tree.iter("msub")):
        assert len(piece) == 2
    assert made.count("<mrow>") == rows


@pytest.mark.parametrize(
    "formula",
    [
        "", "a +", "__import__('os')", "a.b", "a[0]", "'text'", "lambda: 1", "a if b else c",
        "a == b", "a // b", "a % b", "~a", "+a", "not a", "[a]", "(a, b)", "f'{a}'", "a := 1",
        "sqrt(a, b)", "sqrt()", "sqrt(x=a)", "sqrt(*a)", "min(a)", "max()", "True", "None", "2j",
        "1e400", "-1e999", "9" * 400, "eval(a)", "sqrt.x(a)", "a\0",
        "(" * 500 + "a" + ")" * 500,
    ],
)  # fmt: skip
def test_anything_but_arithmetic_is_refused(formula):
    with pytest.raises(ValueError, match=r"."):
        parse(formula)


def test_a_missing_symbol_and_a_root_of_a_negative_number_are_refused():
    with pytest.raises(ValueError, match="no value is given for 'b'"):
        evaluate("a + b", {"a": 1.0})
    with pytest.raises(ValueError, match="negative"):
        evaluate("(-a)**0.5", {"a": 1.0})
