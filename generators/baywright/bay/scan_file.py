"""Meshes and point clouds from their files, whatever is in them: a file that can't be used gets a sentence.

What a file claims about itself (counts, sizes) is held against its length before anything is read, so that a lie costs
no memory. The reading itself is the mesh library's; points as text are read here.
"""

import gzip
import io
import json
import re
import struct
from collections.abc import Iterator
from itertools import chain
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from baywright.job.messages import BadInput, Problem, shown

Array = NDArray[np.float64]
Index = NDArray[np.int64]

MOST = 5_000_000  # triangles or points
_MOST_BYTES = 700_000_000  # five million triangles need 250 MB as STL, 500 MB as PLY with normals and colours
_MOST_TEXT = 300_000_000
_LOT = 16_000_000
_MANY = "cut the scan down to the bay, or thin it out, in the scanner's own program"
SUFFIXES = (".stl", ".ply", ".obj", ".glb", ".xyz", ".txt", ".csv")
_KINDS = {
    "char": "i1", "uchar": "u1", "int8": "i1", "uint8": "u1", "short": "i2", "ushort": "u2", "int16": "i2",
    "uint16": "u2", "int": "i4", "uint": "u4", "int32": "i4", "uint32": "u4", "float": "f4", "float32": "f4",
    "double": "f8", "float64": "f8",
}  # fmt: skip
_SIZES = {name: int(kind[1]) for name, kind in _KINDS.items()}


class _Unfit(Exception):
    """A file that can't be used; its text is the sentence."""


def read_mesh(path: Path) -> tuple[Array, Index | None, int]:
    """Return vertices (v, 3) in the file's units, faces (m, 3) or None for a cloud, and how many parts were left out.

    Left out are points that are no numbers, and triangles with such a corner: up to a tenth of all.

    Raises:
        BadInput: with a sentence, if the file can't be used.
    """
    try:
        kind, data = _bytes(path)
        vertices, faces = _points(data) if kind in (".xyz", ".txt", ".csv") else _by_library(kind, data)
        return _checked(vertices, faces)
    except _Unfit as why:
        raise BadInput([Problem(shown(path), None, "", str(why))]) from None
    except MemoryError:
        raise BadInput([Problem(shown(path), None, "", f"needs more memory than there is: {_MANY}")]) from None
    except OSError as error:
        reason = error.strerror or "it is damaged"
        raise BadInput([Problem(shown(path), None, "", f"can't be read: {reason}")]) from None


def _bytes(path: Path) -> tuple[str, bytes]:
    """Return the kind of a file, by its suffix, and its content, unpacked but never beyond the most allowed."""
    if path.is_dir():
        raise _Unfit("is a folder; name the scan's file inside it")
    packed = path.suffix.lower() == ".gz"
    kind = Path(path.stem).suffix.lower() if packed else path.suffix.lower()
    if kind not in SUFFIXES:
        known = ", ".join(s[1:].upper() for s in SUFFIXES[:5])
        raise _Unfit(f"'{kind or path.name}' is no kind of scan known here; export it as {known}")
    if path.stat().st_size > _MOST_BYTES:
        raise _Unfit(f"is over {_MOST_BYTES // 1_000_000} MB: {_MANY}")
    if not packed:
        return kind, path.read_bytes()
    try:
        lots: list[bytes] = []
        with gzip.open(path) as file:  # by lots: asked for all at once it would set the most allowed aside
            while (lot := file.read(_LOT)) and len(lots) * _LOT <= _MOST_BYTES:
                lots.append(lot)
        data = b"".join(lots)
    except (EOFError, gzip.BadGzipFile, OSError, ValueError) as error:
        raise _Unfit(f"can't be unpacked ({error}); copy or export it again") from None
    except Exception as error:  # zlib's own error has no public base class but Exception
        raise _Unfit(f"can't be unpacked ({error}); copy or export it again") from None
    if len(data) > _MOST_BYTES:
        raise _Unfit(f"is over {_MOST_BYTES // 1_000_000} MB unpacked: {_MANY}")
    return kind, data


