"""A set of rails' own sheets: setting-out drawing, unrolled templates, pictures, both ends' tables, assumptions."""

from pathlib import Path

from baywright.rail.design import RailDesign
from baywright.release.drawing.frame import Rules


def write_rail_sheets(design: RailDesign, folder: Path, job: str, revision: str, rules: Rules) -> None:
    """Write a set of rails' drawing, templates, pictures and assumptions into its folder.

    Args:
        design: the rails.
        folder: an existing folder.
        job: the job's title.
        revision: the release's letter.
        rules: how the workshop draws.
    """
    from baywright.piece.numbering import slug
    from baywright.rail.rules import assumptions
    from baywright.rail.unrolled import write_templates
    from baywright.release.drawing.paper import write_pdf
    from baywright.release.drawing.rails import rails_sheets
    from baywright.release.picture import write_picture
    from baywright.release.rail_ends import ends_of, write_ends

    title = f"{job}: rails {design.name}, revision {revision}"
    sheets = rails_sheets(design, job, revision, rules)
    write_pdf(sheets, folder / f"{design.name}_setting-out_rev{slug(revision)}.pdf", f"{title}: setting out")
    write_templates(design, folder, revision)
    write_ends(ends_of(design), folder)
    write_picture(design.assembly, folder / "picture.png", title=title)
    write_picture(design.assembly, folder / "picture-exploded.png", explode=0.45, title=title)
    told = "\n".join(f"- {one}" for one in assumptions(design))
    (folder / "ASSUMPTIONS.txt").write_text(
        f"What the strength figures rest on:\n{told}\n", encoding="utf-8", newline="\n"
    )
