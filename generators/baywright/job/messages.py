"""What is said about bad input: one sentence a problem, every problem of a run at once."""

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

# Characters that a terminal obeys instead of showing: C0 and C1 controls, and those that turn the writing's direction.
CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069]")


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with an input.

    Attributes:
        file: the file it stands in.
        line: the line, from 1, where it can be had.
        key: the key, as "boxes.front.module".
        message: one sentence: what was found, what was expected, what to do.
    """

    file: str
    line: int | None
    key: str
    message: str

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        return plain(f"{place}: {self.key}: {self.message}" if self.key else f"{place}: {self.message}")


class BadInput(Exception):
    """Input that can't be used; carries every problem that was found."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(p) for p in self.problems))


def plain(text: str) -> str:
    """Return a text with its control characters spelled out, so that a terminal shows them and obeys none."""
    return CONTROL.sub(lambda sign: f"<U+{ord(sign.group()):04X}>", text)


def nearest(name: str, names: Iterable[str]) -> str | None:
    """Return the known name most like a misspelt one, or None if none is near."""
    found = difflib.get_close_matches(name.lower(), {n.lower(): n for n in names}, n=1, cutoff=0.5)
    return next((n for n in names if n.lower() == found[0]), None) if found else None


def unknown(kind: str, name: str, names: Iterable[str]) -> str:
    """Return the sentence for a name that nothing has, with the nearest one that exists."""
    listed = sorted(names)
    near = nearest(name, listed)
    if near is not None:
        return f"unknown {kind} '{name}'; did you mean '{near}'?"
    if not listed:
        return f"unknown {kind} '{name}': there is none yet"
    return f"unknown {kind} '{name}'; known: {', '.join(listed[:12])}{' …' if len(listed) > 12 else ''}"


def shown(path: Path) -> str:
    """Return a path as a person would name it: from the current folder if it lies below."""
    try:
        return plain(str(path.resolve().relative_to(Path.cwd())))
    except ValueError:
        return plain(str(path))
