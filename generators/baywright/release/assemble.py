"""One assembly's files: cut files, drilling templates, solids, lists and mass, each read back before it counts."""

from collections.abc import Callable
from pathlib import Path

from baywright.piece.assembly import Assembly
from baywright.piece.extrusion import Extrusion
from baywright.piece.numbering import Part, distinct, made_parts, slug
from baywright.piece.plate import Plate
from baywright.release.bom import SQUEEZE_OUT, bom, ledger, write_bom, write_mass
from baywright.release.drilling import drilled_faces, write_templates
from baywright.release.dxf import CutFileRules, write_cut_file
from baywright.release.sawing import SAW_CUT, write_cut_list
from baywright.release.selfcheck import Checked, check_drilling, self_check, write_checks
from baywright.release.verify import check_cut_file, check_template

Progress = Callable[[str, int, int], None]


def _silent(_text: str, _done: int, _total: int) -> None:
    return None


def release_assembly(
    assembly: Assembly,
    *,
    folder: Path,
    cutter: CutFileRules,
    revision: str,
    progress: Progress = _silent,
    squeeze_out: float = SQUEEZE_OUT,
    saw_cut: float = SAW_CUT,
    frame: str = "the assembly's own frame",
    solids: bool = True,
) -> list[Path]:
    """Write an assembly's files into `folder`/<name> and return their paths, every one read back and found right.

    Args:
        assembly: drilled.
        folder: an existing folder; the assembly gets one of its own in it.
        cutter: limits and wishes of the cutting shop.
        revision: the release's letter.
        progress: called with what is being written, how many steps are done, and how many there are.
        squeeze_out: adhesive to buy beyond what stays in the joints, as a share.
        saw_cut: mm lost to each cut of the saw.
        frame: the assembly's frame in words, for its mass file.
        solids: whether STEP files are wanted; without them no CAD kernel is loaded.

    Raises:
        ReleaseFault: if a file cannot be written, or does not agree with the design when read back.
    """
    name = slug(assembly.name)
    root = folder / name
    root.mkdir(exist_ok=True)
    parts = distinct(assembly)
    made = made_parts(parts)
    total = len(made) * (2 if solids else 1) + 1 + solids
    done = 0

    def step(text: str) -> None:
        nonlocal done
        progress(text, done, total)
        done += 1

    paths: list[Path] = []
    checks: list[Checked] = []
    drilled: list[Checked] = []
    for part in made:
        step(part.number)
        if isinstance(part.piece, Plate):
            path = write_cut_file(part, assembly, _inside(root, "cut"), cutter, revision)
            read = check_cut_file(path, part, cutter.layers)
            checks += self_check(path, read, part, cutter)
            paths.append(path)
        elif isinstance(part.piece, Extrusion) and part.piece.holes:
            written, read_back = _templates(part, _inside(root, "drill"), cutter, revision)
            paths += written
            drilled += read_back
    if checks:
        paths.append(write_checks(checks, root / "cut"))
    if drilled:
        paths.append(write_checks(drilled, root / "drill"))
    if solids:
        paths += _solids(assembly, parts, root, revision, step)
    step("lists")
    paths.append(write_bom(bom(assembly, parts, squeeze_out, saw_cut), root))
    paths += write_cut_list(parts, root, saw_cut)
    paths.append(write_mass(root / "mass.json", assembly.name, frame, ledger(assembly, parts)))
    progress("done", total, total)
    return paths


def _inside(root: Path, name: str) -> Path:
    folder = root / name
    folder.mkdir(exist_ok=True)
    return folder


def _templates(part: Part, folder: Path, cutter: CutFileRules, revision: str) -> tuple[list[Path], list[Checked]]:
    """Write and check an extrusion's drilling templates and return their paths and their reports."""
    assert isinstance(part.piece, Extrusion)
    paths, checks = write_templates(part, folder, cutter.dxf_version, revision), []
    for (face, _, _), path in zip(drilled_faces(part.piece), paths, strict=False):
        checks += check_drilling(path, check_template(path, part, face))
    return paths, checks


def _solids(
    assembly: Assembly, parts: list[Part], root: Path, revision: str, step: Callable[[str], None]
) -> list[Path]:
    """Write and check the STEP files; only now is the CAD kernel loaded."""
    from baywright.release import step as writer
    from baywright.release.verify_step import check_assembly_step, check_part_step

    paths = []
    products = {}
    for part in made_parts(parts):
        step(f"{part.number} solid")
        products[part.number] = writer.product(part)
        path = _inside(root, "solid") / writer.step_name(part, revision)
        writer.write_step(products[part.number], path)
        check_part_step(path, part)
        paths.append(path)
    step("assembly solid")
    path = root / f"{slug(assembly.name)}.step"
    writer.write_step(writer.assembly_product(assembly.name, parts, products), path)
    check_assembly_step(path, assembly.name, parts)
    return [*paths, path]
