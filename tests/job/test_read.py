"""Reading a job: the shipped jobs, and what is said of one that is wrong: every problem, with file, line and key."""

import subprocess
import sys
from pathlib import Path

import hypothesis.strategies as st
import pytest
from hypothesis import given

from baywright.job.messages import BadInput, nearest, unknown
from baywright.job.read import read_job
from baywright.rooms import room

JOBS = sorted((room("shared") / "jobs").glob("*.toml"))
GOOD = """\
cutter = "laser-general"

[job]
name = "test"

[car]
name = "a car"
wheelbase = 2400
track_front = 1300
track_rear = "51 in"
ratings = { front_axle = 700, rear_axle = 750, gross = 1400 }
removed = [
    { name = "engine", mass = "330 lb", at = [0, 0, 550] },
]

[car.weighed]
axles = { front = 555, rear = 465 }

[bays.front]
blocks = [
    { low = [-350, "-480 mm ± 3 mm", 300], high = [400, 480, "850 ± 5"] },
]

[[bays.front.prisms]]
plan = [[0, 0], [400, 0], [400, 300], [0, 300]]
low = 200
high = 300

[boxes.front]
module = "m590"
count = 3
bay = "front"
at = [0, 0, 320]
yaw = 90
fittings = ["gland-m25", { fitting = "signal-22", at = [0, 100] }]
"""


def line_of(text: str, start: str) -> int:
    return next(n for n, row in enumerate(text.splitlines(), 1) if row.startswith(start))


def read(folder: Path, text: str):
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return read_job(path)


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_shipped_jobs_are_read(path):
    job = read_job(path)
    assert job.boxes or job.adapters or job.rails
    assert job.path == path
    for box in job.boxes.values():
        job.catalogue.module(box.module)
        job.catalogue.style(box.style)


def test_there_is_a_demo_and_a_starter():
    assert {"estate", "starter"} <= {path.stem for path in JOBS}


def test_everything_is_in_mm_and_kg(tmp_path):
    job = read(tmp_path, GOOD)
    assert job.car.track_rear == pytest.approx(1295.4)
    assert job.car.removed[0].mass.value == pytest.approx(149.6854821)
    block = job.bays["front"].blocks[0]
    assert block.low[1] == (-480.0, 3.0)
    assert block.high == ((400.0, 0.0), (480.0, 0.0), (850.0, 5.0))
    box = job.boxes["front"]
    assert [f.fitting for f in box.fittings] == ["gland-m25", "signal-22"]
    assert box.fittings[1].at == (0.0, 100.0)
    assert (box.style, box.lift, box.orientation) == ("workshop", True, "flat")


def test_a_job_in_inches_and_pounds_is_the_same_job(tmp_path):
    text = GOOD.replace("[car]\n", '[units]\nlength = "in"\nmass = "lb"\nangle = "rad"\n\n[car]\n', 1)
    metric = read(tmp_path, GOOD)
    inch = read(tmp_path, text)
    assert inch.car.wheelbase == pytest.approx(25.4 * metric.car.wheelbase)
    assert inch.car.track_rear == metric.car.track_rear
    assert inch.car.ratings.gross == pytest.approx(0.45359237 * 1400)
    assert inch.bays["front"].blocks[0].low[1] == metric.bays["front"].blocks[0].low[1]
    assert inch.boxes["front"].at == pytest.approx((0.0, 0.0, 320 * 25.4))


