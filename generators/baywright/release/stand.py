"""What a job file or a release comes to: its pieces, what is bought, masses and the balance, read either way."""

import csv
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from baywright.job.messages import BadInput, Problem
from baywright.piece.bought import Bought
from baywright.piece.extrusion import Extrusion
from baywright.piece.numbering import Part, distinct
from baywright.piece.plate import Plate
from baywright.shape.loop import Loop, area

if TYPE_CHECKING:
    from baywright.release.rail_ends import RailEnds

_MADE_GROUPS = ("cut plates", "gasket", "liner", "extrusions")
# Figures of the finished car: by their key, what they are called and their unit.
BALANCE = {
    "mass": ("mass", "kg"),
    "front": ("front axle", "kg"),
    "rear": ("rear axle", "kg"),
    "front_share": ("front share", "%"),
    "x": ("centroid behind the front axle", "mm"),
    "y": ("centroid right of the middle", "mm"),
    "z": ("centroid above ground", "mm"),
}


@dataclass(frozen=True, eq=False, kw_only=True)
class MadePiece:
    """One made part as both kinds of source tell it.

    Attributes:
        number: its part number.
        what: its role.
        material: its material.
        size: as a cut list says it.
        quantity: how many.
        mass: kg each.
        views: by the side's name, its outline and then its holes, mm.
    """

    number: str
    what: str
    material: str
    size: str
    quantity: int
    mass: float
    views: Mapping[str, tuple[Loop, ...]]


@dataclass(frozen=True, eq=False, kw_only=True)
class Stand:
    """What a job or release comes to.

    Attributes:
        name: the file or folder, as it was named.
        revision: its letter.
        made: made parts by number.
        bought: quantity and unit of what is bought, by group and name.
        masses: mass (kg) and centroid (mm) of each thing and of the job, by name.
        balance: the finished car, by the names of its figures; None where one is not known.
        rails: both ends of each set of rails, by name.
        sources: SHA-256 of every file behind it, by its path.
    """

    name: str
    revision: str
    made: Mapping[str, MadePiece]
    bought: Mapping[tuple[str, str], tuple[float, str]]
    masses: Mapping[str, tuple[float, tuple[float, float, float]]]
    balance: Mapping[str, float | None]
    rails: Mapping[str, "RailEnds"] = field(default_factory=dict)
    sources: Mapping[str, str] = field(default_factory=dict)


def read_stand(path: Path) -> Stand:
    """Return what a job file or a release's folder comes to.

    Raises:
        BadInput: if it is neither, or can't be read.
    """
    if path.is_dir():
        return _of_release(path)
    if path.suffix == ".toml":
        return _of_job(path)
    why = "name a job file (.toml) or a release's folder" if path.exists() else "there is no such file or folder"
    raise BadInput([Problem(str(path), None, "", why)])


def _of_job(path: Path) -> Stand:
    from baywright.design import design_job
    from baywright.job.read import read_job
    from baywright.release.rail_ends import ends_of
    from baywright.release.sources import sources
    from baywright.review import review_job

    reviewed = review_job(design_job(read_job(path)))
    made, after = reviewed.design, reviewed.balance.after
    assemblies = [box.assembly for box in made.boxes.values()]
    assemblies += [adapter.assembly for adapter in made.adapters.values()]
    assemblies += [rails.assembly for rails in made.rails.values()]
    parts = [part for assembly in assemblies for part in distinct(assembly)]
    bought: dict[tuple[str, str], tuple[float, str]] = {}
    for part in parts:
        if isinstance(part.piece, Bought):
            key = (part.piece.group, part.piece.name)
            bought[key] = (bought.get(key, (0.0, ""))[0] + part.quantity, "pcs")
    masses = {
        name: (body.mass, (float(body.centroid[0]), float(body.centroid[1]), float(body.centroid[2])))
        for name, body in made.carried
    }
    return Stand(
        name=str(path),
        revision=made.job.asked.job.revision,
        made={part.number: _made(part) for part in parts if part.made},
        bought=bought,
        masses=masses,
        balance={key: getattr(after, key) for key in BALANCE},
        rails={name: ends_of(rails) for name, rails in made.rails.items()},
        sources=sources(made.job),
    )