def _by_library(kind: str, data: bytes) -> tuple[Array, Index | None]:
    """Return what the mesh library reads, once the file's own claims were checked."""
    if not data.strip(b"\0 \r\n\t"):
        raise _Unfit("is empty")
    {".stl": _check_stl, ".ply": _check_ply, ".obj": _check_obj, ".glb": _check_glb}[kind](data)
    plain = _plain_stl(data) if kind == ".stl" else _plain_ply(data) if kind == ".ply" else None
    if plain is not None:
        return plain
    import trimesh

    options: dict[str, Any] = {"process": False, "maintain_order": True}
    if kind in (".obj", ".glb"):
        options["skip_materials"] = True
    try:
        loaded = trimesh.load(io.BytesIO(data), file_type=kind[1:], **options)
        if isinstance(loaded, trimesh.Scene):
            parts = [g for g in loaded.dump() if hasattr(g, "vertices") and len(g.vertices)]
            meshes = [g for g in parts if len(getattr(g, "faces", ()))]
            if meshes:
                shift = np.cumsum([0, *(len(g.vertices) for g in meshes)])
                faces = np.concatenate([np.asarray(g.faces) + n for g, n in zip(meshes, shift, strict=False)])
                return np.concatenate([np.asarray(g.vertices, dtype=float) for g in meshes]), faces.astype(np.int64)
            if not parts:
                raise _Unfit("holds no triangles and no points")
            return np.concatenate([np.asarray(g.vertices, dtype=float) for g in parts]), None
        vertices = np.asarray(loaded.vertices, dtype=float)
        found = getattr(loaded, "faces", None)
        return vertices, None if found is None or not len(found) else np.asarray(found, dtype=np.int64)
    except (_Unfit, MemoryError):
        raise
    except RecursionError:
        raise _Unfit("is nested too deeply") from None
    except Exception:  # a damaged file makes the library fail in any way: the file's fault, whatever the error's name
        raise _Unfit(f"is no {kind[1:].upper()} that can be read, or is cut short; export it again") from None


def _check_stl(data: bytes) -> None:
    if len(data) >= 84:
        count = struct.unpack_from("<I", data, 80)[0]
        if len(data) == 84 + 50 * count:
            _few(count, "triangles")
            if not count:
                raise _Unfit("holds no triangles")
            return
        if not data.lstrip()[:5].lower() == b"solid" or b"facet" not in data[:4096].lower():
            raise _Unfit(
                f"says {count} triangles, which makes {84 + 50 * count} bytes, but has {len(data)}: it is cut short or "
                "damaged; export it again"
            )
    if len(data) > _MOST_TEXT:
        raise _Unfit(f"is over {_MOST_TEXT // 1_000_000} MB of text: export it as binary STL")
    if b"\0" in data[:100_000]:
        raise _Unfit("is no STL: neither text nor triangles that fit its length")
    count = data.lower().count(b"endfacet")
    if not count:
        raise _Unfit("holds no triangles")
    _few(count, "triangles")


def _check_ply(data: bytes) -> None:
    end = data[:100_000].find(b"end_header")
    if not data.startswith(b"ply") or end < 0:
        raise _Unfit("is no PLY: its header is missing or cut short")
    header = data[:end].decode("ascii", "replace")
    body = len(data) - end - len("end_header")
    least, text = 0, "format ascii" in header
    counts: dict[str, int] = {}
    name = ""
    for line in header.splitlines():
        words = line.split()
        if words[:1] == ["element"]:
            if len(words) != 3 or not words[2].isdigit() or len(words[2]) > 18:
                raise _Unfit(f"has a header line that can't be read: '{line[:60]}'")
            name = words[1]
            counts[name] = int(words[2])
        elif words[:1] == ["property"] and name:
            if len(words) < 3 or (words[1] != "list" and words[1] not in _SIZES):
                raise _Unfit(f"has a header line that can't be read: '{line[:60]}'")
            # A list takes at least its own count; a number as text at least a digit and what parts it from the next.
            least += counts[name] * (2 if text else _SIZES.get(words[2] if words[1] == "list" else words[1], 1))
    _few(max(counts.get("face", 0), 0), "triangles")
    _few(counts.get("vertex", 0), "points")
    if not counts.get("vertex", 0):
        raise _Unfit("holds no points")
    if least > body + 2:
        raise _Unfit(f"says more than it holds (at least {least} bytes, has {body}): it is cut short; export it again")
    if text and len(data) > _MOST_TEXT:
        raise _Unfit(f"is over {_MOST_TEXT // 1_000_000} MB of text: export it as binary PLY")


