"""A set of rails' own sheets: setting-out drawing, unrolled drilling templates, picture, assumptions."""

from pathlib import Path

from baywright.rail.design import RailDesign


def write_rail_sheets(design: RailDesign, folder: Path, title: str, revision: str) -> None:
    """Write a set of rails' drawing, templates, picture and assumptions into its folder."""
    from baywright.rail.rules import assumptions
    from baywright.rail.setting_out import write_setting_out
    from baywright.rail.unrolled import write_templates
    from baywright.release.picture import write_picture

    write_setting_out(design, folder, revision)
    write_templates(design, folder, revision)
    write_picture(design.assembly, folder / "picture.png", title=title)
    told = "\n".join(f"- {one}" for one in assumptions(design))
    (folder / "ASSUMPTIONS.txt").write_text(
        f"What the strength figures rest on:\n{told}\n", encoding="utf-8", newline="\n"
    )
