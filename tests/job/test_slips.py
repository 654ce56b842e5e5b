"""What can't be meant, in every table of a job: one sentence each, with the file and the key it stands at."""

from pathlib import Path

import pytest

from baywright.design import design_job
from baywright.job.catalogue import load_catalogue
from baywright.job.faults import read_as
from baywright.job.messages import BadInput
from baywright.job.read import read_job
from baywright.job.style import JointScrew, Panel
from baywright.rooms import room

JOBS = room("shared") / "jobs"
CASE = '[load_cases.hard]\nsource = "invented"\nkind = "crash"\nbasis = "limit state"\ntemperature = 23\n'
# (job, what is changed, into what, key, what is said)
PULSE = "forward = 20\npulse = {{ lengthwise = {}, across = [[0, 0], [10, 8], [30, 0]] }}\n[bays.engine]"
SLIPS = [
    ("estate", "most_voltage = 420", "most_voltage = 180", "pack.controller", "must be more than least_voltage"),
    ("estate", "peak_current = 320", "peak_current = 119", "pack.controller", "at least continuous_current"),
    ("estate", "torques = [80, 105, 98, 78]", "torques = [80, 105]", "drive.engine", "as many torques as speeds"),
    ("estate", "speeds = [1000, 2500,", "speeds = [2500, 2500,", "drive.engine", "speeds must rise"),
    ("estate", "continuous_power = 38", "continuous_power = 96", "drive.motor", "at most peak_power"),
    ("estate", "raised_axle = {", "centroid_height = 500\nraised_axle = {", "car.weighed", "or raised_axle, not both"),
    (
        "estate",
        "opening = { low = [1960, -480], high = [2700, 480] }",
        "opening = { low = [1960, -480] }",
        "bays.rear.opening",
        "give either low and high [x, y], or a plan",
    ),
    (
        "estate",
        "opening = { low = [1960, -480], high = [2700, 480] }",
        "opening = { plan = [[0, 0], [100, 100], [100, 0], [0, 100]] }",
        "bays.rear.opening",
        "the side from corner 1 meets the side from corner 3",
    ),
    ("estate", "[bays.rear]", "[bays.bare]\n[bays.rear]", "bays.bare", "needs at least one block or prism"),
    ("estate", "[bays.engine]", CASE + "[bays.engine]", "load_cases.hard", "needs at least one of forward"),
    (
        "estate",
        "[bays.engine]",
        CASE + PULSE.format("[[20, 0], [10, 20], [30, 0]]"),
        "load_cases.hard.pulse",
        "the times of a pulse must rise: see lengthwise",
    ),
    (
        "estate",
        "[bays.engine]",
        CASE + PULSE.format("[[0, 0], [10, 0], [30, 0]]"),
        "load_cases.hard.pulse",
        "a pulse needs a peak: see lengthwise",
    ),
    ("estate", "[bays.engine]", CASE.replace("limit", "limitt") + "[bays.engine]", "load_cases.hard.basis", "did you"),
    ("rails-estate", "rise = 3", "rise = 3\nsecond = [0, 0, 480]", "rails.motor.shaft", "give either a second point"),
    ("rails-estate", "stand_off = 75", "stand_off = 75\ncount = 2", "rails.motor.motor", "two motors need a pitch"),
    (
        "rails-estate",
        "[rails.motor.cradle.lugs]",
        "[rails.motor.cradle.feet]\nout = 1\nheight = -1\nthickness = 9\nholes = [1, 2]\n[rails.motor.cradle.lugs]",
        "rails.motor.cradle",
        "give either lugs or feet",
    ),
    ("rails-estate", "near = [340, -340, 320]", "at = [0, 0, 0]", "rails.motor.mounts.front-left", "give either at ="),
    ("rails-estate", 'layout = "longitudinal"', 'layout = "direct"', "rails.motor.drive", "has no first gear"),
    ("rails-estate", "mounts.front-left]", 'mounts."front/left"]', "rails.motor", "'front/left' names parts"),
    ("rails-estate", '"front-left" = "681', '"front-lft" = "681', "rails.motor", "'front-lft' is neither a reference"),
    ("rails-estate", 'bay = "drive"', 'bay = "drve"', "rails.motor.bay", "unknown bay 'drve'; did you mean 'drive'?"),
    ("estate-whole", 'adapter = "five-speed"', 'adapter = "six"', "rails.motor.adapter", "unknown adapter 'six'"),
]


@pytest.mark.parametrize(("job", "old", "new", "key", "said"), SLIPS, ids=[f"{s[3]}: {s[4][:24]}" for s in SLIPS])
def test_a_slip_is_said_with_its_key(tmp_path: Path, job: str, old: str, new: str, key: str, said: str) -> None:
    text = (JOBS / f"{job}.toml").read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / "job.toml"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(BadInput) as bad:
        read_job(path)
    told = [p for p in bad.value.problems if said in p.message]
    assert told, str(bad.value)
    assert (told[0].file, told[0].key) == (str(path), key)
    assert told[0].line is not None


@pytest.mark.parametrize(
    ("thickness", "said"),
    [
        ("99 ga", "'99 ga' is no gauge number; write it like '11 ga' (0 to 40)"),
        ("x ga", "is no gauge number"),
        (61, "a thickness of 61 mm is no sheet or plate: 0.2 to 60 mm"),
        (0.1, "0.2 to 60 mm"),
    ],
)
def test_a_sheet_that_nobody_sells(thickness: object, said: str) -> None:
    with pytest.raises(BadInput) as bad:
        read_as(Panel, {"material": "5754-H22", "thickness": thickness}, file=Path("style.toml"), lines={})
    assert said in str(bad.value)
    assert "thickness" in str(bad.value)


