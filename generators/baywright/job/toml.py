"""TOML files read once, with the line on which each key stands."""

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from baywright.job.messages import CONTROL, BadInput, Problem, shown

Path_ = tuple[str | int, ...]
MOST_BYTES = 1_000_000  # a job file of a megabyte is a mistake, not a job

_HEADER = re.compile(r"^\s*(\[\[|\[)\s*([^\]]+?)\s*\]")
_KEY = re.compile(r"""^\s*((?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*'))*)\s*=""")
# A key of two dozen parts, as "a.b.c": no table of ours is half as deep.
_DEEP = re.compile(r"""(?<![\w.-])(?:(?:[A-Za-z0-9_-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){24}""")
_PART = re.compile(r"""[A-Za-z0-9_-]+|"[^"]*"|'[^']*'""")


def read_toml(path: Path) -> tuple[dict[str, Any], dict[Path_, int]]:
    """Return a file's content, and the line (from 1) of each key path, list entries counted from 0.

    Raises:
        BadInput: if the file can't be read, is no UTF-8, is over a megabyte, is no TOML, or holds a control character;
            with the line where known.
    """
    return toml_of(path, toml_bytes(path))


def toml_bytes(path: Path) -> bytes:
    """Return what a file holds, once.

    Raises:
        BadInput: if it can't be read, or is over a megabyte.
    """
    name = shown(path)
    try:
        if path.is_dir():
            raise BadInput([Problem(name, None, "", "is a folder; name a job file inside it")])
        if path.exists() and not path.is_file():  # a device or a pipe may never end
            raise BadInput([Problem(name, None, "", "is no ordinary file")])
        if path.stat().st_size > MOST_BYTES:
            raise BadInput([Problem(name, None, "", f"is over {MOST_BYTES // 1_000_000} MB: not a job file")])
        return path.read_bytes()
    except FileNotFoundError:
        raise BadInput([Problem(name, None, "", "no such file")]) from None
    except (OSError, ValueError) as error:
        raise BadInput(
            [Problem(name, None, "", f"can't be read: {getattr(error, 'strerror', None) or error}")]
        ) from None


def toml_of(path: Path, data: bytes) -> tuple[dict[str, Any], dict[Path_, int]]:
    """Return the content of a file whose bytes are these, and the line of each key path, as `read_toml` does.

    Raises:
        BadInput: if it is no UTF-8, no TOML, or holds a control character.
    """
    name = shown(path)
    try:
        text = data.decode("utf-8-sig")  # some editors put a byte order mark first
    except UnicodeDecodeError as error:
        raise BadInput([Problem(name, None, "", f"is not UTF-8 text (byte {error.start})")]) from None
    if (deep := _DEEP.search(text)) is not None:  # before the reader: it takes memory by the square of the depth
        raise BadInput([Problem(name, text.count("\n", 0, deep.start()) + 1, "", "is nested too deeply")])
    try:
        found, lines = tomllib.loads(text), key_lines(text)
        controls = list(_controls(found, ()))
    except tomllib.TOMLDecodeError as error:
        at = re.search(r"\(at line (\d+)", str(error))
        line = int(at.group(1)) if at else len(text.splitlines()) or None
        if str(error).startswith("Unclosed array"):
            line = _opened(text) or line
        there = text.splitlines()[line - 1] if line and line <= len(text.splitlines()) else ""
        says = _slip(there) or _plainly(str(error))
        raise BadInput([Problem(name, line, "", f"is no TOML here: {says}")]) from None
    except RecursionError:
        raise BadInput([Problem(name, None, "", "is nested too deeply")]) from None
    except ValueError:  # tomllib leaves these to Python: numbers too long to convert, dates that don't exist
        raise BadInput([Problem(name, None, "", "has a number or date that can't be read")]) from None
    bad = [
        Problem(name, line_of(lines, at), key_text(at), f"holds the control character {sign}: take it out")
        for at, sign in controls
    ]
    if bad:
        raise BadInput(bad)
    return found, lines


