"""Tables that leave as CSV: the same bytes everywhere, numbers with a dot, read by any spreadsheet."""

import csv
from collections.abc import Iterable, Sequence
from pathlib import Path


def write_table(path: Path, head: Sequence[str], rows: Iterable[Sequence[object]]) -> Path:
    """Write a table in UTF-8 with a line of headings and return its path."""
    with path.open("w", encoding="utf-8", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(head)
        writer.writerows([_safe(cell) for cell in row] for row in rows)
    return path


def read_table(path: Path) -> list[dict[str, str]]:
    """Return a table's rows by heading."""
    with path.open(encoding="utf-8", newline="") as text:
        return list(csv.DictReader(text))


def _safe(cell: object) -> object:
    """Return a cell that no spreadsheet takes for a formula: names come from job files."""
    if isinstance(cell, str) and cell[:1] in ("=", "+", "-", "@"):
        return "'" + cell
    return cell
