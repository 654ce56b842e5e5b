"""STEP files as text: what is in one, counted without a CAD kernel, and the colours that are added to one.

The kernel writes colours in the order of its memory addresses, so that no two files are alike; here they are written
in the order of the bodies.
"""

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

# The few kinds of entity that say which product has which solids and stands where; a file is mostly points and curves.
_STRUCTURE = re.compile(
    r"^#(\d+)\s*=\s*((?:PRODUCT|NEXT_ASSEMBLY|SHAPE_DEF|SHAPE_REPRESENTATION|ADVANCED_BREP|MANIFOLD)[A-Z_]*\("
    r"(?:'(?:[^']|'')*'|[^';])*);",
    re.MULTILINE,
)
_NUMBERED = re.compile(r"^#(\d+)\s*=", re.MULTILINE)
_STATEMENT_OF_OCCURRENCE = re.compile(
    r"^#(\d+)\s*=\s*(NEXT_ASSEMBLY_USAGE_OCCURRENCE\((?:'(?:[^']|'')*'|[^';])*);", re.MULTILINE
)
_NUMBER = re.compile(r"^(NEXT_ASSEMBLY_USAGE_OCCURRENCE\(')(?:[^']|'')*(')")
_BREAK = re.compile(r"\n *")
_BEYOND = re.compile(r"[^\x00-\x7f]+")
_REFERENCE = re.compile(r"#(\d+)")
_STRING = re.compile(r"'((?:[^']|'')*)'")
_WIDE = re.compile(r"\\X2\\((?:[0-9A-F]{4})+)\\X0\\")

Colour = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class StepCount:
    """What a STEP file holds.

    Attributes:
        products: names in the order of the file.
        occurrences: how often each product stands in an assembly, by name.
        solids: how many solids each product has, by name; 0 for an assembly.
        places: occurrence names in the order of the file.
    """

    products: tuple[str, ...]
    occurrences: Mapping[str, int]
    solids: Mapping[str, int]
    places: tuple[str, ...]


def _structure(text: str) -> dict[int, str]:
    """Return the entities that tell products, solids and occurrences, by number."""
    return {int(number): _joined(body) for number, body in _STRUCTURE.findall(text)}


def tidied(text: str) -> str:
    """Return a STEP file's text as plain ASCII, its occurrences numbered from 1 and each on one line.

    The kernel numbers occurrences from where its last file of this process ended, breaks lines by their width, and
    writes letters beyond ASCII as UTF-8, which the format does not allow.
    """
    number = iter(range(1, 1 << 30))

    def numbered(found: re.Match[str]) -> str:
        body = _joined(found[2])
        return f"#{found[1]} = {_NUMBER.sub(lambda m: f'{m[1]}{next(number)}{m[2]}', body)};"

    text = _STATEMENT_OF_OCCURRENCE.sub(numbered, text)
    return _BEYOND.sub(lambda m: f"\\X2\\{m[0].encode('utf-16-be').hex().upper()}\\X0\\", text)


def _joined(body: str) -> str:
    """Return an entity's text on one line; a break within a string is the writer's, not the string's."""
    return _BREAK.sub("", body)


def _type(body: str) -> str:
    return body.split("(", 1)[0].strip()


def _references(body: str) -> list[int]:
    return [int(n) for n in _REFERENCE.findall(_STRING.sub("''", body))]


def strings(body: str) -> list[str]:
    """Return an entity's strings, decoded."""
    found = [s.replace("''", "'") for s in _STRING.findall(body)]
    return [
        _WIDE.sub(lambda m: bytes.fromhex(m[1]).decode("utf-16-be"), s).replace("\\\\", "\\") if "\\" in s else s
        for s in found
    ]


def count(text: str) -> StepCount:
    """Return what a STEP file holds, read as plain text."""
    entities = _structure(text)
    bodies = _solids_of_products(entities)
    definition = _product_of_definition(entities)
    name = {number: strings(body)[0] for number, body in entities.items() if _type(body) == "PRODUCT"}
    used: Counter[str] = Counter()
    places = []
    for body in entities.values():
        if _type(body) == "NEXT_ASSEMBLY_USAGE_OCCURRENCE":
            used[name[definition[_references(body)[1]]]] += 1
            places.append(strings(body)[1])
    return StepCount(
        products=tuple(name.values()),
        occurrences=dict(used),
        solids={name[product]: len(bodies.get(product, (0, []))[1]) for product in name},
        places=tuple(places),
    )


def _product_of_definition(entities: Mapping[int, str]) -> dict[int, int]:
    """Return the product that each product definition belongs to."""
    formation = {
        n: _references(body)[0]
        for n, body in entities.items()
        if _type(body).startswith("PRODUCT_DEFINITION_FORMATION")
    }
    return {n: formation[_references(body)[0]] for n, body in entities.items() if _type(body) == "PRODUCT_DEFINITION"}


def _solids_of_products(entities: Mapping[int, str]) -> dict[int, tuple[int, list[int]]]:
    """Return, for each product with solids, their unit context and their numbers."""
    definition = _product_of_definition(entities)
    found = {}
    for body in entities.values():
        if _type(body) != "SHAPE_DEFINITION_REPRESENTATION":
            continue
        shape, representation = _references(body)
        references = _references(entities[representation])
        solids = [n for n in references[:-1] if _type(entities.get(n, "")) == "MANIFOLD_SOLID_BREP"]
        owner = _references(entities[shape])[0]
        if solids and owner in definition:
            found[definition[owner]] = (references[-1], solids)
    return found


def coloured(text: str, colours: Mapping[str, Colour]) -> str:
    """Return a STEP file's text with a colour on every solid of the products named.

    Args:
        text: the file, without colours.
        colours: red, green, blue from 0 to 1 by product name.
    """
    entities = _structure(text)
    bodies = _solids_of_products(entities)
    following = iter(range(max(map(int, _NUMBERED.findall(text))) + 1, 1 << 62))
    lines: list[str] = []
    styles: dict[Colour, int] = {}

    def add(body: str) -> int:
        number = next(following)
        lines.append(f"#{number} = {body};")
        return number

    for product, (context, solids) in sorted(bodies.items()):
        colour = colours.get(strings(entities[product])[0])
        if colour is None:
            continue
        if colour not in styles:
            rgb = add(f"COLOUR_RGB('',{','.join(repr(float(c)) for c in colour)})")
            tint = add(f"FILL_AREA_STYLE_COLOUR('',#{rgb})")
            fill = add(f"FILL_AREA_STYLE('',(#{tint}))")
            area = add(f"SURFACE_STYLE_FILL_AREA(#{fill})")
            side = add(f"SURFACE_SIDE_STYLE('',(#{area}))")
            usage = add(f"SURFACE_STYLE_USAGE(.BOTH.,#{side})")
            styles[colour] = add(f"PRESENTATION_STYLE_ASSIGNMENT((#{usage}))")
        items = [add(f"STYLED_ITEM('color',(#{styles[colour]}),#{solid})") for solid in solids]
        listed = ",".join(f"#{item}" for item in items)
        add(f"MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION('',({listed}),#{context})")
    end = text.rindex("ENDSEC;")
    return text[:end] + "".join(f"{line}\n" for line in lines) + text[end:]