# (what is changed, into what, line that starts with, key, what is said)
WRONG = [
    ('module = "m590"', 'module = "m59"', "module", "boxes.front.module", "unknown module 'm59'; did you mean 'm590'?"),
    ('module = "m590"', "", "[boxes.front]", "boxes.front.module", "is needed"),
    ('module = "m590"', "module = 590", "module", "boxes.front.module", "expected text in quotes, got 590"),
    ('module = "m590"', 'modul = "m590"', "modul", "boxes.front.modul", "did you mean 'module'?"),
    ("count = 3", "count = 0", "count", "boxes.front.count", "must be at least 1, got 0"),
    ("count = 3", "count = 61", "count", "boxes.front.count", "must be at most 60, got 61"),
    ("count = 3", "count = 3.5", "count", "boxes.front.count", "expected a whole number, got 3.5"),
    ("count = 3", "count = true", "count", "boxes.front.count", "expected a whole number, got true"),
    ("count = 3", 'count = "3"', "count", "boxes.front.count", "expected a whole number, got '3'"),
    ("count = 3", "count = 3\ncolumns = 9", "columns", "boxes.front.columns", "must be at most 3"),
    ("count = 3", 'count = 3\nstyle = "workshp"', "style", "boxes.front.style", "did you mean 'workshop'?"),
    ("count = 3", 'count = 3\ncarry = "ledge"', "carry", "boxes.front.carry", "did you mean 'ledges'?"),
    ("count = 3", 'count = 3\norientation = "up"', "orientation", "boxes.front.orientation", "none of flat, side, end"),
    ("count = 3", 'count = 3\nlift = "yes"', "lift", "boxes.front.lift", "expected true or false"),
    ("count = 3", "count = 3\nservice_depth = 0", "service_depth", "boxes.front.service_depth", "more than 0 mm"),
    ('bay = "front"', 'bay = "frnt"', "bay", "boxes.front.bay", "unknown bay 'frnt'; did you mean 'front'?"),
    ("at = [0, 0, 320]", "at = [0, 0]", "at", "boxes.front.at 3", "is needed"),
    ("at = [0, 0, 320]", 'at = [0, 0, "320 kg"]', "at", "boxes.front.at 3", "does not measure a length"),
    ("yaw = 90", 'yaw = "90 mm"', "yaw", "boxes.front.yaw", "does not measure an angle"),
    ('"gland-m25", {', '"gland-m52", {', "fittings", "boxes.front.fittings 1", "did you mean 'gland-m25'?"),
    ('"signal-22"', '"sgnal-22"', "fittings", "boxes.front.fittings 2", "did you mean 'signal-22'?"),
    ("at = [0, 100]", "at = [0]", "fittings", "boxes.front.fittings 2.at 2", "is needed"),
    ("[boxes.front]", "[boxs.front]", "[boxs.front]", "boxs", "unknown key; did you mean 'boxes'?"),
    ("[boxes.front]", '[boxes."Front box"]', '[boxes."Front box"]', "boxes", "use small letters"),
    ("wheelbase = 2400", "wheelbase = nan", "wheelbase", "car.wheelbase", "expected a length"),
    ("wheelbase = 2400", "wheelbase = -2400", "wheelbase", "car.wheelbase", "must be more than 0 mm"),
    ("wheelbase = 2400", 'wheelbase = "2400 lb"', "wheelbase", "car.wheelbase", "does not measure a length"),
    ("wheelbase = 2400", "wheelbase = 24000000", "wheelbase", "car.wheelbase", "beyond anything that can be meant"),
    ("wheelbase = 2400", 'wheelbase = "2400 mm ± 2 mm"', "wheelbase", "car.wheelbase", "takes no tolerance"),
    ("wheelbase = 2400", "wheelbase = 2024-01-01", "wheelbase", "car.wheelbase", "expected a length"),
    ("wheelbase = 2400", "", "[car]", "car.wheelbase", "is needed"),
    ("gross = 1400", "gros = 1400", "ratings", "car.ratings.gros", "did you mean 'gross'?"),
    ('"330 lb"', '"330 furlongs"', "removed", "car.removed 1.mass", "is not a unit known here"),
    ('"330 lb"', "0", "removed", "car.removed 1", "mass must be more than 0"),
    (
        "axles = { front = 555, rear = 465 }",
        "axles = { front = 555 }",
        "axles",
        "car.weighed.axles 1.rear",
        "is needed",
    ),
    ("axles = { front = 555, rear = 465 }", "", "[car.weighed]", "car.weighed", "give either axles"),
    ('"850 ± 5"', "250", "blocks", "bays.front.blocks 1", "must be more than low"),
    ('"850 ± 5"', '"850 ± 5 ± 3"', "blocks", "bays.front.blocks 1.high 3", "is not a length"),
    ("[400, 300], [0, 300]", "[0, 300], [400, 300]", "[[bays.front.prisms]]", "bays.front.prisms 1", "once round"),
    ("[400, 300], [0, 300]", "[800, 0]", "[[bays.front.prisms]]", "bays.front.prisms 1", "once round"),
    ("[400, 300], [0, 300]", "[400, 0], [0, 300]", "[[bays.front.prisms]]", "bays.front.prisms 1", "the same point"),
    (", [400, 300], [0, 300]]", "]", "plan", "bays.front.prisms 1.plan", "at least 3 entries"),
    ('name = "test"', 'name = "My Car"', "name", "job.name", "small letters, digits and hyphens"),
    ("[job]\n", "[jb]\n", "[jb]", "jb", "did you mean 'job'?"),
    ("laser-general", "laser-genral", "cutter", "cutter", "did you mean 'laser-general'?"),
    ("[car]\n", '[units]\nlength = "kg"\n[car]\n', "length", "units.length", "does not measure a length"),
    ("[car]\n", '[units]\nlenght = "mm"\n[car]\n', "lenght", "units.lenght", "did you mean 'length'?"),
    ("[car]\n", "[units]\nlength = 3\n[car]\n", "length", "units.length", "expected text in quotes"),
]


