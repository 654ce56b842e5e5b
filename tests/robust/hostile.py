"""Hostile input, made from a seed: job files, parts, readings, scans, drawings, releases and command lines.

Every case is a folder of files and one command line. The same seed gives the same case on every machine.
"""

import gzip
import json
import math
import random
import re
import shutil
import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
JOBS = sorted((ROOT / "shared" / "jobs").glob("*.toml"))
# Every table of the shop's: a job may bring rows of each kind.
TABLES = sorted(
    [*(ROOT / "parts").rglob("*.toml"), *(ROOT / "shared").glob("*.toml"), *(ROOT / "shared" / "styles").glob("*.toml")]
)
OUT = "out"  # the one folder that a command may write into

ABSURD: tuple[Any, ...] = (
    0, -1, 1, 2, 3, 7, 61, 10**6, 10**18, 2**63, -(2**63) - 1, 10**400, 0.0, -0.0, 1e-300, 1e300, -1e300, 1e-9,
    0.1, 0.5,
    math.inf, -math.inf, math.nan, True, False, "", " ", "\t", "0", "-5 mm", "1e400 mm", "nan", "inf mm", "12 ± 13 mm",
    "± 3 mm", "3/0 in", "1 3/8 in", "3/4 in", "25 lb", "25.4", "1e5 mm", "5 m", "7 parsec", "12 kg", "90 deg",
    "1/2", "--1",
    "M6", "M999", "m590", "../../etc/passwd", "/etc/passwd", "/dev/zero", "..", ".", "a/b", "a\\b", "con", "nul.txt",
    "x" * 300, "é" * 50, "名前", "\u202egpj", "\x00", "\x1b[31mred", "'; drop", "{name}", "%s%n", "[bold]",
    "[/]", "$(id)",
    "<script>alert(1)</script>", "&amp;", "😀", "\ud7ff", "\r\n", "ﬁ", [], {}, [[]], [[[[]]]], [0], [0, 0, 0],
    [1e9, 1e9, 1e9], ["a", "b", "c"], [1, 2], [1, 2, 3, 4], {"a": 1}, {"name": "x"}, [{}], ["mm"] * 3,
)  # fmt: skip
NAMES = (
    "front", "../up", "/abs", "a b", "..", "", "x" * 200, "CON", "car", "nest", "manifest.json", "front/cut",
    "é", "-rf",
    "--help", ".hidden", "[red]", "\u202e", "None", "0", "review.json",
)  # fmt: skip


@dataclass
class Case:
    """One hostile case: what stands in its folder, and the command line that meets it."""

    seed: int
    kind: str
    args: list[str]
    files: dict[str, bytes] = field(default_factory=dict)

    def lay_out(self, folder: Path) -> None:
        """Write the case's files."""
        (folder / OUT).mkdir(parents=True)
        for name, data in self.files.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)


# --- TOML -----------------------------------------------------------------------------------------------------------


def toml_value(value: Any) -> str:
    """Return a value as TOML writes it, tables inline."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return repr(value) if math.isfinite(value) else ("nan" if value != value else ("inf" if value > 0 else "-inf"))
    if isinstance(value, int):
        return str(value)
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, list):
        return "[" + ", ".join(toml_value(v) for v in value) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{toml_value(str(k))} = {toml_value(v)}" for k, v in value.items()) + "}"
    return json.dumps(str(value))


def toml_text(table: dict[str, Any], at: tuple[str, ...] = ()) -> str:
    """Return a table as a TOML file, tables of tables under headers of their own."""
    plain = {k: v for k, v in table.items() if not isinstance(v, dict)}
    lines = [f"{toml_value(str(k))} = {toml_value(v)}" for k, v in plain.items()]
    if at:
        lines.insert(0, "[" + ".".join(toml_value(k) for k in at) + "]")
    text = "\n".join(lines) + "\n"
    for key, value in table.items():
        if isinstance(value, dict):
            text += toml_text(value, (*at, str(key)))
    return text


def spots(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Return the path of every value within a value."""
    found = [path] if path else []
    pairs = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in pairs:
        found += spots(inner, (*path, key))
    return found


