"""Scans as files: every kind read alike, and every kind of damage answered by a sentence, without much memory."""

import gzip
import struct
import tracemalloc
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from baywright.bay.scan_file import MOST, read_mesh
from baywright.job.messages import BadInput

trimesh = pytest.importorskip("trimesh")

BOX = trimesh.creation.box((600, 400, 300))


def written(folder: Path, name: str) -> Path:
    path = folder / name
    kind = name.split(".")[1]
    if kind == "xyz":
        path.write_text("".join(f"{x} {y} {z}\n" for x, y, z in BOX.vertices.tolist()))
    else:
        path.write_bytes(
            b"".join([part if isinstance(part, bytes) else part.encode() for part in [BOX.export(file_type=kind)]])
        )
    return path


@pytest.mark.parametrize("name", ["a.stl", "a.stl_ascii", "a.ply", "a.obj", "a.glb", "a.xyz"])
def test_every_kind_gives_the_same_box(tmp_path, name):
    path = written(tmp_path, name)
    if name.endswith("_ascii"):
        path = path.rename(tmp_path / "b.stl")
    vertices, faces, lost = read_mesh(path)
    assert np.ptp(vertices, axis=0).tolist() == pytest.approx([600, 400, 300])
    assert lost == 0
    if name == "a.xyz":
        assert faces is None
    else:
        assert faces is not None
        corner = vertices[faces]
        area = np.linalg.norm(np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]), axis=1).sum() / 2
        assert area == pytest.approx(BOX.area)
    packed = tmp_path / (path.name + ".gz")
    packed.write_bytes(gzip.compress(path.read_bytes()))
    assert np.array_equal(read_mesh(packed)[0], vertices)


def test_ply_as_text_and_the_other_way_round(tmp_path):
    text = "ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\nproperty float z\n"
    text += "element face 1\nproperty list uchar int vertex_indices\nend_header\n0 0 0\n100 0 0\n0 50 0\n3 0 1 2\n"
    (tmp_path / "t.ply").write_text(text)
    vertices, faces, _ = read_mesh(tmp_path / "t.ply")
    assert vertices.tolist() == [[0, 0, 0], [100, 0, 0], [0, 50, 0]]
    assert faces.tolist() == [[0, 1, 2]]
    head = text.split("0 0 0")[0].replace("ascii", "binary_big_endian").encode()
    (tmp_path / "b.ply").write_bytes(
        head + np.array(vertices, dtype=">f4").tobytes() + b"\x03" + np.array([0, 1, 2], dtype=">i4").tobytes()
    )
    assert read_mesh(tmp_path / "b.ply")[0].tolist() == vertices.tolist()


HEAD = (
    b"ply\nformat binary_little_endian 1.0\nelement vertex %d\nproperty float x\nproperty float y\nproperty float z\n"
)
FACES = b"element face %d\nproperty list uchar int vertex_indices\n"
HOSTILE = {
    "empty.stl": b"",
    "zeros.stl": bytes(84),
    "short.stl": bytes(80) + struct.pack("<I", 1000) + bytes(500),
    "lie.stl": bytes(80) + struct.pack("<I", 4_000_000_000) + bytes(50),
    "many.stl": b"",
    "text.stl": b"solid nothing\nendsolid nothing\n",
    "cut.stl": b"solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0\n",
    "noise.stl": bytes(range(256)) * 20,
    "lie.ply": HEAD % 3 + FACES % 4_000_000_000 + b"end_header\n" + bytes(100),
    "huge.ply": HEAD % 900_000_000_000 + b"end_header\n" + bytes(100),
    "minus.ply": b"ply\nformat ascii 1.0\nelement vertex -5\nproperty float x\nend_header\n",
    "none.ply": HEAD % 0 + FACES % 0 + b"end_header\n",
    "noend.ply": HEAD % 3,
    "bare.ply": b"ply\nend_header\n",
    "nokind.ply": b"ply\nelement vertex 1\nproperty blob x\nend_header\n0",
    "wrong.ply": HEAD % 3 + FACES % 1 + b"end_header\n" + bytes(36) + b"\x03" + struct.pack("<3i", 0, 1, 99),
    "nan.ply": HEAD % 3 + b"end_header\n" + np.full(9, np.nan, dtype="<f4").tobytes(),
    "words.xyz": b"1 2 3\n4 five 6\n",
    "two.xyz": b"1 2\n3 4\n",
    "empty.xyz": b"# nothing\n\n",
    "binary.xyz": bytes(1000),
    "empty.obj": b"# nothing\n",
    "face.obj": b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 9\n",
    "bad.glb": b"glTF" + bytes(30),
    "deep.glb": b"",
    "many.glb": b"",
    "cut.ply.gz": gzip.compress(HEAD % 3)[:-9],
    "no.ply.gz": b"not packed",
    "odd.step": b"ISO-10303-21;",
}


