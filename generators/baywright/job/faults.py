"""What a model refuses, said in a workshop's words: which key, what was found, what was expected."""

import re
import types
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, TypeVar, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError

from baywright.job.messages import BadInput, Problem, nearest, shown
from baywright.job.toml import Path_, key_text, line_of
from baywright.job.units import told_value

M = TypeVar("M", bound=BaseModel)

# pydantic's kinds of error that only say "wrong type", by what was expected.
_EXPECTED = {
    "int_type": "a whole number",
    "int_parsing": "a whole number",
    "int_from_float": "a whole number",
    "finite_number": "a number",
    "float_type": "a number",
    "float_parsing": "a number",
    "bool_type": "true or false",
    "bool_parsing": "true or false",
    "string_type": "text in quotes",
    "list_type": "a list in [ ]",
    "tuple_type": "a list in [ ]",
    "dict_type": "a table",
    "model_type": "a table",
    "model_attributes_type": "a table",
}

# What pydantic itself puts into a place, to name a branch of a union or a function: "list[int]", "function-after[…]".
_TAG = re.compile(r"^(function-|lax-|json-|[a-z]+\[)")

_LIMITS = {
    "greater_than": ("more than", "gt"),
    "greater_than_equal": ("at least", "ge"),
    "less_than": ("less than", "lt"),
    "less_than_equal": ("at most", "le"),
}


def read_as(
    model: type[M],
    data: Any,
    *,
    file: Path,
    lines: Mapping[Path_, int],
    at: Path_ = (),
    units: Mapping[str, str] | None = None,
) -> M:
    """Return `data` as a model.

    Args:
        model: the pydantic model.
        data: what the file says.
        file: the file, for messages.
        lines: the line of each key path.
        at: the key path of `data` in the file.
        units: the units that the file declares.

    Raises:
        BadInput: with every problem found.
    """
    try:
        return model.model_validate(data, context={"units": dict(units or {})})
    except ValidationError as error:
        raise BadInput(problems_of(error, model, file=file, lines=lines, at=at)) from None


def problems_of(
    error: ValidationError, model: type[BaseModel], *, file: Path, lines: Mapping[Path_, int], at: Path_ = ()
) -> list[Problem]:
    """Return each of pydantic's errors as a problem with file, line, key and one sentence."""
    found = []
    for one in error.errors(include_url=False):
        # The key that nothing knows is the file's, whatever it looks like.
        stays = 1 if one["type"] == "extra_forbidden" else 0
        last = len(one["loc"]) - stays
        loc = tuple(part for number, part in enumerate(one["loc"]) if number >= last or not _is_tag(part))
        path = (*at, *loc)
        found.append(Problem(shown(file), line_of(dict(lines), path), key_text(path), _sentence(one, model, loc)))
    return list(dict.fromkeys(found))


def _is_tag(part: object) -> bool:
    """Tell whether pydantic added this part of a place itself."""
    return isinstance(part, str) and _TAG.match(part) is not None


def _sentence(one: Any, model: type[BaseModel], loc: Path_) -> str:
    kind, value = one["type"], one.get("input")
    told = told_value(value)
    if kind == "extra_forbidden":
        known = _known(model, loc[:-1])
        near = nearest(str(loc[-1]), known)
        return "unknown key" + (f"; did you mean '{near}'?" if near else f"; known here: {', '.join(sorted(known))}")
    if kind == "missing":
        if isinstance(loc[-1], int):
            return f"is needed: {loc[-1]} {'entry stands' if loc[-1] == 1 else 'entries stand'} there, it takes more"
        hint = _hint(model, loc)
        return "is needed" + (f": {hint}" if hint else "")
    if kind == "value_error":
        return str(one["msg"]).removeprefix("Value error, ")
    if kind == "literal_error":
        names = str(one["ctx"]["expected"]).replace(" or ", ", ").replace("'", "").split(", ")
        near = nearest(str(value), names)
        return f"{told} is none of {', '.join(names)}" + (f"; did you mean '{near}'?" if near else "")
    if kind in _EXPECTED:
        return f"expected {_EXPECTED[kind]}, got {told}"
    if kind in _LIMITS:
        words, limit = _LIMITS[kind]
        return f"must be {words} {one['ctx'][limit]:g}, got {told}"
    if kind in ("too_short", "too_long"):
        wanted = (
            f"at least {one['ctx']['min_length']}" if kind == "too_short" else f"at most {one['ctx']['max_length']}"
        )
        return f"needs {wanted} entries, got {one['ctx']['actual_length']}"
    if kind == "string_pattern_mismatch":
        hint = _hint(model, loc)
        return f"{told} can't be used" + (f": {hint}" if hint else "")
    message = (
        str(one["msg"]).replace("Input should", "must").replace("Tuple should", "must").replace("List should", "must")
    )
    return f"{message[:1].lower()}{message[1:]}, got {told}"


def _known(model: type[BaseModel], loc: Path_) -> list[str]:
    """Return the keys that a table at `loc` of a model may have."""
    inner = _model_at(model, loc)
    return list(inner.model_fields) if inner is not None else []


def _hint(model: type[BaseModel], loc: Path_) -> str:
    """Return what is said of the field at `loc`: its description, or its line among its model's attributes."""
    inner = _model_at(model, loc[:-1])
    field = inner.model_fields.get(str(loc[-1])) if inner is not None else None
    if inner is None or field is None:
        return ""
    return field.description or _attribute(inner, str(loc[-1]))


def _attribute(model: type[BaseModel], name: str) -> str:
    """Return what a model's docstring, or that of one it is made from, says of an attribute; "" if nothing."""
    for one in model.__mro__:
        found = re.search(
            rf"^ +(?:\w+, )*{re.escape(name)}(?:, \w+)*: (.+(?:\n {{12,}}\S.*)*)", one.__doc__ or "", re.MULTILINE
        )
        if found:
            return " ".join(found.group(1).split()).removesuffix(".").removesuffix(", or")
    return ""


def _model_at(model: type[BaseModel] | None, loc: Path_) -> type[BaseModel] | None:
    here: Any = model
    for part in loc:
        here = _plain(here)
        if isinstance(here, type) and issubclass(here, BaseModel):
            field = here.model_fields.get(str(part))
            here = field.annotation if field is not None else None
            continue
        args = [a for a in get_args(here) if a is not type(None)]
        here = args[-1] if args else None
    return _first_model(here)


def _plain(hint: Any) -> Any:
    """Return a type hint without Annotated and without None."""
    while get_origin(hint) is Annotated:
        hint = get_args(hint)[0]
    if get_origin(hint) in (Union, types.UnionType):
        rest = [a for a in get_args(hint) if a is not type(None)]
        return _plain(rest[0]) if len(rest) == 1 else hint
    return hint


def _first_model(hint: Any) -> type[BaseModel] | None:
    hint = _plain(hint)
    return hint if isinstance(hint, type) and issubclass(hint, BaseModel) else None
