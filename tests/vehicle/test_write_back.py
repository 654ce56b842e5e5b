"""Job files with other counts: comments stay, nothing else changes, what can't be done is refused."""

import tomllib

import pytest

from baywright.vehicle.write_back import write_back

JOB = """# a job
[job]
name = "x" # not [boxes.front]

[boxes.front]
module = "m1"
count = 3   # as many as the bonnet allows
at = [30, 0, 345]
orientation = "flat" # "side" was tried # twice

# The rear box.
[boxes.rear]
count=5
fittings = [
    "gland", # count = 9
]
"""


def test_only_the_value_changes():
    new = write_back(JOB, {"front": {"count": 2}, "rear": {"count": 6}})
    assert new == JOB.replace("count = 3", "count = 2").replace("count=5", "count=6")


def test_words_numbers_and_lists_and_keys_that_were_not_there():
    new = write_back(JOB, {"front": {"orientation": "side", "at": [31.5, 0, 345], "yaw": 90}})
    said = tomllib.loads(new)["boxes"]["front"]
    assert said == {"module": "m1", "count": 3, "orientation": "side", "at": [31.5, 0, 345], "yaw": 90}
    assert '"side" # "side" was tried # twice' in new
    assert new.index("yaw = 90") < new.index("# The rear box.")


def test_a_box_with_nothing_in_it_is_left_out_but_not_lost():
    new = write_back(JOB, {"rear": None})
    assert "rear" not in tomllib.loads(new)["boxes"]
    assert "# count=5" in new
    assert "left out" in new
    assert "boxes" not in tomllib.loads(write_back(new, {"front": None}))


def test_a_file_that_ends_without_a_line_s_end():
    new = write_back("[boxes.front]\ncount = 3", {"front": {"yaw": 90}})
    assert new == "[boxes.front]\ncount = 3\nyaw = 90\n"


def test_windows_lines_stay_as_they_are():
    new = write_back(JOB.replace("\n", "\r\n"), {"front": {"count": 2, "yaw": 1}})
    assert new.count("\r\n") == new.count("\n")


@pytest.mark.parametrize(
    ("text", "changes", "words"),
    [
        (JOB, {"side": {"count": 1}}, r"no table \[boxes.side\]"),
        ("boxes = { front = { count = 3 } }\n", {"front": {"count": 2}}, "no table"),
        ("[boxes.front]\nat = [\n  1,\n  2,\n]\n", {"front": {"at": [3, 4]}}, "line by line"),
    ],
)
def test_what_cannot_be_changed_by_line_is_refused(text, changes, words):
    with pytest.raises(ValueError, match=words):
        write_back(text, changes)