def _plain_stl(data: bytes) -> tuple[Array, Index] | None:
    """Return what a binary STL holds; None for text.

    The usual files of scanners are records of one size: read so in a tenth of the time that loading the library takes.
    """
    if len(data) < 84 or len(data) != 84 + 50 * struct.unpack_from("<I", data, 80)[0]:
        return None
    rows = np.frombuffer(data, dtype=[("normal", "<f4", 3), ("corner", "<f4", (3, 3)), ("word", "<u2")], offset=84)
    corner = rows["corner"].reshape(-1, 3)
    # Corners that are the same number for number are one.
    bits = np.ascontiguousarray(corner).view("<u4").astype(np.uint64)
    first, second = bits[:, 0] << np.uint64(32) | bits[:, 1], bits[:, 2]
    order = np.lexsort((second, first))
    new = np.ones(len(order), dtype=bool)
    new[1:] = (np.diff(first[order]) != 0) | (np.diff(second[order]) != 0)
    which = np.empty(len(order), dtype=np.int64)
    which[order] = np.cumsum(new) - 1
    return corner[order[new]].astype(float), which.reshape(-1, 3)


def _plain_ply(data: bytes) -> tuple[Array, Index | None] | None:
    """Return what a binary PLY of plain points, and of triangles if any, holds; None for any other kind."""
    end = data.find(b"end_header")
    start = data.find(b"\n", end) + 1
    lines = [line.split() for line in data[:end].decode("ascii", "replace").splitlines()]
    written = next((words[1] for words in lines if words[:1] == ["format"] and len(words) > 1), "")
    order = {"binary_little_endian": "<", "binary_big_endian": ">"}.get(written)
    elements: list[tuple[str, int, list[tuple[Any, ...]]]] = []
    for words in lines:
        if words[:1] == ["element"]:
            elements.append((words[1], int(words[2]), []))
        elif words[:1] == ["property"] and elements:
            if words[1] != "list":
                elements[-1][2].append((words[-1], f"{order}{_KINDS[words[1]]}"))
            elif words[-1] in ("vertex_indices", "vertex_index") and elements[-1][0] == "face":
                elements[-1][2].append(("n", f"{order}{_KINDS[words[2]]}"))
                elements[-1][2].append(("i", f"{order}{_KINDS[words[3]]}", 3))
            else:
                return None
    names = [e[0] for e in elements]
    if order is None or names not in (["vertex"], ["vertex", "face"]):
        return None
    fields = {f[0] for f in elements[0][2]}
    if not {"x", "y", "z"} <= fields or len(fields) != len(elements[0][2]) or not elements[0][1]:
        return None
    kind = np.dtype(elements[0][2])
    if len(data) < start + kind.itemsize * elements[0][1]:
        return None
    points = np.frombuffer(data, kind, elements[0][1], start)
    vertices = np.column_stack([points[axis].astype(float) for axis in "xyz"])
    if names == ["vertex"] or not elements[1][1]:
        return vertices, None
    start += kind.itemsize * elements[0][1]
    try:
        kind = np.dtype(elements[1][2])
    except ValueError:
        return None
    if len(data) < start + kind.itemsize * elements[1][1] or "i" not in (kind.names or ()):
        return None
    rows = np.frombuffer(data, kind, elements[1][1], start)
    if (rows["n"] != 3).any():
        return None
    return vertices, rows["i"].astype(np.int64)


def _check_obj(data: bytes) -> None:
    if len(data) > _MOST_TEXT:
        raise _Unfit(f"is over {_MOST_TEXT // 1_000_000} MB of text: export it as binary PLY")
    points, faces = data.count(b"\nv ") + data.startswith(b"v "), data.count(b"\nf ")
    if not points:
        raise _Unfit("holds no points")
    _few(points, "points")
    _few(faces, "faces")


