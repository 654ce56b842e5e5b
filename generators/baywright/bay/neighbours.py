"""What else the job puts in a bay: other boxes; for motor and rails see `rail.rocking`."""

from collections.abc import Mapping

from baywright.bay.outside import outer_bodies
from baywright.bay.skin import Skin, of_bodies
from baywright.box.generate import BoxDesign


def boxes_beside(boxes: Mapping[str, BoxDesign], bay: str, but: str = "") -> tuple[Skin, ...]:
    """Return the skins of the boxes in a bay.

    Args:
        boxes: the job's, by name.
        bay: its name.
        but: the box that is asked about.
    """
    return tuple(
        of_bodies(outer_bodies(box), box.pose, name=f"box '{name}'")
        for name, box in boxes.items()
        if name != but and box.layout.ask.bay == bay
    )
