"""A set of rails' own sheets: the setting-out drawing, drilling templates unrolled, and a picture."""

from pathlib import Path

from baywright.rail.design import RailDesign


def write_rail_sheets(design: RailDesign, folder: Path, title: str, revision: str) -> None:
    """Write a set of rails' drawing, templates and picture into its folder."""
    from baywright.rail.setting_out import write_setting_out
    from baywright.rail.unrolled import write_templates
    from baywright.release.picture import write_picture

    write_setting_out(design, folder, revision)
    write_templates(design, folder, revision)
    write_picture(design.assembly, folder / "picture.png", title=title)
