"""A formula as it is set reads back as the formula that was written."""

import re

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from rebuildbook.worksheet.formula import evaluate, set_formula

VALUES = {"T": 24.0, "L_arm": 0.38, "mu": 0.12, "Delta": 5.0, "Re": 4000.0}

formulas = st.recursive(
    st.sampled_from([*VALUES, "pi", "2", "0.5", "10", "1e-7"]),
    lambda inner: (
        st.builds("({} {} {})".format, inner, st.sampled_from("+-*/"), inner)
        | st.builds("({})**{}".format, inner, st.sampled_from(["2", "3", "(-1)"]))
        | st.builds("(-{})".format, inner)
        | st.builds("sqrt({})".format, inner)
    ),
    max_leaves=8,
)


def read_back(latex: str) -> str:
    """Python's spelling of a formula in LaTeX: what stands close together is multiplied."""
    text = latex.replace(r"\left", "").replace(r"\right", "").replace(r"\,", "*")
    text = text.replace(r"\times ", "*").replace("π", "pi").replace("μ", "mu").replace("Δ", "Delta")
    text = re.sub(r"\\mathrm\{(\w+)\}", r"\1", text)
    text = re.sub(r"_\{(\w+)\}", r"_\1", text)
    before = ""
    while before != text:
        before = text
        text = re.sub(r"\{([^{}\\]*)\}\^\{([^{}\\]*)\}", r"((\1)**(\2))", text)
        text = re.sub(r"\\frac\{([^{}\\]*)\}\{([^{}\\]*)\}", r"((\1)/(\2))", text)
        text = re.sub(r"\\sqrt\{([^{}\\]*)\}", r"sqrt(\1)", text)
    return text


@given(formulas)
def test_brackets_are_left_out_only_where_the_value_stays(formula):
    try:
        expected = evaluate(formula, VALUES)
    except (ValueError, ArithmeticError):
        assume(False)
    assert evaluate(read_back(set_formula(formula, "latex")), VALUES) == pytest.approx(
        expected, rel=1e-6, abs=1e-9
    )


def test_two_numbers_never_run_together():
    assert set_formula("2*(3/4)", "latex") == r"2\times \frac{3}{4}"  # not two and three quarters
    assert set_formula("2*10**3", "latex") == r"2\times {10}^{3}"


def test_functions_carry_the_names_an_engineer_reads():
    assert r"\operatorname{ln}" in set_formula("log(x)", "latex")  # not the decadic logarithm
    assert r"\operatorname{arctan}" in set_formula("atan(x)", "latex")