@pytest.mark.parametrize(("old", "new", "start", "key", "says"), WRONG)
def test_a_wrong_job_is_told_with_line_and_key(tmp_path, old, new, start, key, says):
    assert GOOD.count(old) == 1
    text = GOOD.replace(old, new)
    with pytest.raises(BadInput) as caught:
        read(tmp_path, text)
    told = [p for p in caught.value.problems if p.key == key]
    assert told, str(caught.value)
    assert any(says in p.message and p.line == line_of(text, start) for p in told), str(caught.value)
    for problem in caught.value.problems:
        assert problem.file.endswith("job.toml")
        assert "\n" not in str(problem)
        assert len(str(problem)) < 400


def test_every_problem_is_told_at_once(tmp_path):
    text = GOOD.replace("m590", "m59").replace("count = 3", "count = 0").replace("2400", "nan").replace("-m25", "-m52")
    text = text.replace('"front"\nat', '"rear"\nat').replace("[car]\n", '[units]\nmass = "mm"\n[car]\n')
    with pytest.raises(BadInput) as caught:
        read(tmp_path, text)
    assert {p.key for p in caught.value.problems} == {
        "units.mass",
        "boxes.front.module",
        "boxes.front.count",
        "boxes.front.bay",
        "boxes.front.fittings 1",
        "car.wheelbase",
    }
    assert len(str(caught.value).splitlines()) == 6


def test_a_problem_reads_as_file_line_key_sentence(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    text = GOOD.replace("m590", "m59")
    with pytest.raises(BadInput) as caught:
        read(tmp_path, text)
    line = line_of(text, "module")
    assert str(caught.value) == f"job.toml:{line}: boxes.front.module: unknown module 'm59'; did you mean 'm590'?"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "job = 3",
        "boxes = 3",
        "[boxes]\nfront = 3",
        "bays = []",
        "units = 3",
        "car = [1]",
        "[[job]]",
        "[boxes.a]",
        "x=1",
    ],
)
def test_a_job_of_the_wrong_shape_is_told(tmp_path, text):
    with pytest.raises(BadInput):
        read(tmp_path, text)


