"""A variants file: one box of a job, and what is to be varied about it."""

import copy
import math
import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from itertools import product
from pathlib import Path
from typing import Any

from pydantic import Field, field_validator

from baywright.job.catalogue import Catalogue
from baywright.job.faults import read_as
from baywright.job.messages import BadInput, Problem, shown, unknown
from baywright.job.models import BoxAsk
from baywright.job.read import Job, style_names
from baywright.job.row import Row
from baywright.job.style import Style
from baywright.job.toml import Path_, key_text, line_of, read_toml
from baywright.job.units import told_value

MOST = 1_000_000  # variants of one file: a million boxes take days
_RANGE = re.compile(r"^\s*(\d{1,3})\s*-\s*(\d{1,3})\s*$")


class VariantsFile(Row):
    """A variants file.

    Attributes:
        box: the job's box that everything not varied is taken from; the first if left out.
        vary: by a box's key ("module", "count"), the values to try; whole numbers may be given as "1-12".
        style: by a style's key ("wall.thickness", "flange"), the values to try.
    """

    box: str | None = None
    vary: dict[str, list[Any]] = Field(default={})
    style: dict[str, list[Any]] = Field(default={})

    @field_validator("vary", "style", mode="before")
    @classmethod
    def _lists(cls, value: object) -> object:
        """Let a run of whole numbers be given as "1-12"."""
        if not isinstance(value, dict):
            return value
        found: dict[str, object] = {}
        for key, one in _flat(value):
            match = _RANGE.match(one) if isinstance(one, str) else None
            many = list(range(int(match[1]), int(match[2]) + 1)) if match else one
            if not isinstance(many, list) or not many:
                raise ValueError(
                    f'{key}: expected a list of values to try, such as [2, 3] or "1-6", got {told_value(one)}'
                )
            found[key] = many
        return found


def _flat(table: dict[str, Any], before: str = "") -> Iterator[tuple[str, Any]]:
    """Yield the keys of a table and of those within it, joined by dots: TOML reads a.b = 1 as a table."""
    for key, value in table.items():
        if isinstance(value, dict):
            yield from _flat(value, f"{before}{key}.")
        else:
            yield f"{before}{key}", value


@dataclass(frozen=True, eq=False)
class Variants:
    """What a variants file asks for, its names found.

    Attributes:
        job: the job whose box is varied.
        name: that box.
        asks: by each varied key of the box, its values as the file has them and as a box has them.
        styles: by each varied key of the style, its values as the file has them.
        made: by a style's name and the places of the varied keys' values in their lists, that style.
    """

    job: Job
    name: str
    asks: dict[str, list[tuple[Any, Any]]]
    styles: dict[str, list[Any]]
    made: dict[tuple[str, tuple[int, ...]], Style]

    @property
    def keys(self) -> tuple[str, ...]:
        """What varies, in the file's order."""
        return (*self.asks, *self.styles)

    @property
    def count(self) -> int:
        """How many variants there are."""
        return math.prod(len(values) for values in (*self.asks.values(), *self.styles.values()))

    def places(self, number: int) -> tuple[int, ...]:
        """Return which of each key's values a variant has, all counted from 0; the last key varies fastest."""
        found: list[int] = []
        for values in reversed((*self.asks.values(), *self.styles.values())):
            number, at = divmod(number, len(values))
            found.append(at)
        return tuple(reversed(found))

    def values(self, number: int) -> tuple[Any, ...]:
        """Return the values of a variant as the file has them."""
        lists = (*([told for told, _ in one] for one in self.asks.values()), *self.styles.values())
        return tuple(values[at] for values, at in zip(lists, self.places(number), strict=True))

    def box(self, number: int) -> tuple[BoxAsk, Catalogue]:
        """Return a variant's box and the catalogue with its style."""
        places = self.places(number)
        changed = {key: values[at][1] for (key, values), at in zip(self.asks.items(), places, strict=False)}
        ask = self.job.boxes[self.name].model_copy(update=changed)
        if not self.styles:
            return ask, self.job.catalogue
        style = self.made[ask.style, places[len(self.asks) :]]
        return ask, self.job.catalogue.with_row("style", style)