def _controls(value: object, at: Path_) -> Iterator[tuple[Path_, str]]:
    """Yield where a text or a key holds a control character, and which: a terminal would obey it.

    Among them those that turn the direction of writing, which make a line read otherwise than it is.
    """
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _controls(key, (*at, key))
            yield from _controls(inner, (*at, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from _controls(inner, (*at, number))
    elif isinstance(value, str) and (found := CONTROL.search(value.replace("\n", "").replace("\t", ""))):
        yield at, f"U+{ord(found.group()):04X}"


# The slips of people new to the form, each as it looks in its line, and what to write instead.
_SLIPS = (
    (re.compile("[\u201c\u201d\u201e\u2018\u2019]"), 'quotes must be straight ones, as in name = "front"'),
    (
        re.compile(r"^\s*\[[^\]=]*[^\s\[.]\s+\w[^\]=]*\]\s*$"),
        "the names in a heading are joined by a point: [boxes.front]",
    ),
    (re.compile(r"^\s*[\w.-]+\s*:"), "a key and its value are joined by an equals sign: count = 3"),
    (re.compile(r"=\s*\("), "a list stands in square brackets: at = [0, 0, 305]"),
    (re.compile(r"^[^\[{]*=\s*[+-]?\d+,\d"), "a figure has a point and no comma: 2400 or 2.5"),
    (re.compile(r"\[[^\]\"]*\d\s+[+-]?\d"), "a comma is missing between two entries of a list: [0, 0, 305]"),
    (re.compile(r'""\s+""'), 'a comma is missing between two entries of a list: ["gland-m25", "signal-22"]'),
)


def _code(line: str) -> str:
    """Return a line without its comment, every whole text in it emptied."""
    return re.sub(r"\"[^\"]*\"|'[^']*'", '""', line).split("#")[0]


def _opened(text: str) -> int | None:
    """Return the line of the list that is never closed, as far as counting brackets tells."""
    depth, found = 0, None
    for number, line in enumerate(text.splitlines(), 1):
        code = _code(line)
        if depth == 0 and code.count("[") > code.count("]"):
            found = number
        depth += code.count("[") - code.count("]")
    return found if depth > 0 else None


def _slip(line: str) -> str:
    """Return what is wrong with a line that can't be read and how to write it, for a slip that is known; else ""."""
    if len(line) > 1000:  # nobody's slip; the patterns' time grows by the square
        return ""
    code = _code(line)
    for pattern, cure in _SLIPS:
        if pattern.search(code):
            return cure
    if code.count('"') % 2:
        return 'a quote is missing: text stands between two, as in module = "m590"'
    return ""


def _plainly(message: str) -> str:
    """Return what the TOML reader says without its place, and with the cure for the usual slip: a missing quote."""
    text = re.sub(r"\s*\(at .*\)$", "", message)
    if text.startswith(("Expected newline or end of document", "Invalid value")):
        return 'one value is expected; text, and a figure with its unit, stand in quotes: "3/4 in"'
    if text == "Unclosed array":
        return "a list is not closed: a bracket ] or a comma is missing"
    text = re.sub(r"\((?:'[^']*'(?:, )?)+,?\)", lambda names: ".".join(re.findall(r"'([^']*)'", names.group())), text)
    return f"{text[:1].lower()}{text[1:]}"


def key_lines(text: str) -> dict[Path_, int]:
    """Return the line of every key and table that a scan of the text finds.

    Lists and inline tables spread over several lines are found by their outermost key: that is where a person looks.
    """
    lines: dict[Path_, int] = {}
    counts: dict[Path_, int] = {}
    here: Path_ = ()
    in_text = ""
    for number, line in enumerate(text.splitlines(), 1):
        if in_text:
            if in_text in line:
                in_text = ""
            continue
        header = _HEADER.match(line)
        key = _KEY.match(line)
        if header:
            parts: Path_ = ()
            for word in _PART.findall(header.group(2)):
                parts += (word.strip("\"'"),)
                if parts not in counts:
                    lines.setdefault(parts, number)  # the tables around it, if nothing named them before
                if parts in counts and not (
                    header.group(1) == "[[" and len(parts) == len(_PART.findall(header.group(2)))
                ):
                    parts += (counts[parts] - 1,)
            if header.group(1) == "[[":
                counts[parts] = counts.get(parts, 0) + 1
                lines.setdefault(parts, number)
                parts += (counts[parts] - 1,)
            here = parts
            lines.setdefault(here, number)
        elif key:
            path = here + tuple(word.strip("\"'") for word in _PART.findall(key.group(1)))
            for length in range(len(here) + 1, len(path) + 1):
                lines.setdefault(path[:length], number)
            rest = line[key.end() :]
            for quotes in ('"""', "'''"):
                if rest.count(quotes) % 2:
                    in_text = quotes
    return lines


def line_of(lines: dict[Path_, int], path: Path_) -> int | None:
    """Return the line of a key path, or of the nearest table around it."""
    for length in range(len(path), 0, -1):
        if path[:length] in lines:
            return lines[path[:length]]
    return None


def key_text(path: Path_) -> str:
    """Return a key path as a person writes it: "boxes.front.fittings 2.at"; list entries count from 1."""
    text = ""
    for part in path:
        text += f" {part + 1}" if isinstance(part, int) else (f".{part}" if text else str(part))
    return text
