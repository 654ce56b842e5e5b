"""A row of the catalogue in full, for a terminal: every figure with its unit."""

from collections.abc import Iterator
from typing import Annotated

from baywright.job.row import Row
from baywright.job.units import Measured, unit_of

# As people write them; the catalogue keeps them as its library of units reads them.
_WRITTEN = {"N*m": "N·m", "kg/m**3": "kg/m³", "mm**2": "mm²", "A*h": "Ah", "kW*h": "kWh"}


def row_lines(row: Row, depth: int = 1) -> Iterator[str]:
    """Yield a row's values with their units, one a line, tables indented under their key; what is empty is left out.

    Args:
        row: the row.
        depth: how far its lines are indented; a row at the first has told its name already.
    """
    for key, about in type(row).model_fields.items():
        value = getattr(row, key)
        if value in (None, "", [], {}) or (key == "name" and depth == 1):
            continue
        indent = "  " * depth
        if isinstance(value, Row):
            yield f"{indent}{key}"
            yield from row_lines(value, depth + 1)
        elif isinstance(value, list) and isinstance(value[0], Row):
            for number, each in enumerate(value, 1):
                yield f"{indent}{key} {number}"
                yield from row_lines(each, depth + 1)
        else:
            unit = unit_of(Annotated[about.annotation, *about.metadata, ""]) if about.annotation else ""
            yield f"{indent}{key}: {_text(value)} {_WRITTEN.get(unit, unit)}".rstrip()


def _text(value: object) -> str:
    if isinstance(value, Measured):
        return f"{value.value:g} ± {value.tolerance:g}" if value.tolerance else f"{value.value:g}"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, dict):
        return ", ".join(f"{key}: {_text(one)}" for key, one in value.items())
    if isinstance(value, list | tuple):
        inner = ", ".join(_text(one) for one in value)
        return f"({inner})" if isinstance(value, tuple) and not isinstance(value[0], Row) else inner
    return str(value)
