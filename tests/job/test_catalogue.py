"""The catalogue: every shipped row holds, names are looked up kindly, a job's own parts are added or refused."""

import pytest

from baywright.job.catalogue import KINDS, load_catalogue
from baywright.job.messages import BadInput
from baywright.job.parts import Module
from baywright.rooms import room

OWN_MODULE = """
[units]
length = "in"
mass = "lb"

[{name}]
description = "our own"
source = "measured"
size = [20, 8, "108 mm"]
mass = 50
centre_of_mass = [0, 0, 2]
gap = [0.25, 0.25, 0.25]
hold_downs = [{{ axis = "z", screw = "M6", hole = "6.6 mm", seat = "108 mm", positions = [[-9, -3], [9, 3]] }}]

[{name}.electrical]
series = 12
capacity = 60
nominal_voltage = 44
full_voltage = 50
cutoff_voltage = 36
continuous_current = 100
peak_current = 300
resistance_mohm = 9
"""


@pytest.fixture(scope="module")
def catalogue():
    return load_catalogue(None)


@pytest.mark.parametrize("kind", KINDS)
def test_every_shipped_row_holds_and_names_its_source(catalogue, kind):
    names = catalogue.names(kind)
    assert names
    for name in names:
        row = catalogue.row(kind, name)
        assert row.name == name
        assert len(row.source) > 5


def test_rows_name_only_what_there_is(catalogue):
    """Materials of sections and sheets, threads of modules, inserts and fittings, everything a style names."""
    for name in catalogue.names("section"):
        catalogue.material(catalogue.section(name).material)
    for name in catalogue.names("sheet"):
        catalogue.material(catalogue.sheet(name).material)
    for name in catalogue.names("insert"):
        row = catalogue.insert(name)
        assert row.hole > float(catalogue.screw(row.thread).name[1:])
    for name in catalogue.names("module"):
        for group in catalogue.module(name).hold_downs:
            assert group.hole >= catalogue.screw(group.screw).clearance.fine
    for name in catalogue.names("fitting"):
        fixing = catalogue.fitting(name).fixing
        if fixing is not None:
            assert fixing.hole >= catalogue.screw(fixing.screw).clearance.fine
    for name in catalogue.names("style"):
        style = catalogue.style(name)
        for key in ("corner_angle", "floor_angle", "flange_angle", "ledge_angle"):
            assert catalogue.section(getattr(style, key)).shape == "angle"
        for key in ("bearer", "clamp_bar"):
            assert catalogue.section(getattr(style, key)).shape == "bar"
        assert catalogue.section(style.spacer).shape == "round tube"
        for key in ("wall", "floor", "lid", "doubler", "liner", "gasket"):
            catalogue.material(getattr(style, key).material)
        adhesive = catalogue.adhesive(style.adhesive)
        assert adhesive.bond_line.least <= style.bond_line <= adhesive.bond_line.most
        assert catalogue.insert(style.lid_screw.insert).thread == style.lid_screw.size


def test_a_fitting_s_body_and_screws_stay_in_its_own_room(catalogue):
    for name in catalogue.names("fitting"):
        row = catalogue.fitting(name)
        wide, high = row.keep_out
        across = row.body.size or (row.body.diameter, row.body.diameter)
        assert across[0] <= wide
        assert across[1] <= high
        hole = row.cut_out.size or (row.cut_out.diameter, row.cut_out.diameter)
        assert hole[0] <= across[0]
        assert hole[1] <= across[1]
        assert row.outside.depth <= row.outside_depth
        assert row.inside.depth <= row.inside_depth
        if row.fixing is not None:
            for x, y in row.fixing.positions:
                assert abs(x) + row.fixing.hole / 2 < across[0] / 2
                assert abs(y) + row.fixing.hole / 2 < across[1] / 2


def test_a_liner_does_not_conduct(catalogue):
    for name in catalogue.names("style"):
        assert not catalogue.material(catalogue.style(name).liner.material).conductive