def glb(tree: str) -> bytes:
    body = tree.encode() + b" " * (-len(tree) % 4)
    return struct.pack("<4sII", b"glTF", 2, 20 + len(body)) + struct.pack("<I4s", len(body), b"JSON") + body


HOSTILE["deep.glb"] = glb("[" * 90_000)
HOSTILE["many.glb"] = glb(
    '{"accessors":[{"count":3000000000,"componentType":5126,"type":"VEC3"}],'
    '"meshes":[{"primitives":[{"attributes":{"POSITION":0}}]}],"nodes":[{"mesh":0}]}'
)
HOSTILE["many.stl"] = b"solid\n" + b"endfacet facet\n" * 10


@pytest.mark.parametrize("name", HOSTILE)
def test_damage_is_answered_by_a_sentence(tmp_path, name):
    path = tmp_path / name
    path.write_bytes(HOSTILE[name])
    tracemalloc.start()
    with pytest.raises(BadInput) as told:
        read_mesh(path)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    (problem,) = told.value.problems
    assert problem.message
    assert "Error" not in problem.message
    assert most < 100_000_000


def test_a_small_file_that_unpacks_to_gigabytes_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr("baywright.bay.scan_file._MOST_BYTES", 1_000_000)
    monkeypatch.setattr("baywright.bay.scan_file._LOT", 100_000)
    (tmp_path / "bomb.xyz.gz").write_bytes(gzip.compress(b"0 0 0\n" * 1_000_000))
    with pytest.raises(BadInput, match="unpacked"):
        read_mesh(tmp_path / "bomb.xyz.gz")


def test_more_than_the_most_is_refused_before_it_is_read(tmp_path):
    (tmp_path / "big.ply").write_bytes(HEAD % (MOST + 1) + b"end_header\n" + bytes(12 * 10))
    with pytest.raises(BadInput, match="at most 5,000,000"):
        read_mesh(tmp_path / "big.ply")


def test_a_few_points_that_are_no_numbers_are_left_out(tmp_path):
    points = np.zeros((50, 3), dtype="<f4")
    points[:, 0] = np.arange(50)
    points[7] = np.nan
    (tmp_path / "a.ply").write_bytes(HEAD % 50 + b"end_header\n" + points.tobytes())
    vertices, faces, lost = read_mesh(tmp_path / "a.ply")
    assert faces is None
    assert (len(vertices), lost) == (49, 1)


def test_points_with_headings_commas_and_colours(tmp_path):
    (tmp_path / "a.csv").write_text("x,y,z,r,g,b\n1,2,3,9,9,9\n4;5;6;9;9;9\n")
    assert read_mesh(tmp_path / "a.csv")[0].tolist() == [[1, 2, 3], [4, 5, 6]]
    (tmp_path / "b.xyz").write_text("2\n// said the scanner\n1 2 3\n4 5 6\n")
    assert read_mesh(tmp_path / "b.xyz")[0].tolist() == [[1, 2, 3], [4, 5, 6]]


@settings(max_examples=120, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(kind=st.sampled_from(["stl", "ply", "obj", "glb", "xyz"]), data=st.data())
def test_any_cut_and_any_changed_byte_is_read_or_answered(tmp_path, kind, data):
    whole = written(tmp_path, f"f.{kind}").read_bytes()
    cut = data.draw(st.integers(0, len(whole)))
    spoiled = bytearray(whole[:cut])
    for _ in range(data.draw(st.integers(0, 4))):
        if spoiled:
            spoiled[data.draw(st.integers(0, len(spoiled) - 1))] = data.draw(st.integers(0, 255))
    path = tmp_path / f"g.{kind}"
    path.write_bytes(bytes(spoiled))
    try:
        vertices, faces, _ = read_mesh(path)
    except BadInput:
        return  # answered by a sentence: nothing else may be raised
    assert np.isfinite(vertices).all()
    assert faces is None or faces.max() < len(vertices)