def nudge(rng: random.Random, table: dict[str, Any], times: int) -> dict[str, Any]:
    """Return a table with some numbers and choices changed for others that are likely to be accepted."""
    table = json.loads(json.dumps(table, default=str))
    for _ in range(times):
        path = rng.choice(spots(table))
        holder: Any = table
        for part in path[:-1]:
            holder = holder[part]
        old = holder[path[-1]]
        if isinstance(old, bool):
            holder[path[-1]] = not old
        elif isinstance(old, int):
            holder[path[-1]] = rng.choice((old + 1, old - 1, old * 2, old // 2, -old, rng.randrange(61), old * 20))
        elif isinstance(old, float):
            holder[path[-1]] = old * rng.choice((0.01, 0.5, 0.9, 1.1, 2, 10, -1, 0))
        elif isinstance(old, list) and old:
            holder[path[-1]] = rng.choice((old[:-1], old + old[-1:], old[::-1], []))
        elif isinstance(old, str):
            number = re.match(r"[+-]?[0-9]+(?:[.][0-9]+)?", old)
            words = ("[/]", "[red]x", "</td>&", "\u202e", "é\nü", "=1+1", "x" * 200)
            holder[path[-1]] = (
                f"{float(number.group()) * rng.choice((0.3, 0.9, 1.2, 4)):g}{old[number.end() :]}" if number
                else rng.choice(words) if path[-1] in ("title", "name", "description", "notes", "source", "state")
                else old
            )  # fmt: skip
        elif isinstance(old, dict) and len(path) > 2:
            del holder[path[-1]]
    return table


def mutate(rng: random.Random, table: dict[str, Any], times: int) -> dict[str, Any]:
    """Return a table with some of its values, keys and shapes changed."""
    if rng.random() < 0.5:
        return nudge(rng, table, 2 * times)
    table = json.loads(json.dumps(table, default=str))
    for _ in range(times):
        places = spots(table)
        if not places:
            break
        path = rng.choice(places)
        holder: Any = table
        for part in path[:-1]:
            holder = holder[part]
        key, old = path[-1], holder[path[-1]]
        what = rng.choice(("absurd", "absurd", "absurd", "near", "near", "near", "delete", "double", "rename", "swap",
                           "deep", "many", "strange key"))  # fmt: skip
        if what == "absurd":
            holder[key] = rng.choice(ABSURD)
        elif what == "near" and isinstance(old, int | float) and not isinstance(old, bool):
            holder[key] = rng.choice((old * 10, old / 10, -old, old * 25.4, old + 1, old - 1, float(old), str(old),
                                      f"{old} in", f"{old} mm ± 3 mm", old * 1000,
                                      old * rng.uniform(0.3, 3)))  # fmt: skip
        elif what == "near":
            other = rng.choice(places)
            value: Any = table
            for part in other:
                value = value[part]
            holder[key] = json.loads(json.dumps(value))
        elif what == "delete":
            del holder[key]
        elif what == "double" and isinstance(holder, list):
            holder.insert(key, json.loads(json.dumps(old)))
        elif what == "rename" and isinstance(holder, dict):
            holder[rng.choice((*NAMES, f"{key}s", str(key)[:-1], str(key).upper()))] = holder.pop(key)
        elif what == "swap":
            holder[key] = [old] if rng.random() < 0.5 else {"value": old}
        elif what == "deep":
            for _ in range(rng.choice((5, 50))):
                old = [old]
            holder[key] = old
        elif what == "many" and isinstance(holder, list):
            holder.extend(json.loads(json.dumps(old)) for _ in range(rng.choice((10, 200))))
        elif what == "many" and isinstance(holder, dict):
            for number in range(rng.choice((5, 40))):
                holder[f"{key}-{number}"] = json.loads(json.dumps(old))
        elif what == "strange key" and isinstance(holder, dict):
            holder[rng.choice(NAMES)] = rng.choice(ABSURD)
    return table


def spoil(rng: random.Random, data: bytes, times: int = 3) -> bytes:
    """Return a file with bytes flipped, cut out, doubled or put in."""
    data = bytearray(data)
    for _ in range(times):
        at = rng.randrange(len(data) + 1)
        what = rng.randrange(7)
        if what == 0 and data:
            data[at % len(data)] = rng.randrange(256)
        elif what == 1:
            del data[at : at + rng.choice((1, 5, 80))]
        elif what == 2:
            data[at:at] = rng.choice((b"[", b"]", b'"', b"\n", b"\0", b"=", b"{", b"\xff\xfe", b"'''", b"#",
            b"nan", b"\r",
                                      b"[" * 3000, b"9" * 5000, "é".encode(), b"\xef\xbb\xbf"))  # fmt: skip
        elif what == 3:
            data[at:at] = data[at : at + rng.choice((10, 200))]
        elif what == 4:
            del data[at:]
        elif what == 5:
            data = bytearray(bytes(data).replace(b"\n", b"\r\n"))
        else:
            lines = bytes(data).split(b"\n")
            rng.shuffle(lines)
            data = bytearray(b"\n".join(lines))
            break
    return bytes(data)


def job_bytes(rng: random.Random, path: Path) -> bytes:
    """Return a demo job, mutated as a table, as text, or both."""
    data = path.read_bytes()
    how = rng.random()
    if how < 0.4:  # most likely still a job: what lies behind the reading is met too
        return toml_text(nudge(rng, tomllib.loads(data.decode()), rng.choice((1, 1, 2)))).encode()
    if how < 0.75:
        data = toml_text(mutate(rng, tomllib.loads(data.decode()), rng.choice((1, 1, 1, 2, 3, 8)))).encode(
            "utf-8", "surrogatepass"
        )
    if how > 0.7:
        data = spoil(rng, data, rng.choice((1, 1, 2, 6)))
    return data


# --- cases ----------------------------------------------------------------------------------------------------------


def _words(rng: random.Random, *good: str) -> str:
    """Return a word for an option: mostly a fitting one, else any."""
    return rng.choice(good) if good and rng.random() < 0.6 else str(rng.choice((*NAMES, *ABSURD)))


def _number(rng: random.Random, *good: object) -> str:
    odd = (0, -1, "x", "", "1e9", "nan", "inf", 10**30, 1.5)
    return str(rng.choice(good) if rng.random() < 0.6 else rng.choice(odd))


def _job_command(rng: random.Random) -> list[str]:
    """Return a command line about job.toml."""
    picture = f"{OUT}/{_words(rng, 'p.svg', 'p.png', 'p.pdf', 'p.xyz').replace('/', '_')}"
    choices: list[list[str]] = [
        *([["review", "job.toml"]] * 6),
        ["review", "job.toml", "--json"],
        ["review", "job.toml", "--all"],
        ["car", "job.toml"],
        ["car", "job.toml", "--all"],
        ["split", "job.toml", "--most", _number(rng, 2, 6, 60)],
        ["split", "job.toml", "--take", _number(rng, 1, 2), "--write", f"{OUT}/new.toml", "--most", "6"],
        ["family", "job.toml", "--counts", _words(rng, "1-6", "2,3", "1-60")],
        ["family", "job.toml", "--box", _words(rng, "front", "rear"), "--counts", "1-3"],
        ["why", "job.toml", _words(rng, "bearers", "feet", "wall")],
        ["why", "job.toml", "--page", picture],
        ["clear", "job.toml", "--box", _words(rng, "front", "rear")],
        ["place", "job.toml", "--step", _number(rng, 20, 50)],
        ["fill", "job.toml"],
        ["wayin", "job.toml", "--seconds", "1"],
        ["mockup", "job.toml", f"{OUT}/{rng.choice(('m.dxf', 'm.pdf', 'm', 'm.exe'))}", "--board", _number(rng, 3, 6)],
        ["moved", "demo.toml", "job.toml"],
        ["compare", "demo.toml", "job.toml"],
        ["parts", "--job", "job.toml"],
        ["parts", rng.choice(("module", "motor", "pattern")), "--job", "job.toml"],
    ]
    return rng.choice(choices)


def job_case(seed: int, rng: random.Random) -> Case:
    """A mutated job file, met by one of the commands."""
    demo = rng.choice(JOBS)
    files = {"job.toml": job_bytes(rng, demo), "demo.toml": demo.read_bytes()}
    return Case(seed, "job", _job_command(rng), files)


def build_case(seed: int, rng: random.Random) -> Case:
    """A job with its figures changed a little, released whole or in part."""
    demo = rng.choice(JOBS)
    table = nudge(rng, tomllib.loads(demo.read_text(encoding="utf-8")), rng.choice((1, 2, 4)))
    more = rng.choice(([], ["--anyway"], ["--anyway"], ["--only", _words(rng, "front", "rear", "motor", "five-speed")]))
    args = ["build", "job.toml", "--out", f"{OUT}/release", *more]
    return Case(seed, "build", args, {"job.toml": toml_text(table).encode("utf-8", "surrogatepass")})


def parts_case(seed: int, rng: random.Random) -> Case:
    """A job whose own parts folder holds mutated rows under new names."""
    source = rng.choice(TABLES)
    table = tomllib.loads(source.read_text(encoding="utf-8"))
    rows = {k: v for k, v in table.items() if isinstance(v, dict) and k != "units"}
    names = {name: f"own-{number}" for number, name in enumerate(rows)}
    own = {names.get(k, k): v for k, v in mutate(rng, table, rng.choice((1, 1, 2, 4))).items()}
    text = toml_text({k: v for k, v in own.items() if isinstance(v, dict)})
    job = rng.choice(JOBS).read_text(encoding="utf-8")
    for name, new in names.items():
        job = job.replace(f'"{name}"', f'"{new}"')
    kind = source.stem if source.parent.name == "shared" else source.parent.name
    files = {
        "job.toml": job.encode(),
        "demo.toml": job.encode(),
        f"parts/{kind}/own.toml": text.encode("utf-8", "surrogatepass"),
    }
    if rng.random() < 0.15:
        files[f"parts/{kind}/own.toml"] = spoil(rng, files[f"parts/{kind}/own.toml"])
    args = rng.choice((_job_command(rng), ["parts", kind.removesuffix("s"), rng.choice(list(names.values()) or ["x"]),
                                           "--job", "job.toml"]))  # fmt: skip
    return Case(seed, "parts", args, files)


def readings_case(seed: int, rng: random.Random) -> Case:
    """Mutated readings of a bolt pattern."""
    data = job_bytes(rng, ROOT / "shared" / "readings" / "demo-bell.toml")
    args = ["pattern", "r.toml"]
    if rng.random() < 0.2:
        args += ["--picture", f"{OUT}/{rng.choice(('p.svg', 'p.png', 'p.xyz', 'a/b.png'))}"]
    if rng.random() < 0.2:
        args.append("--all")
    return Case(seed, "readings", args, {"r.toml": data})


def _small_scan(rng: random.Random) -> tuple[str, bytes]:
    """Return a small mesh or cloud, right or wrong, and the name of its file."""
    points = [[rng.choice((1e4, 0.5, 1e30, math.nan)) if rng.random() < 0.0005
               else rng.uniform(-900, 900) for _ in range(3)] for _ in range(rng.choice((0, 1, 3, 30,
               400)))]  # fmt: skip
    count = len(points)
    faces = [[rng.randrange(count) if rng.random() < 0.99 else rng.choice((-1, count, 10**9)) for _ in range(3)]
             for _ in range(rng.choice((0, 1, 60, 600)))] if count else []  # fmt: skip
    form = rng.choice(("ply", "stl", "obj", "xyz", "glb", "ply.gz"))
    if form in ("ply", "ply.gz"):
        told = rng.choice((count, count + 5, 10**9, -1)) if rng.random() < 0.1 else count
        text = f"ply\nformat ascii 1.0\nelement vertex {told}\n"
        text += "property float x\nproperty float y\nproperty float z\n"
        text += f"element face {len(faces)}\nproperty list uchar int vertex_indices\nend_header\n"
        text += "".join(f"{x} {y} {z}\n" for x, y, z in points) + "".join(f"3 {a} {b} {c}\n" for a, b, c in faces)
        data = text.encode()
    elif form == "stl":
        data = b"solid x\n" + b"".join(
            b"facet normal 0 0 1\nouter loop\n"
            + b"".join(f"vertex {x} {y} {z}\n".encode() for x, y, z in (points[i % count] for i in f))
            + b"endloop\nendfacet\n"
            for f in faces
        )
    elif form == "obj":
        data = "".join(f"v {x} {y} {z}\n" for x, y, z in points).encode()
        data += "".join(f"f {a + 1} {b + 1} {c + 1}\n" for a, b, c in faces).encode()
    elif form == "xyz":
        data = "".join(f"{x} {y} {z}\n" for x, y, z in points).encode()
    else:
        data = b"glTF" + rng.randbytes(rng.choice((0, 8, 100)))
    if rng.random() < 0.3:
        data = spoil(rng, data)
    return f"s.{form}", gzip.compress(data, 1, mtime=0) if form.endswith("gz") and rng.random() < 0.9 else data


def scan_case(seed: int, rng: random.Random) -> Case:
    """A scan's description, mutated, and a small scan, right or wrong."""
    table = tomllib.loads((ROOT / "shared" / "scans" / "estate-engine.toml").read_text(encoding="utf-8"))
    name, data = _small_scan(rng)
    table["file"] = name
    if rng.random() < 0.5:
        table.pop("points")
    if rng.random() < 0.2:
        table["units"] = rng.choice(("m", "in", "mm", "cm", "kg", "", "furlong"))
    if rng.random() < 0.4:
        table = mutate(rng, table, rng.choice((1, 1, 2)))
    files = {"scan.toml": toml_text(table).encode("utf-8", "surrogatepass"), name: data}
    args = ["scan", "scan.toml"]
    if rng.random() < 0.4:
        job = tomllib.loads((ROOT / "shared" / "jobs" / "estate.toml").read_text(encoding="utf-8"))
        job["bays"]["engine"]["scan"] = "scan.toml"
        files["job.toml"] = toml_text(job).encode()
        args = rng.choice((["review", "job.toml"], ["clear", "job.toml"], ["clear", "job.toml", "--scan", "scan.toml"]))
    return Case(seed, "scan", args, files)


def drawing_case(seed: int, rng: random.Random) -> Case:
    """An adapter whose bell is a hole pattern in a drawing, right or wrong."""
    holes = ""
    for i in range(count := rng.choice((0, 1, 2, 3, 6, 6, 6, 60))):
        layer = rng.choice(("holes", "holes", "holes", "0"))
        x, y = 100 * math.cos(i * math.tau / count), 100 * math.sin(i * math.tau / count)
        radius = rng.choice((5.5, 0, -1, 1e9)) if rng.random() < 0.1 else 5.5
        holes += f"0\nCIRCLE\n8\n{layer}\n10\n{x}\n20\n{y}\n30\n0.0\n40\n{radius}\n"
    data = (
        f"0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1009\n9\n$INSUNITS\n70\n{rng.choice((4, 1, 0, 6, 99))}\n0\nENDSEC\n"
        f"0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n8\n0\n10\n0.0\n20\n0.0\n30\n0.0\n40\n75.0\n{holes}0\nENDSEC\n0\nEOF\n"
    ).encode()
    if rng.random() < 0.5:
        data = spoil(rng, data, rng.choice((1, 2, 5)))
    pattern = {
        "description": "bell off a drawing",
        "source": "invented",
        "seen_from": rng.choice(("motor", "gearbox")),
        "dxf": {
            "file": rng.choice((*["bell.dxf"] * 9, "../bell.dxf", "/dev/zero", "no.dxf", ".")),
            "layers": {"holes": {"kind": "through", "thread": "M10"}},
            "units": "mm",
        },
    }
    row = mutate(rng, pattern, 1) if rng.random() < 0.3 else pattern
    boxes = tomllib.loads((ROOT / "parts" / "gearboxes" / "demo.toml").read_text(encoding="utf-8"))
    box = next(v for k, v in boxes.items() if isinstance(v, dict) and k != "units")
    box["pattern"] = "own-bell"
    job = (ROOT / "shared" / "jobs" / "adapter-five-speed.toml").read_text(encoding="utf-8")
    name = tomllib.loads(job)["adapters"]
    for ask in name.values():
        job = job.replace(f'"{ask["gearbox"]}"', '"own-box"')
    files = {
        "job.toml": job.encode(),
        "parts/gearboxes/own.toml": toml_text({"own-box": box}).encode("utf-8", "surrogatepass"),
        "parts/patterns/own.toml": toml_text({"own-bell": row}).encode("utf-8", "surrogatepass"),
        "parts/patterns/bell.dxf": data,
        "bell.dxf": data,
    }
    return Case(seed, "drawing", ["review", "job.toml"], files)


def words_case(seed: int, rng: random.Random) -> Case:
    """A sound job, and a command line of any words."""
    demo = rng.choice(JOBS)
    command = rng.choice(("review", "build", "car", "split", "moved", "check", "compare", "why", "pattern",
    "scan", "clear",
                          "place", "fill", "wayin", "mockup", "family", "parts", "new", "sweep",
                          "no-such"))  # fmt: skip
    args = [command]
    flags = ("--json", "--all", "--box", "--bay", "--counts", "--only", "--by", "--target", "--step", "--tilt",
    "--most",
             "--take", "--share", "--modules", "--board", "--paper", "--load", "--help", "--why",
             "--clearance")  # fmt: skip
    for _ in range(rng.randrange(4)):
        args.append(rng.choice(("job.toml", "demo.toml", "nope.toml", ".", "", "job.toml/x", *NAMES[:8])))
    for _ in range(rng.randrange(3)):
        args += rng.sample((rng.choice(flags), _words(rng)), rng.choice((1, 2)))
    args = [a.replace("\0", "?") for a in args]  # no shell can pass a zero byte
    if command == "new":
        args = [command, rng.choice((f"{OUT}/new.toml", ".", "", "..", "job.toml", "job.toml/x", "no/such.toml"))]
    if command in ("build", "wayin", "mockup"):  # these take long or write where they are told: a name or two
        args = [command, rng.choice(("nope.toml", ".", "", "job.toml/x")), *args[2:]]
    return Case(seed, "words", args, {"job.toml": demo.read_bytes(), "demo.toml": JOBS[0].read_bytes()})


def release_case(seed: int, rng: random.Random) -> Case:
    """A folder that says it is a release, met by check and compare."""
    text: Any = {
        "baywright": "0", "revision": "A", "job sha256": "0" * 64, "written with": {},
        "files": [{"path": rng.choice(("a.txt", "../../etc/passwd", "/etc/passwd", "é", "")), "bytes": 1,
        "sha256": "0"}],
    }  # fmt: skip
    if rng.random() < 0.8:
        text = mutate(rng, text, rng.choice((1, 2, 4)))
    data = json.dumps(text).encode()
    if rng.random() < 0.3:
        data = spoil(rng, data)
    files = {"rel/manifest.json": data, "rel/a.txt": b"a", "rel/review.json": data, "demo.toml": JOBS[0].read_bytes()}
    args = rng.choice((["check", "rel"], ["check", "rel"], ["compare", "rel", "demo.toml"], ["compare", "rel", "rel"]))
    return Case(seed, "release", args, files)


KINDS = (job_case, job_case, job_case, job_case, job_case, parts_case, parts_case, readings_case, scan_case,
drawing_case,
         words_case, release_case)  # fmt: skip


def case(seed: int) -> Case:
    """Return the case of a seed; those from a million on are builds, which take their time."""
    rng = random.Random(seed)
    return build_case(seed, rng) if seed >= 1_000_000 else rng.choice(KINDS)(seed, rng)


def main() -> None:
    """Write the case of a seed into a folder, to look at."""
    import sys

    one = case(int(sys.argv[1]))
    folder = Path(sys.argv[2])
    shutil.rmtree(folder, ignore_errors=True)
    one.lay_out(folder)
    print(" ".join(["cd", str(folder), "&&", "baywright", *map(repr, one.args)]))


if __name__ == "__main__":
    main()