def test_unknown_names_say_what_is_near(catalogue):
    with pytest.raises(BadInput, match=r"unknown module 'm59'; did you mean 'm590'\?"):
        catalogue.module("m59")
    with pytest.raises(BadInput, match=r"unknown screw 'M7'; did you mean 'M\d'\?"):
        catalogue.screw("M7")
    with pytest.raises(BadInput, match="unknown adhesive 'glue'; known: acrylic-2k, epoxy-2k"):
        catalogue.adhesive("glue")


def own(tmp_path, text: str, file: str = "modules/own.toml"):
    path = tmp_path / "parts" / file
    path.parent.mkdir(parents=True)
    path.write_text(text, encoding="utf-8")
    return tmp_path / "parts"


def test_a_job_s_own_parts_are_added_in_their_own_units(tmp_path, catalogue):
    both = load_catalogue(own(tmp_path, OWN_MODULE.format(name="ours")))
    row = both.module("ours")
    assert row.size == pytest.approx((508.0, 203.2, 108.0))
    assert row.mass == pytest.approx(22.6796185)
    assert both.module("m590") == catalogue.module("m590")
    assert "ours" not in catalogue.names("module")


def test_a_name_of_the_shop_s_is_refused(tmp_path):
    with pytest.raises(BadInput) as caught:
        load_catalogue(own(tmp_path, OWN_MODULE.format(name="m590")))
    (problem,) = caught.value.problems
    assert problem.file.endswith("own.toml")
    assert problem.line == 6
    assert "choose another name" in problem.message


def test_a_wrong_row_names_its_file_line_and_key(tmp_path):
    text = OWN_MODULE.format(name="ours").replace("mass = 50", 'mass = "50 mm"').replace("gap", "gaps")
    bad = load_catalogue(own(tmp_path, text))
    with pytest.raises(BadInput) as caught:
        bad.module("ours")
    told = {(p.line, p.key): p.message for p in caught.value.problems}
    assert "does not measure a mass" in told[10, "ours.mass"]
    assert "did you mean 'gap'?" in told[12, "ours.gaps"]
    assert told[6, "ours.gap"].startswith("is needed")


def test_a_row_that_is_no_table_is_refused(tmp_path):
    with pytest.raises(BadInput, match="expected a table"):
        load_catalogue(own(tmp_path, "ours = 3\n"))


def test_units_that_are_none_are_refused(tmp_path):
    bad = load_catalogue(own(tmp_path, OWN_MODULE.format(name="ours").replace('"in"', '"furlong"')))
    with pytest.raises(BadInput, match="'furlong' is not a unit known here"):
        bad.module("ours")


def test_a_folder_that_is_not_there_adds_nothing(tmp_path, catalogue):
    assert load_catalogue(tmp_path / "parts").names("module") == catalogue.names("module")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("centre_of_mass = [0, 0, 2]", "centre_of_mass = [0, 0, 9]", "outside the module"),
        ("[[-9, -3], [9, 3]]", "[[-9, -3], [19, 3]]", "lies outside the module"),
        ('seat = "108 mm"', 'seat = "208 mm"', "above the module"),
        ("cutoff_voltage = 36", "cutoff_voltage = 46", "voltages must rise"),
        ("peak_current = 300", "peak_current = 30", "at least continuous_current"),
        ("series = 12", "series = 0", "must be at least 1"),
        ("series = 12", "series = true", "expected a whole number, got true"),
        ("resistance_mohm = 9", "resistance_mohm = inf", "expected a number"),
        ('axis = "z"', 'axis = "w"', "none of x, y, z"),
        ("[[-9, -3], [9, 3]]", "[[-9, -3]]", "at least 2 entries"),
    ],
)
def test_a_module_that_cannot_be_is_refused(tmp_path, old, new, says):
    text = OWN_MODULE.format(name="ours")
    assert old in text
    bad = load_catalogue(own(tmp_path, text.replace(old, new)))
    with pytest.raises(BadInput) as caught:
        bad.module("ours")
    assert says in str(caught.value)
    assert all(p.line for p in caught.value.problems)