def test_screws_that_no_pitch_spreads() -> None:
    """Between 60 and 70 mm: a joint of 100 mm takes neither one gap nor two."""
    rule = {"size": "M5", "head": "button", "pitch_least": 60, "pitch_most": 70, "first_most": 40, "edge_least_d": 2}
    with pytest.raises(BadInput, match="at most three quarters of pitch_most"):
        read_as(JointScrew, rule, file=Path("style.toml"), lines={})
    assert read_as(JointScrew, {**rule, "pitch_least": 52.5}, file=Path("style.toml"), lines={}).pitch_least == 52.5


def test_a_job_that_is_no_ordinary_file_is_not_waited_for() -> None:
    with pytest.raises(BadInput, match="is no ordinary file"):
        read_job(Path("/dev/null"))


ROW = '[own]\nsource = "x"\n'
PATTERNS = [
    ('holes = [{ name = "1", at = [0, 9], kind = "dowel" }]', "a dowel hole needs a diameter and no thread"),
    ('holes = [{ name = "1", at = [0, 9], kind = "tapped" }]', "a tapped hole needs the thread of its bolt"),
    ('circles = [{ circle = 90, kind = "tapped", thread = "M8" }]', "give either count (and first, if it matters)"),
    ("outer = 200", "needs holes: give circles, holes, dxf or readings"),
    (
        'holes = [{ name = "1", at = [0, 9], kind = "tapped", thread = "M8" }, '
        '{ name = "1", at = [9, 0], kind = "tapped", thread = "M8" }]',
        "two holes are called '1'",
    ),
]


@pytest.mark.parametrize(("row", "said"), PATTERNS, ids=[p[1][:24] for p in PATTERNS])
def test_a_pattern_beside_a_job_that_can_t_be_meant(tmp_path: Path, row: str, said: str) -> None:
    path = tmp_path / "parts" / "patterns" / "own.toml"
    path.parent.mkdir(parents=True)
    path.write_text(ROW + row + "\n", encoding="utf-8")
    with pytest.raises(BadInput) as bad:
        load_catalogue(tmp_path / "parts").row("pattern", "own")
    assert said in str(bad.value)
    assert "own.toml" in str(bad.value)


@pytest.mark.parametrize(
    ("circles", "key", "said"),
    [
        ("", "own.pattern", "unknown pattern 'own-bel'; did you mean 'own-bell'?"),
        (
            '[own-bel]\nsource = "x"\ncircles = [\n  { circle = 300, count = 6, kind = "through", thread = "M10" },\n'
            '  { circle = 340, count = 6, kind = "through", thread = "M10", prefix = "1" },\n]\n'
            'holes = [{ name = "11", at = [0, 99], kind = "tapped", thread = "M8" }]\n',
            "own-bel",
            "two holes are called '11'",
        ),
    ],
)
def test_a_gearbox_whose_pattern_can_t_be_had(tmp_path: Path, circles: str, key: str, said: str) -> None:
    """A name that no table has is told when the job is read; holes of one name when the face is made."""
    bell = 'circles = [{ circle = 300, count = 6, kind = "through", thread = "M10" }]\n'
    files = {
        "gearboxes": ROW + 'pattern = "own-bel"\nopening = 236\nflange = 12\n',
        "patterns": '[own-bell]\nsource = "x"\n' + bell + circles,
    }
    for folder, text in files.items():
        path = tmp_path / "parts" / folder / "own.toml"
        path.parent.mkdir(parents=True)
        path.write_text(text, encoding="utf-8")
    text = (JOBS / "adapter-five-speed.toml").read_text(encoding="utf-8")
    (tmp_path / "job.toml").write_text(text.replace('"demo-five-speed"', '"own"'), encoding="utf-8")
    with pytest.raises(BadInput) as bad:
        design_job(read_job(tmp_path / "job.toml"))
    (problem,) = bad.value.problems
    assert said in problem.message
    assert (problem.key, Path(problem.file).name) == (key, "own.toml")


@pytest.mark.parametrize(
    ("key", "name", "said"),
    [
        (
            'corner_angle = "angle-25x25x3"',
            "tube-40x40x3",
            "is of the shape 'tube'; here it must be: angle",
        ),
        ('bearer = "bar-40x15"', "angle-25x25x3", "'angle-25x25x3' is of the shape 'angle'; here it must be: bar"),
        ('spacer = "round-tube-12x2"', "bar-40x10", "here it must be: round tube or tube"),
        ('section = "angle-50x50x5"', "channel-40x80x4", "here it must be: angle"),
        ('adhesive = "epoxy-2k"', "epoxy-3k", "unknown adhesive 'epoxy-3k'; did you mean 'epoxy-2k'?"),
    ],
)
def test_a_style_of_sections_that_it_can_t_be_made_of(tmp_path: Path, key: str, name: str, said: str) -> None:
    """A style beside the job: a tube is no corner angle, and nothing can be screwed to it as if it were."""
    word = key.partition(" =")[0]
    style = (room("shared") / "styles" / "workshop.toml").read_text(encoding="utf-8")
    assert style.count(key) == 1
    own = tmp_path / "parts" / "styles" / "mine.toml"
    own.parent.mkdir(parents=True)
    own.write_text(style.replace("[workshop", "[mine").replace(key, f'{word} = "{name}"'), encoding="utf-8")
    text = (JOBS / "starter.toml").read_text(encoding="utf-8")
    path = tmp_path / "job.toml"
    path.write_text(text.replace("[boxes.front]", '[boxes.front]\nstyle = "mine"', 1), encoding="utf-8")
    with pytest.raises(BadInput) as bad:
        read_job(path)
    (problem,) = bad.value.problems
    assert said in problem.message
    assert problem.key.endswith(word)
    assert (Path(problem.file).name, problem.line is not None) == ("mine.toml", True)
