"""Calculations: a formula is computed and printed from one text, and a symbol has one value."""

import math

import pytest

from baywright.strength.working import Working, number, pretty


def test_a_line_shows_formula_numbers_and_result():
    w = Working()
    w.given("F_Ed", 12_345.678, "N", "force", "a table")
    w.given("b", 60.0, "mm", "width")
    w.given("t", 6.0, "mm", "thickness")
    assert w.let("σ_Ed", "6 * F_Ed * 27 / (b * t**2)", "MPa", "bending") == pytest.approx(6 * 12_345.678 * 27 / 2160)
    assert w.lines()[0] == ("F_Ed", "12\u2009346 N", "force", "a table")
    symbol, text, meaning, source = w.lines()[-1]
    assert (symbol, meaning, source) == ("σ_Ed", "bending", "")
    assert text == "6 · F_Ed · 27 / (b · t²) = 6 · 12\u2009346 · 27 / (60 · 6²) = 925.93 MPa"


def test_a_symbol_has_one_value():
    w = Working()
    w.given("t", 3.0, "mm", "wall")
    w.given("t", 3.0, "mm", "wall")
    assert len(w.steps) == 1
    with pytest.raises(ValueError, match="has a value already"):
        w.given("t", 4.0, "mm", "floor")


def test_a_formula_reaches_nothing_but_the_lines_above():
    w = Working()
    for bad in ("x + 1", "__import__('os')", "open('/etc/passwd')"):
        with pytest.raises(NameError):
            w.let("y", bad, "", "")


def test_functions_and_negatives():
    w = Working()
    w.given("a", -3.0, "", "")
    assert w.let("b", "max(0, -a)", "", "") == 3
    assert w.lines()[-1][1] == "max(0, -a) = max(0, -(-3)) = 3"
    assert w.let("c", "sqrt(b**2 + 16)", "", "") == 5
    assert w.lines()[-1][1].startswith("√(b² + 16)")


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0, "0"),
        (1.0, "1"),
        (1 / 3, "0.33333"),
        (123456.7, "123\u2009460"),
        (2.5e-5, "2.5e-5"),
        (3e9, "3e9"),
        (math.inf, "inf"),
    ],
)
def test_numbers(value, text):
    assert number(value) == text


def test_indices():
    assert pretty("F_b_Rd_w * t_w") == "F_b,Rd,w · t_w"


def test_lines_of_another_calculation():
    """They are added once; a symbol that stands here must have the same value, and nothing of the other changes."""
    kept, w = Working(), Working()
    kept.given("t", 3.0, "mm", "wall")
    kept.let("a", "2 * t", "mm²", "area")
    w.given("t", 3.0, "mm", "wall")
    w.add(kept)
    w.add(kept)
    assert [s.symbol for s in w.steps] == ["t", "a"]
    assert w.let("b", "a + t", "", "") == 9
    assert "b" not in kept.values
    fresh = Working()
    fresh.add(kept)
    assert (fresh.steps, fresh.values) == (kept.steps, kept.values)
    fresh.given("c", 1.0, "", "")
    assert len(kept.steps) == 2
    other = Working()
    other.given("a", 7.0, "mm²", "another area")
    with pytest.raises(ValueError, match="the symbol a has a value already"):
        other.add(kept)


def test_figures_or_formulas_and_copies():
    w = Working()
    assert w.put("a", 2.0, "N", "given") == 2
    assert w.put("b", "a * 3", "N", "follows") == 6
    assert w.let("c", "a + b", "N", "sum", "a handbook") == 8
    assert [(s.value, s.formula, s.source) for s in w.steps] == [
        (2, "", ""),
        (6, "a * 3", ""),
        (8, "a + b", "a handbook"),
    ]
    other = w.copy()
    other.given("d", 1.0, "", "")
    assert "d" not in w.values
    assert len(w.steps) == 3
    assert len(other.steps) == 4