def read_variants(path: Path, job: Job) -> Variants:
    """Return what a variants file asks for of a job.

    Raises:
        BadInput: with every problem: keys, values and names that neither a box nor a style has, too many variants.
    """
    data, lines = read_toml(path)
    asked = read_as(VariantsFile, data, file=path, lines=lines)

    def problem(at: Path_, text: str) -> Problem:
        return Problem(shown(path), line_of(lines, at), key_text(at), text)

    if not job.boxes:
        raise BadInput([Problem(shown(job.path), None, "boxes", "the job has no box")])
    name = asked.box if asked.box is not None else next(iter(job.boxes))
    if name not in job.boxes:
        raise BadInput([problem(("box",), unknown("box", name, job.boxes))])
    if not asked.vary and not asked.style:
        raise BadInput([problem((), 'varies nothing: give a table [vary] such as count = "1-6"')])
    problems: list[Problem] = []
    base = job.boxes[name]
    asks: dict[str, list[tuple[Any, Any]]] = {}
    for key, values in asked.vary.items():
        for value in values:
            whole = {"module": base.module, "count": base.count, key: value}
            try:
                made = read_as(BoxAsk, whole, file=path, lines=lines, units=job.asked.units.model_dump())
            except BadInput as bad:
                problems += [problem(("vary", key), p.message) for p in bad.problems]
                continue
            problems += [problem(("vary", key), text) for text in _unnamed(job, key, value)]
            asks.setdefault(key, []).append((value, getattr(made, key)))
    if problems:
        raise BadInput(dict.fromkeys(problems))
    found = Variants(job, name, asks, asked.style, {})
    if found.count > MOST:
        raise BadInput([problem(("vary",), f"makes {found.count:,} variants; at most {MOST:,}")])
    if asked.style:
        for style in dict.fromkeys(asked.vary.get("style", [base.style])):
            for places in product(*(range(len(values)) for values in asked.style.values())):
                changed = {key: values[at] for (key, values), at in zip(asked.style.items(), places, strict=True)}
                made_style, wrong = _changed(job.catalogue, style, changed)
                problems += [problem(("style",), text) for text in wrong]
                if made_style is not None:
                    found.made[style, places] = made_style
    if problems:
        raise BadInput(dict.fromkeys(problems))
    return found


def _unnamed(job: Job, key: str, value: object) -> Iterator[str]:
    """Yield a sentence for a name that neither the catalogue nor the job has."""
    if key == "fittings":
        for one in value if isinstance(value, list) else ():
            called = one.get("fitting") if isinstance(one, dict) else one
            if called not in job.catalogue.raw["fitting"]:
                yield unknown("fitting", str(called), job.catalogue.raw["fitting"])
    known: dict[str, Collection[str]] = {
        "module": job.catalogue.raw["module"],
        "style": job.catalogue.raw["style"],
        "bay": job.bays,
    }
    if key in known and value not in known[key]:
        yield unknown(key, str(value), known[key])


def _changed(catalogue: Catalogue, name: str, changed: dict[str, Any]) -> tuple[Style | None, list[str]]:
    """Return a style with some of its keys changed, and sentences for what it can't be."""
    raw = catalogue.raw["style"][name]
    data = copy.deepcopy(raw.data)
    for key, value in changed.items():
        table: Any = data
        *around, last = key.split(".")
        for part in around:
            table = table.get(part)
            if not isinstance(table, dict):
                return None, [f"{key}: a style has no such key"]
        table[last] = value
    try:
        made = read_as(Style, {"name": name, **data}, file=raw.file, lines={}, units=raw.units)
    except BadInput as bad:
        return None, [f"{p.key}: {p.message}" for p in bad.problems]
    return made, [f"{key}: {text}" for key, text in style_names(catalogue, made)]