VALUES = st.one_of(
    st.integers(-10, 10**20),
    st.floats(),
    st.booleans(),
    st.text(max_size=8),
    st.lists(st.integers(-3, 3), max_size=4),
    st.sampled_from(["612 mm ± 3 mm", "3/4 in", "nan", "m590"]),
)


def as_toml(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return '"' + "".join(f"\\U{ord(c):08x}" for c in value if not 0xD800 <= ord(c) <= 0xDFFF) + '"'
    return str(value)


@given(row=st.integers(0, len(GOOD.splitlines()) - 1), value=VALUES)
def test_any_value_anywhere_is_read_or_refused(tmp_path_factory, row, value):
    """Never another exception: a person sees sentences, not a traceback."""
    rows = GOOD.splitlines()
    key, equals, _ = rows[row].partition(" = ")
    rows[row] = f"{key} = {as_toml(value)}" if equals and key.isidentifier() else ""
    try:
        read(tmp_path_factory.getbasetemp(), "\n".join(rows))
    except BadInput as bad:
        told = str(bad)
    else:
        told = "read"
    assert told


def test_a_job_s_own_module_is_found_beside_it(tmp_path):
    source = (room("parts") / "modules" / "demo.toml").read_text(encoding="utf-8")
    (tmp_path / "parts" / "modules").mkdir(parents=True)
    own = source[source.index("[m355]") : source.index("[m300t]")].replace("m355", "ours")
    (tmp_path / "parts" / "modules" / "ours.toml").write_text(own, encoding="utf-8")
    job = read(tmp_path, GOOD.replace("m590", "ours"))
    assert job.catalogue.module(job.boxes["front"].module).size == (355.0, 152.0, 108.0)


def test_a_thread_that_no_table_has_is_told_in_the_module_s_file(tmp_path):
    source = (room("parts") / "modules" / "demo.toml").read_text(encoding="utf-8")
    (tmp_path / "parts" / "modules").mkdir(parents=True)
    own = source[source.index("[m355]") : source.index("[m300t]")].replace("m355", "ours").replace('"M6"', '"M7"')
    (tmp_path / "parts" / "modules" / "ours.toml").write_text(own, encoding="utf-8")
    with pytest.raises(BadInput) as caught:
        read(tmp_path, GOOD.replace("m590", "ours"))
    (problem,) = caught.value.problems
    assert problem.file.endswith("ours.toml")
    assert problem.line == line_of(own, "screw")
    assert "unknown screw 'M7'" in problem.message


def test_reading_imports_nothing_heavy():
    """A person waits for this: no CAD kernel, no plotting, no science library, not even numpy."""
    code = (
        "import sys; from pathlib import Path; from baywright.job.read import read_job; "
        f"read_job(Path({str(room('shared') / 'jobs' / 'estate.toml')!r})); "
        "heavy = {'pint', 'numpy', 'scipy', 'cadquery', 'OCP', 'ezdxf', 'matplotlib', 'shapely'} & set(sys.modules); "
        "assert not heavy, heavy"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_nearest_name():
    names = ["m590", "m355", "Workshop"]
    assert nearest("m59", names) == "m590"
    assert nearest("M590", names) == "m590"
    assert nearest("workshp", names) == "Workshop"
    assert nearest("something else", names) is None
    assert unknown("module", "zzz", names) == "unknown module 'zzz'; known: Workshop, m355, m590"
    assert unknown("bay", "front", []) == "unknown bay 'front': there is none yet"


def test_a_wrong_key_in_a_table_that_may_be_left_out_is_told_with_the_right_one(tmp_path):
    drive = """
[drive]
motor = { peak_torqe = 210, peak_power = 95, continuous_power = 38, most_speed = 9000 }
gears = { ratios = [3.4, 1.0], final = 4.1, tyre_radius = 290 }
"""
    with pytest.raises(BadInput, match="did you mean 'peak_torque'"):
        read(tmp_path, GOOD + drive)