def _check_glb(data: bytes) -> None:
    if len(data) < 20 or data[:4] != b"glTF":
        raise _Unfit("is no GLB: its header is missing or cut short")
    _, version, length = struct.unpack_from("<4sII", data)
    size, kind = struct.unpack_from("<I4s", data, 12)
    if version != 2 or length != len(data) or 20 + size > len(data) or kind != b"JSON":
        raise _Unfit("is no GLB of version 2, or is cut short; export it again")
    try:
        tree = json.loads(data[20 : 20 + size])
        accessors, meshes, nodes = (tree.get(k, []) for k in ("accessors", "meshes", "nodes"))
        used = str(tree.get("extensionsRequired", []))
        if "draco" in used or "meshopt" in used:
            raise _Unfit("is packed by a method not known here; export it without compression")
        sizes = []
        for mesh in meshes:
            count = 0
            for part in mesh["primitives"]:
                points = int(accessors[part["attributes"]["POSITION"]]["count"])
                count += max(points, int(accessors[part["indices"]]["count"]) // 3 if "indices" in part else 0)
            sizes.append(count)
        for accessor in accessors:
            _few(int(accessor["count"]) // 3, "triangles")
            if "bufferView" not in accessor:
                raise _Unfit("has data without a place in the file; export it again")
        children = [c for node in nodes for c in node.get("children", [])]
        if len(children) != len(set(children)) or len(nodes) > 100_000:
            raise _Unfit("has parts that stand below several others, or too many; export it as one mesh")
        _few(sum(sizes[node["mesh"]] for node in nodes if "mesh" in node), "triangles")
    except (KeyError, IndexError, TypeError, ValueError, AttributeError, RecursionError):
        raise _Unfit("has a description that can't be read; export it again") from None


def _few(count: int, what: str) -> None:
    if count > MOST:
        raise _Unfit(f"says {count:,} {what}; at most {MOST:,} are read: {_MANY}")


def _points(data: bytes) -> tuple[Array, None]:
    """Return points written as text, a line each; what follows the third number (colours, normals) is not read."""
    if len(data) > _MOST_TEXT:
        raise _Unfit(f"is over {_MOST_TEXT // 1_000_000} MB of text: export it as binary PLY")
    if b"\0" in data[:100_000]:
        raise _Unfit("is no text: points are written as x y z, one a line")
    _few(data.count(b"\n"), "lines")
    rows = _rows(data)
    first = next(rows, None)
    if first is None:
        raise _Unfit("holds no points")
    # A first line that says how many follow, or what the columns are, is no point.
    heading = re.fullmatch(r"\s*\d+\s*", first) or re.match(r"\s*[A-Za-z]", first)
    try:
        return np.loadtxt(rows if heading else chain([first], rows), usecols=(0, 1, 2), ndmin=2), None
    except ValueError:
        for row in _rows(data):
            if not _numbers(row) and row != first:
                raise _Unfit(f"has a line that is not three numbers: '{row.strip()[:40]}'") from None
        raise _Unfit(f"has a line that is not three numbers: '{first.strip()[:40]}'") from None


def _rows(data: bytes) -> Iterator[str]:
    """Yield the lines that hold something, one at a time, with spaces between their numbers."""
    for line in io.BytesIO(data):
        text = line.decode("ascii", "replace").replace(";", " ").replace(",", " ")
        if text.strip() and text.lstrip()[0] not in "#/":
            yield text


def _numbers(row: str) -> bool:
    try:
        return len([float(word) for word in row.split()[:3]]) == 3
    except ValueError:
        return False


def _checked(vertices: Array, faces: Index | None) -> tuple[Array, Index | None, int]:
    if vertices.ndim != 2 or vertices.shape[1] != 3 or not len(vertices):
        raise _Unfit("holds no points")
    fine: NDArray[np.bool_] = np.all(np.isfinite(vertices), axis=1)
    if faces is None:
        _few(len(vertices), "points")
        if fine.mean() < 0.9:
            raise _Unfit(f"{(~fine).sum():,} of its {len(fine):,} points are not numbers; export it again")
        return vertices[fine], None, int((~fine).sum())
    _few(len(faces), "triangles")
    if faces.min() < 0 or faces.max() >= len(vertices):
        raise _Unfit("has triangles whose corners do not exist: it is damaged; export it again")
    whole: NDArray[np.bool_] = np.all(fine[faces], axis=1)
    if whole.mean() < 0.9:
        raise _Unfit(f"{(~whole).sum():,} of its {len(whole):,} triangles are not numbers; export it again")
    used, kept = np.unique(faces[whole].ravel(), return_inverse=True)
    return vertices[used], kept.reshape(-1, 3).astype(np.int64), int((~whole).sum())
