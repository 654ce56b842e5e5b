"""An adapter's own sheets: both circles over each other, clocking, depth stack, faces, hole tables, paper template."""

from pathlib import Path

from baywright.adapter.design import AdapterDesign


def write_adapter_sheets(design: AdapterDesign, folder: Path, title: str) -> None:
    """Write an adapter's pictures, hole tables and full-size paper template into its folder."""
    from baywright.adapter.pictures import clocking_picture, depth_picture, face_picture, overlay_picture
    from baywright.adapter.table import hole_table, write_hole_table
    from baywright.adapter.template import write_template
    from baywright.release.picture import write_picture

    write_picture(design.assembly, folder / "picture-exploded.png", explode=0.45, title=title)
    overlay_picture(design, folder / "both-circles.png")
    clocking_picture(design, folder / "clocking.png")
    depth_picture(design, folder / "depth-stack.png")
    write_template(design, folder / "paper-template.pdf")
    for at in design.plates:
        for side in ("motor", "gearbox"):
            stem = f"{at.mark.replace(' ', '-')}-seen-from-{side}"
            face_picture(design, at.mark, side, folder / f"{stem}.png")
            write_hole_table(hole_table(design, at.mark, side), folder / f"{stem}.csv", side)
