"""Files read as TOML, and the line on which each key stands."""

import tomllib

import hypothesis.strategies as st
import pytest
from hypothesis import given

from baywright.job.messages import CONTROL, BadInput
from baywright.job.toml import key_lines, line_of, read_toml

TEXT = '''\
# a comment = 1
title = "x"

[car]
name = "a"   # [not.a.table]
sizes.front = 3
note = """
[neither]
this = 1
"""

[bays.engine]
clearance = 10
blocks = [
    { low = 1 },
    { low = 2 },
]

[[bays.engine.keep_outs]]
name = "column"

[[bays.engine.keep_outs]]
name = "pipe"

[bays.engine.keep_outs.more]
deep = 1

["odd name".'b.c']
e = 1
'''


def test_lines_of_keys():
    assert tomllib.loads(TEXT)
    lines = key_lines(TEXT)
    assert lines["title",] == 2
    assert lines["car",] == 4
    assert lines["car", "name"] == 5
    assert lines["car", "sizes"] == 6
    assert lines["car", "sizes", "front"] == 6
    assert lines["car", "note"] == 7
    assert ("neither",) not in lines
    assert ("car", "this") not in lines
    assert lines["bays",] == 12
    assert lines["bays", "engine"] == 12
    assert lines["bays", "engine", "clearance"] == 13
    assert lines["bays", "engine", "blocks"] == 14
    assert lines["bays", "engine", "keep_outs", 0, "name"] == 20
    assert lines["bays", "engine", "keep_outs", 1] == 22
    assert lines["bays", "engine", "keep_outs", 1, "name"] == 23
    assert lines["bays", "engine", "keep_outs", 1, "more", "deep"] == 26
    assert lines["odd name", "b.c", "e"] == 29


def test_line_of_what_has_none_is_that_of_the_table_around_it():
    lines = key_lines(TEXT)
    assert line_of(lines, ("car", "wheelbase")) == 4
    assert line_of(lines, ("bays", "engine", "blocks", 1, "low")) == 14
    assert line_of(lines, ("nothing",)) is None


@given(
    st.dictionaries(
        st.from_regex(r"\A[a-z_]{1,8}\Z"),
        st.dictionaries(st.from_regex(r"\A[a-z_]{1,8}\Z"), st.integers(0, 9), min_size=1, max_size=4),
        min_size=1,
        max_size=5,
    )
)
def test_every_line_found_is_the_line_of_its_key(tables):
    """Written out as tables, every key is found where it was written."""
    rows, where = [], {}
    for table, keys in tables.items():
        rows.append(f"[{table}]")
        where[table,] = len(rows)
        for key, value in keys.items():
            rows.append(f"  {key} = {value}")
            where[table, key] = len(rows)
        rows.append("")
    text = "\n".join(rows)
    assert tomllib.loads(text) == tables
    assert key_lines(text) == where


def write(folder, content: bytes):
    path = folder / "job.toml"
    path.write_bytes(content)
    return path


def test_reads_a_file_with_a_byte_order_mark_and_windows_line_ends(tmp_path):
    data, lines = read_toml(write(tmp_path, b"\xef\xbb\xbfa = 1\r\n[b]\r\nc = 2\r\n"))
    assert data == {"a": 1, "b": {"c": 2}}
    assert lines["b", "c"] == 3


@pytest.mark.parametrize(
    ("content", "line", "says"),
    [
        (b"a = 1\nb = \n", 2, "is no TOML here"),
        (b"a = 1\na = 2\n", 2, "is no TOML here"),
        (b"[a]\n[b]\n[a]\n", 3, "declare a twice"),
        (b"a = 1\nb = 3/4 in\n", 2, "quotes"),
        (b"a = 1\nb = 25 lb\n", 2, "quotes"),
        (b"a = 1\nb = front\n", 2, "quotes"),
        (b'a = "never closed\n', 1, "a quote is missing"),
        (b"a = [1, 2\n", 1, "a list is not closed"),
        (b'x = 0\na = ["b", "c"\nd = 1\n[e]\nf = 2\n', 2, "a list is not closed"),
        ("a = \u201cb\u201d\n".encode(), 1, "straight ones"),
        (b"[boxes front]\n", 1, "joined by a point"),
        (b"[a]\ncount: 3\n", 2, "equals sign"),
        (b"at = (0, 0, 305)\n", 1, "square brackets"),
        (b"wheelbase = 2,400\n", 1, "no comma"),
        (b"at = [0, 0 305]\n", 1, "a comma is missing"),
        (b'fittings = ["a" "b"]\n', 1, "a comma is missing"),
        (b"x = " + b"[" * 5000 + b"]" * 5000, None, "nested too deeply"),
        (b"[" + b"a " * 400_000, 1, "is no TOML here"),
        (b"b = 1\n" + b".".join([b"a"] * 200_000) + b" = 1", 2, "nested too deeply"),
        (b"[" + b" . ".join([b"'a'"] * 100_000) + b"]", 1, "nested too deeply"),
        (b"x = " + b"{a.b.c.d.e.f = " * 300 + b"1" + b"}" * 300, None, "nested too deeply"),
        (b'a = 1\n[b]\nc = ["red", "\\u001b[31mred"]\n', 3, "U+001B"),
        ('a = "txt.\u202eslx"'.encode(), 1, "U+202E"),
        (b'"a\\u009b" = 1', None, "U+009B"),
        (b"a = 1" + b"0" * 5000, None, "can't be read"),
        (b"a = '\xff'", None, "not UTF-8"),
        (b"\x00\x01\x02", 1, "is no TOML here"),
        (b"#" * 1_000_001, None, "over 1 MB"),
    ],
)
def test_a_file_that_is_no_toml_is_refused_with_its_line(tmp_path, content, line, says):
    path = write(tmp_path, content)
    with pytest.raises(BadInput) as caught:
        read_toml(path)
    (problem,) = caught.value.problems
    assert problem.line == line
    assert problem.file.endswith("job.toml")
    assert says in problem.message
    assert CONTROL.search(str(problem)) is None


def test_text_over_several_lines_and_tabs_are_no_control_characters(tmp_path):
    data, _ = read_toml(write(tmp_path, b'a = """one\r\ntwo\tthree"""\n'))
    assert data == {"a": "one\ntwo\tthree"}


def test_no_file_and_a_folder_are_refused(tmp_path):
    with pytest.raises(BadInput, match="no such file"):
        read_toml(tmp_path / "none.toml")
    with pytest.raises(BadInput, match="is a folder"):
        read_toml(tmp_path)
    with pytest.raises(BadInput):
        read_toml(tmp_path / ("x" * 5000))
    with pytest.raises(BadInput):
        read_toml(tmp_path / "a\0b")


@given(content=st.binary(max_size=60))
def test_any_bytes_are_read_or_refused(tmp_path_factory, content):
    path = write(tmp_path_factory.getbasetemp(), content)
    try:
        data, _ = read_toml(path)
    except BadInput:
        return
    assert isinstance(data, dict)
