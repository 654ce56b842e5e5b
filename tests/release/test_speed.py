"""How long solids and STEP take, beside the plain way of drawing them. Times are printed, never judged.

The plain way is what a CadQuery beginner's guide shows: a box, `.hole()` at each place, one product for each panel in
an assembly, all saved to STEP.
"""

import time

import pytest

from baywright.piece.assembly import Assembly, Placed
from baywright.piece.numbering import distinct
from baywright.piece.plate import Plate
from baywright.piece.solid import Hole
from baywright.shape.loop import circle, rectangle
from baywright.shape.pose import shifted

cq = pytest.importorskip("cadquery")

PANELS, HOLES, WIDE, TALL, THICK = 12, 40, 600.0, 300.0, 3.0


def centres(kind: int) -> list[tuple[float, float]]:
    """Return the hole centres of one of six panels: forty, in two rows along each long edge."""
    return [(15.0 + 30.0 * i + kind, y) for i in range(HOLES // 2) for y in (15.0, TALL - 15.0)]


def panel_set() -> Assembly:
    """Return twelve panels: six designs, each used twice."""
    placed = []
    for index in range(PANELS):
        kind = index % (PANELS // 2)
        holes = tuple(Hole(face="top", loop=circle(x, y, 5.5), depth=THICK, use="clearance") for x, y in centres(kind))
        panel = Plate(
            role="panel",
            outline=rectangle(0, 0, WIDE, TALL),
            holes=holes,
            thickness=THICK,
            material="5754-H22",
            density=2660.0,
        )
        placed.append(Placed(f"panel {index + 1}", panel, shifted(z=20.0 * index)))
    return Assembly(name="set", placed=tuple(placed))


def our_way(folder):
    from baywright.release.step import assembly_product, write_step

    assembly = panel_set()
    return write_step(assembly_product(assembly.name, distinct(assembly)), folder / "ours.step")


def plain_way(folder):
    whole = cq.Assembly(name="set")
    for index in range(PANELS):
        at = [(x - WIDE / 2, y - TALL / 2) for x, y in centres(index % (PANELS // 2))]
        panel = cq.Workplane("XY").box(WIDE, TALL, THICK).faces(">Z").workplane().pushPoints(at).hole(5.5)
        whole.add(panel, name=f"panel {index + 1}", loc=cq.Location((0, 0, 20.0 * index)))
    path = folder / "plain.step"
    whole.export(str(path))
    return path


def timed(work, folder, rounds):
    """Return the best of some runs in seconds, and the file."""
    best, path = float("inf"), None
    for _ in range(rounds):
        start = time.perf_counter()
        path = work(folder)
        best = min(best, time.perf_counter() - start)
    return best, path


def test_solids_and_step_beside_the_plain_way(tmp_path, capsys):
    from baywright.release.verify_step import read_step

    ours, our_file = timed(our_way, tmp_path, 3)
    plain, plain_file = timed(plain_way, tmp_path, 2)
    read = read_step(our_file)
    # Six shapes in twelve places, each panel whole: what is quick must also be right.
    area = WIDE * TALL - HOLES * 3.141592653589793 / 4 * 5.5**2
    assert len(read.bodies) == PANELS // 2
    assert len(read.places) == PANELS
    assert all(body.volume == pytest.approx(area * THICK, rel=1e-9) for body in read.bodies.values())
    with capsys.disabled():
        print(
            f"\nsolids + STEP of {PANELS} panels with {HOLES} holes: {ours * 1e3:.0f} ms, the plain way"
            f" {plain * 1e3:.0f} ms: {plain / ours:.1f} times;"
            f" files {our_file.stat().st_size / 1024:.0f} and {plain_file.stat().st_size / 1024:.0f} KiB"
        )


@pytest.mark.parametrize("work", [our_way, plain_way])
def test_speed_of_solids_and_step(benchmark, tmp_path, work):
    benchmark.pedantic(work, args=(tmp_path,), rounds=2, iterations=1, warmup_rounds=0)


def test_speed_of_a_whole_release(benchmark, box, make_cutter, tmp_path):
    from baywright.release.assemble import release_assembly

    count = iter(range(100))

    def fresh():
        folder = tmp_path / str(next(count))
        folder.mkdir()
        return (), {"folder": folder}

    def work(folder):
        return release_assembly(box, folder=folder, cutter=make_cutter(), revision="A")

    benchmark.pedantic(work, setup=fresh, rounds=2, iterations=1)


def test_speed_of_numbering(benchmark, box):
    benchmark(distinct, box)