def _made(part: Part) -> MadePiece:
    piece = part.piece
    assert not isinstance(piece, Bought)
    return MadePiece(
        number=part.number,
        what=piece.role,
        material=piece.material,
        size=piece.size_text(),
        quantity=part.quantity,
        mass=piece.mass_properties().mass,
        views=_views(piece),
    )


def _views(piece: Plate | Extrusion) -> dict[str, tuple[Loop, ...]]:
    if isinstance(piece, Plate):
        return {"": (piece.outline, *(hole.loop for hole in piece.holes))}
    from baywright.piece.numbering import slug
    from baywright.release.drilling import drilled_faces
    from baywright.shape.loop import rectangle

    return {
        slug(name): (rectangle(0, 0, face.width, face.height), *(hole.loop for hole in holes))
        for name, face, holes in drilled_faces(piece)
    }


def _of_release(folder: Path) -> Stand:
    from baywright.release.manifest import listed_files
    from baywright.release.rail_ends import CRADLE, read_ends

    try:
        listed_files(folder)
        review = json.loads((folder / "review.json").read_text(encoding="utf-8"))
        masses = json.loads((folder / "mass.json").read_text(encoding="utf-8"))
        head = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
        made: dict[str, MadePiece] = {}
        bought: dict[tuple[str, str], tuple[float, str]] = {}
        for bill in sorted(folder.glob("*/bom.csv")):
            _read_bill(bill, made, bought)
        after = dict(review["balance"]["after"])
        if after.get("mass"):
            after["front_share"] = 100.0 * after["front"] / after["mass"]
        return Stand(
            name=str(folder),
            revision=str(head["revision"]),
            made=made,
            bought=bought,
            masses={line["number"]: (line["mass"], tuple(line["centroid"])) for line in masses["lines"]},
            balance={key: after.get(key) for key in BALANCE},
            rails={path.parent.name: read_ends(path.parent) for path in sorted(folder.glob(f"*/{CRADLE}"))},
            sources={str(name): str(digest) for name, digest in dict(head.get("made from", {})).items()},
        )
    except ValueError as wrong:
        raise BadInput([Problem(str(folder), None, "", f"is no release that can be read: {wrong}")]) from None
    except (OSError, KeyError, TypeError) as wrong:
        text = f"is no whole release ({wrong}): build it again, or name its job file"
        raise BadInput([Problem(str(folder), None, "", text)]) from None


def _read_bill(bill: Path, made: dict[str, MadePiece], bought: dict[tuple[str, str], tuple[float, str]]) -> None:
    """Add a bill's lines to what is made and what is bought."""
    with bill.open(encoding="utf-8", newline="") as text:
        rows = list(csv.DictReader(text))
    for row in rows:
        if row["group"] in _MADE_GROUPS:
            made[row["number"]] = MadePiece(
                number=row["number"],
                what=row["name"],
                material=row["material"],
                size=row["size"],
                quantity=round(float(row["quantity"])),
                mass=float(row["unit mass kg"]),
                views=_drawn(bill.parent, row["number"]),
            )
        elif row["unit mass kg"] and row["unit"] == "pcs":
            key = (row["group"], row["name"])
            bought[key] = (bought.get(key, (0.0, ""))[0] + float(row["quantity"]), row["unit"])


def _drawn(folder: Path, number: str) -> dict[str, tuple[Loop, ...]]:
    """Return a part's loops from its cut file or its drilling templates."""
    from baywright.release import sheet

    found = {}
    for path in sorted([*folder.glob(f"cut/{number}_*.dxf"), *folder.glob(f"drill/{number}_drill_*.dxf")]):
        view = path.stem.split("_drill_")[1].rsplit("_rev", 1)[0] if path.parent.name == "drill" else ""
        loops: list[tuple[str, Loop]] = []
        for entity in sheet.read(path).modelspace():
            loop = sheet.loop_of_entity(entity)
            if loop is not None:
                loops.append((entity.dxf.layer, loop))
        # The outline is the largest loop on any sheet; a template has it on its layer of notes.
        loops = [(layer, loop) for layer, loop in loops if layer != sheet.MARK]
        if loops:
            loops.sort(key=lambda one: -abs(area(one[1])))
            found[view] = tuple(loop for _, loop in loops)
    return found
