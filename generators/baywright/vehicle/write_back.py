"""A job file with other counts: only the lines of those keys change, comments and all else stay."""

import re
import tomllib
from collections.abc import Mapping
from typing import Any

_HEADER = re.compile(r"^\s*\[")
Value = str | int | float | list[float] | list[str]


def write_back(text: str, changes: Mapping[str, Mapping[str, Value] | None]) -> str:
    """Return a job file's text with keys of its boxes changed.

    Args:
        text: the job file.
        changes: by box, its keys and their new values ({"count": 4, "orientation": "flat"}), or None for a box that
            would hold nothing: its table is turned into comments.

    Raises:
        ValueError: with one sentence, if a box has no table [boxes.name] of its own to change, or the result would not
            say what was asked: then nothing should be written.
    """
    lines = text.splitlines(keepends=True)
    for box, keys in changes.items():
        begin, end = _table(lines, box)
        if keys is None:
            lines[begin:end] = _commented(lines[begin:end])
        else:
            lines[begin:end] = _changed(lines[begin:end], keys)
    new = "".join(lines)
    _check(text, new, changes)
    return new


def _table(lines: list[str], box: str) -> tuple[int, int]:
    """Return the lines from a box's header up to the next header, blank lines and comments before that left out."""
    header = re.compile(rf"""^\s*\[\s*boxes\s*\.\s*(?:{re.escape(box)}|"{re.escape(box)}"|'{re.escape(box)}')\s*\]""")
    starts = [i for i, line in enumerate(lines) if header.match(line)]
    if len(starts) != 1:
        raise ValueError(f"box '{box}' has no table [boxes.{box}] of its own in the file: write its keys under one")
    begin = starts[0]
    end = next((i for i in range(begin + 1, len(lines)) if _HEADER.match(lines[i])), len(lines))
    while end > begin + 1 and (not lines[end - 1].strip() or lines[end - 1].lstrip().startswith("#")):
        end -= 1
    return begin, end


def _commented(lines: list[str]) -> list[str]:
    return ["# left out: it would hold no module\n", *(line if not line.strip() else f"# {line}" for line in lines)]


def _changed(lines: list[str], keys: Mapping[str, Value]) -> list[str]:
    out = list(lines)
    for key, value in keys.items():
        pattern = re.compile(rf"""^(\s*)(?:{re.escape(key)}|"{re.escape(key)}")(\s*=\s*)(.*?)(\s*(?:#.*)?)(\r?\n?)$""")
        found = [i for i, line in enumerate(out) if pattern.match(line)]
        if found:
            match = pattern.match(out[found[0]])
            assert match is not None
            indent, equals, old, rest, ending = match.groups()
            if '"' in old or "'" in old:  # a hash within quotes is no comment: take the comment off what follows them
                quoted = re.match(r"""("[^"]*"|'[^']*')(.*)$""", old + rest)
                rest = quoted.group(2) if quoted else rest
            out[found[0]] = f"{indent}{key}{equals}{_toml(value)}{rest}{ending}"
        else:
            newline = "\r\n" if out[0].endswith("\r\n") else "\n"
            if not out[-1].endswith("\n"):
                out[-1] += newline
            out.append(f"{key} = {_toml(value)}{newline}")
    return out


def _toml(value: Value) -> str:
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(value, list):
        return "[" + ", ".join(_toml(v) for v in value) + "]"
    return f"{value:g}" if isinstance(value, float) else str(value)


def _check(old: str, new: str, changes: Mapping[str, Mapping[str, Value] | None]) -> None:
    """Refuse a text that does not say exactly what was asked and leave the rest alone."""
    wanted: dict[str, Any] = tomllib.loads(old)
    for box, keys in changes.items():
        if keys is None:
            del wanted["boxes"][box]
        else:
            wanted["boxes"][box].update(keys)
    if not wanted.get("boxes"):
        wanted.pop("boxes", None)
    try:
        said = tomllib.loads(new)
    except tomllib.TOMLDecodeError:
        said = {}
    if said != wanted:
        raise ValueError(
            f"the tables of {', '.join(changes)} are written in a way that can't be changed line by line: "
            "write each key on a line of its own"
        )
