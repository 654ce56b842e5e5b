"""Calculations as an engineer writes them: one line a step, with symbol, formula, numbers, result, unit and source.

A formula is written once, as text: the same text is computed and printed, so that what is read is what was reckoned.
"""

import math
import re
from dataclasses import dataclass, field
from functools import cache
from types import CodeType
from typing import Any, NamedTuple

# What a formula may use beside the symbols of the lines above it.
_FUNCTIONS: dict[str, Any] = {
    "__builtins__": {},
    "sqrt": math.sqrt,
    "hypot": math.hypot,
    "tanh": math.tanh,
    "ln": math.log,
    "π": math.pi,
    "min": min,
    "max": max,
    "abs": abs,
}
_NAME = re.compile(r"[^\W\d]\w*")


class Step(NamedTuple):
    """One line of a calculation.

    Attributes:
        symbol: what is found, as in the formulas below it ("F_v_Rd" is printed F_v,Rd).
        value: the result, in `unit`.
        unit: "N", "mm", "MPa" …
        meaning: what it is, in a few words.
        formula: how it follows from the lines above; "" for a figure that is given.
        source: where the formula or the figure is from.
    """

    symbol: str
    value: float
    unit: str
    meaning: str
    formula: str = ""
    source: str = ""


@dataclass(eq=False)
class Working:
    """The lines of one calculation, in order. A symbol has one value, so that every line can be done again by hand."""

    steps: list[Step] = field(default_factory=list)
    values: dict[str, float] = field(default_factory=dict)

    def given(self, symbol: str, value: float, unit: str, meaning: str, source: str = "") -> float:
        """Add a figure that is given, and return it."""
        return self._add(Step(symbol, float(value), unit, meaning, "", source))

    def let(self, symbol: str, formula: str, unit: str, meaning: str, source: str = "") -> float:
        """Add a line that follows from those above, and return its result.

        Raises:
            NameError: if the formula uses a symbol that no line above has: a mistake in the program.
        """
        value = float(eval(_compiled(formula), _FUNCTIONS, self.values))
        return self._add(Step(symbol, value, unit, meaning, formula, source))

    def put(self, symbol: str, value: float | str, unit: str, meaning: str) -> float:
        """Add a figure, or a line if `value` is a formula, and return it."""
        if isinstance(value, str):
            return self.let(symbol, value, unit, meaning)
        return self.given(symbol, value, unit, meaning)

    def _add(self, step: Step) -> float:
        symbol, value = step.symbol, step.value
        if symbol not in self.values:
            self.values[symbol] = value
            self.steps.append(step)
        elif self.values[symbol] != value:
            raise ValueError(f"the symbol {symbol} has a value already")
        return value

    def add(self, lines: "Working") -> None:
        """Add all lines of another calculation; what stands here already must have the same value."""
        if self.values.keys().isdisjoint(lines.values):
            self.values.update(lines.values)
            self.steps.extend(lines.steps)
            return
        for step in lines.steps:
            self._add(step)

    def copy(self) -> "Working":
        """Return a calculation that begins with these lines."""
        return Working(list(self.steps), dict(self.values))

    def lines(self) -> list[tuple[str, str, str, str]]:
        """Return every line as text: symbol, "formula = numbers = result unit", meaning, source."""
        return [self._line(step) for step in self.steps]

    def _line(self, step: Step) -> tuple[str, str, str, str]:
        result = f"{number(step.value)} {step.unit}".strip()
        if step.formula:
            filled = _NAME.sub(self._figure, step.formula)
            parts = [pretty(step.formula), pretty(filled), result]
            result = " = ".join(dict.fromkeys(parts))
        return pretty(step.symbol), result, step.meaning, step.source

    def _figure(self, name: re.Match[str]) -> str:
        found = name.group()
        if found in _FUNCTIONS:
            return found
        text = number(self.values[found])
        return f"({text})" if text.startswith("-") else text


@cache
def _compiled(formula: str) -> CodeType:
    return compile(formula, formula, "eval")


def number(value: float) -> str:
    """Return a number as it is written in a calculation: five figures, thousands apart, no noise."""
    if value == 0 or not math.isfinite(value):
        return f"{value:g}"
    if abs(value) >= 1e7 or abs(value) < 1e-4:
        mantissa, power = f"{value:.4e}".split("e")
        return f"{float(mantissa):g}e{int(power)}"
    text = f"{float(f'{value:.5g}'):,f}".rstrip("0").rstrip(".")
    return text.replace(",", "\u2009")  # a thin space


def pretty(text: str) -> str:
    """Return a formula or a symbol as it is written by hand: points for products, raised twos, commas in indices."""
    text = re.sub(r"([^\W\d]\w*)", lambda m: m.group().replace("_", ",").replace(",", "_", 1), text)
    for plain, written in (("sqrt", "√"), ("**2", "²"), ("**3", "³"), ("**4", "⁴"), (" * ", " · "), ("*", " · ")):
        text = text.replace(plain, written)
    return text
