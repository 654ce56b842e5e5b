"""A row of the catalogue as a file to start one's own from: its lines as they stand, under a new name."""

import inspect
import re

from baywright.job.catalogue import RawRow
from baywright.job.row import Named

_HEADING = re.compile(r"^\s*\[+\s*(?P<name>[A-Za-z0-9_-]+|\"[^\"]*\")\s*[.\]]")


def copied(raw: RawRow, name: str, new: str, model: type[Named]) -> str:
    """Return the text of a file that holds one row of a catalogue file under a new name, its keys explained above it.

    Args:
        raw: the row.
        name: its name.
        new: what the copy is called.
        model: its model, whose docstring says what the keys are.
    """
    kept: list[str] = []
    inside = False
    for line in raw.file.read_text(encoding="utf-8-sig").splitlines():
        heading = _HEADING.match(line)
        if heading:
            inside = heading["name"].strip('"') == name
            line = line[: heading.start("name")] + new + line[heading.end("name") :] if inside else line
        if inside:
            kept.append(line)
    while kept and (not kept[-1].strip() or kept[-1].lstrip().startswith("#")):
        kept.pop()  # what stands before the next row is about that one
    about = (inspect.getdoc(model) or "").replace("Attributes:", "Its keys:")
    units = [f'{kind} = "{unit}"' for kind, unit in raw.units.items()]
    head = [
        f"# A copy of '{name}': put your own figures in.",
        "#",
        *(f"# {line}".rstrip() for line in about.splitlines()),
    ]
    return "\n".join([*head, "", *(["[units]", *units, ""] if units else []), *kept]) + "\n"