def test_a_section_needs_what_its_shape_needs(tmp_path):
    text = '[a]\nsource = "ours"\nshape = "{}"\nsize = {}\n{}material = "steel"\n'
    for shape, size, thickness, says in (
        ("angle", "[30, 30]", "", "needs a thickness"),
        ("angle", "[30]", "thickness = 3\n", "takes 2 sizes"),
        ("rod", "[30, 30]", "", "takes 1 size"),
        ("tube", "[30, 5]", "thickness = 3\n", "thicker than half"),
        ("tubes", "[30, 50]", "thickness = 3\n", "did you mean 'tube'"),
    ):
        folder = tmp_path / f"{shape}{size}"
        bad = load_catalogue(own(folder, text.format(shape, size, thickness), "sections/a.toml"))
        with pytest.raises(BadInput, match=says):
            bad.section("a")


def test_a_low_seat_needs_its_recess() -> None:
    """A head that rests below the module's top needs to be told how much room it has."""
    rows = load_catalogue().module("m355").model_dump()
    rows["hold_downs"][0]["recess"] = None
    with pytest.raises(ValueError, match="seat 16 mm lies 92 mm below the far face: give recess"):
        Module.model_validate(rows)


def test_a_job_beside_the_shops_own_parts_reads_them_once():
    assert load_catalogue(room("parts")).names("module") == load_catalogue().names("module")


OURS = """
[ours]
description = "our own router"
source = "measured on a test cut"
kerf_policy = "drawn nominal"
kerf = 6.0
least_hole_to_thickness = 0.5
least_hole = 6.2
least_web_to_thickness = 1.0
least_web = 3.0
text = false
dxf_version = "R2010"
layers = "by meaning"
tolerance = 0.1
inner_corner_radius = 3.0
"""


@pytest.mark.parametrize("file", ["cutters.toml", "cutters/ours.toml"])
def test_a_job_may_bring_rows_of_every_kind(tmp_path, catalogue, file):
    path = tmp_path / "parts" / file
    path.parent.mkdir(parents=True)
    path.write_text(OURS, encoding="utf-8")
    both = load_catalogue(tmp_path / "parts")
    assert both.cutter("ours").least_hole == 6.2
    assert both.names("cutter") == sorted([*catalogue.names("cutter"), "ours"])


def test_what_lies_where_nobody_reads_it_is_told(tmp_path):
    (tmp_path / "parts" / "module").mkdir(parents=True)
    (tmp_path / "parts" / "module" / "mine.toml").write_text(OWN_MODULE.format(name="mine"), encoding="utf-8")
    (tmp_path / "parts" / "mine.toml").write_text(OWN_MODULE.format(name="mine"), encoding="utf-8")
    with pytest.raises(BadInput) as caught:
        load_catalogue(tmp_path / "parts")
    told = [p.message for p in caught.value.problems]
    assert told[0].startswith("lies where no kind of part is read")
    assert told[1] == "is not read: name the folder 'modules'"


@pytest.mark.parametrize(
    ("kind", "name", "good"),
    [("screw", "own", False), ("screw", "M0", False), ("screw", "M14", True), ("bolt", "3/0-16", False),
     ("bolt", "5/8-11", True)],
)  # fmt: skip
def test_a_screw_is_called_by_its_thread(catalogue, kind, name, good):
    """Its diameter is read off its name, so a name that says none is refused."""
    row = catalogue.row(kind, {"screw": "M12", "bolt": "1/2-13"}[kind])
    model = type(row)
    if good:
        assert model.model_validate({**row.model_dump(), "name": name}).name == name
    else:
        with pytest.raises(ValueError, match="is called by its"):
            model.model_validate({**row.model_dump(), "name": name})
