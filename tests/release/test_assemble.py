"""One assembly's release: what is in it, that equal designs give equal bytes, and what a fault looks like."""

import os
import subprocess
import sys
import textwrap
from pathlib import Path

import numpy as np
import pytest

from baywright.release import assemble, sheet
from baywright.release.assemble import release_assembly
from baywright.release.fault import ReleaseFault
from baywright.release.manifest import NAME, files_of, write_manifest

HERE = Path(__file__).resolve().parent


def test_the_folder_holds_what_a_shop_needs(box, make_cutter, tmp_path):
    heard = []
    paths = release_assembly(
        box, folder=tmp_path, cutter=make_cutter(), revision="A", progress=lambda *step: heard.append(step)
    )
    there = files_of(tmp_path)
    assert sorted(p.relative_to(tmp_path).as_posix() for p in paths) == there
    assert {name.split("/")[1] for name in there} == {
        "cut", "drill", "solid", "front.step", "bom.csv", "cutlist.csv", "bars.csv", "mass.json",
    }  # fmt: skip
    assert sum(name.endswith(".dxf") and "/cut/" in name for name in there) == 6
    assert sum("/solid/" in name for name in there) == 10
    done, total = [d for _, d, _ in heard], heard[-1][2]
    assert done == list(range(total + 1))


def test_without_solids_no_kernel_is_loaded(tmp_path):
    script = f"""
        import importlib.util, sys
        spec = importlib.util.spec_from_file_location("shop", {str(HERE / "conftest.py")!r})
        shop = importlib.util.module_from_spec(spec); spec.loader.exec_module(shop)
        from baywright.job.catalogue import load_catalogue
        from pathlib import Path
        from baywright.release.assemble import release_assembly
        cutter = load_catalogue().cutter("laser-general")
        release_assembly(shop.small_box(), folder=Path({str(tmp_path)!r}), cutter=cutter, revision="A", solids=False)
        assert not any(name.split(".")[0] in ("OCP", "cadquery") for name in sys.modules)
    """
    subprocess.run([sys.executable, "-c", textwrap.dedent(script)], check=True)
    assert not list(tmp_path.rglob("*.step"))


def test_two_fresh_processes_write_the_same_bytes(tmp_path):
    script = f"""
        import importlib.util, sys
        spec = importlib.util.spec_from_file_location("shop", {str(HERE / "conftest.py")!r})
        shop = importlib.util.module_from_spec(spec); spec.loader.exec_module(shop)
        from baywright.job.catalogue import load_catalogue
        from pathlib import Path
        from baywright.release.assemble import release_assembly
        from baywright.release.manifest import write_manifest
        from baywright.release.picture import write_picture
        cutter = load_catalogue().cutter("laser-general")
        box, folder = shop.small_box(), Path(sys.argv[1])
        folder.mkdir()
        release_assembly(box, folder=folder, cutter=cutter, revision="A")
        write_picture(box, folder / "box.png", hide=("lid",), size=(300, 200))
        write_picture(box, folder / "box.svg", hide=("lid",), size=(300, 200))
        write_manifest(folder, "1" * 64, "A")
    """
    manifests = []
    for seed in ("1", "2"):
        target = tmp_path / f"run {seed}"
        subprocess.run(
            [sys.executable, "-c", textwrap.dedent(script), str(target)],
            check=True,
            env=os.environ | {"PYTHONHASHSEED": seed},
        )
        manifests.append((target / NAME).read_text())
    assert manifests[0] == manifests[1]
    assert "front.step" in manifests[0]


def test_again_in_one_process_gives_the_same_bytes(box, make_cutter, tmp_path):
    texts = []
    for name in ("a", "b"):
        folder = tmp_path / name
        folder.mkdir()
        release_assembly(box, folder=folder, cutter=make_cutter(), revision="A")
        texts.append(write_manifest(folder, "1" * 64, "A").read_text())
    assert texts[0] == texts[1]


def test_a_file_that_disagrees_stops_the_release(box, make_cutter, tmp_path, monkeypatch):
    """A writer that moves one hole by a tenth of a millimetre is caught on reading back."""
    add = sheet.add_loop
    moved = []

    def careless(doc, loop, layer):
        if layer == sheet.INNER_CUT and not moved:
            moved.append(True)
            loop = np.add(loop, (0.1, 0, 0))
        add(doc, loop, layer)

    monkeypatch.setattr(sheet, "add_loop", careless)
    with pytest.raises(ReleaseFault, match=r"front-long-wall-A.*holes are not where"):
        release_assembly(box, folder=tmp_path, cutter=make_cutter(), revision="A", solids=False)


@pytest.mark.parametrize(
    ("spoil", "sentence"),
    [
        (lambda doc: doc.header.__setitem__("$INSUNITS", 1), r"\$INSUNITS: 1 in the file, 4 in the design"),
        (lambda doc: doc.modelspace().add_line((0, 0), (9, 9), dxfattribs={"layer": "CUTS"}), "layer 'CUTS'"),
        (lambda doc: doc.modelspace().add_line((0, 0), (9, 9), dxfattribs={"layer": "INNER_CUT"}), "foreign LINE"),
        (lambda doc: doc.modelspace().query("LWPOLYLINE[layer=='OUTER_CUT']")[0].close(False), "foreign LWPOLY"),
        (lambda doc: doc.modelspace().query("CIRCLE")[0].destroy(), "number of holes: 11 in the file, 12"),
        (lambda doc: doc.modelspace().query("CIRCLE")[0].scale_uniform(1.0001), "not where"),
    ],
)  # fmt: skip
def test_every_kind_of_spoilt_cut_file_is_caught(box, make_cutter, tmp_path, spoil, sentence):
    import ezdxf

    from baywright.piece.numbering import distinct
    from baywright.release.dxf import write_cut_file
    from baywright.release.verify import check_cut_file

    part = next(p for p in distinct(box) if p.number == "front-end-wall-A")
    path = write_cut_file(part, box, tmp_path, make_cutter(), "A")
    check_cut_file(path, part, "by meaning")
    doc = ezdxf.readfile(path)
    spoil(doc)
    doc.saveas(path)
    with pytest.raises(ReleaseFault, match=sentence):
        check_cut_file(path, part, "by meaning")


def test_progress_may_be_left_out():
    assert assemble._silent("x", 0, 1) is None
