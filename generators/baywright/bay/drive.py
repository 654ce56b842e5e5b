"""Adapter, motor and rails in a bay: their bodies where they stand, and the boxes beside them."""

from collections.abc import Mapping
from dataclasses import dataclass

from baywright.adapter.design import AdapterDesign
from baywright.bay.neighbours import boxes_beside
from baywright.bay.rails import inner_bodies
from baywright.bay.skin import Skin
from baywright.box.generate import BoxDesign
from baywright.piece.solid import Body
from baywright.rail.design import RailDesign
from baywright.shape.pose import Pose


@dataclass(frozen=True, eq=False)
class InBay:
    """What is looked at.

    Attributes:
        subject: what findings call it: "rails motor".
        bodies: (mark, body in its own frame).
        pose: where it stands in the vehicle's frame.
        beside: the skins of all boxes, whichever bay they stand in.
    """

    subject: str
    bodies: list[tuple[str, Body]]
    pose: Pose
    beside: tuple[Skin, ...]


def rails_in_bay(design: RailDesign, boxes: Mapping[str, BoxDesign]) -> InBay:
    """Return motor, bars and cleats of rails; hangers and mounts reach through a bay's walls and do not count."""
    return InBay(f"rails {design.name}", inner_bodies(design), design.pose, _every(boxes))


def adapter_in_bay(design: AdapterDesign, pose: Pose, boxes: Mapping[str, BoxDesign]) -> InBay:
    """Return an adapter's plates and rings where they stand; its bolts end in bell and motor, which do not count."""
    marks = {plate.mark for plate in design.plates}
    items = [item for item in design.assembly.placed if item.mark in marks]
    bodies = [(item.mark, body.moved(item.pose)) for item in items for body in item.piece.bodies()]
    return InBay(f"adapter {design.name}", bodies, pose, _every(boxes))


def _every(boxes: Mapping[str, BoxDesign]) -> tuple[Skin, ...]:
    bays = dict.fromkeys(box.layout.ask.bay for box in boxes.values())
    return tuple(skin for bay in bays if bay is not None for skin in boxes_beside(boxes, bay))
