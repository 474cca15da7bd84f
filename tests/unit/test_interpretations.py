"""Every reading of the drawing is said aloud; the texts are frozen behaviour."""

import pytest
from job_folder import job_with

from trysquare.jobs.interpret import interpretations
from trysquare.jobs.loading.load import load

TOML = "job.toml"
STATION = '[[station]]\nname = "1"'


def said(tmp_path, *edits):
    """Texts by what they are about, of a job planned."""
    job = load(job_with(tmp_path, *edits), measured=False)
    out = {}
    for one in interpretations(job, {"7"}):
        out[one.about] = f"{out.get(one.about, '')} {one.text}".strip()
    return out


def test_a_restrained_part_is_printed_with_what_held_it(tmp_path):
    state = 'state = "restrained"\nsupports = "three pads, two clamps at 200 N"\n'
    found = said(tmp_path, (TOML, 'serial = "0003"\n', f'serial = "0003"\n{state}'))["state of the part"]
    assert "measured restrained, by three pads, two clamps at 200 N" in found
    assert "hold in that state" in found


def test_a_free_part_says_that_its_weight_is_not_corrected(tmp_path):
    assert "free state" in said(tmp_path)["state of the part"]


@pytest.mark.parametrize(
    ("standard", "words"), [("ISO 8015:2011", "ISO 14405-1:2016, LP"), ("ASME Y14.5-2018", "Rule")]
)
def test_size_is_read_as_the_standard_has_it(tmp_path, standard, words):
    found = said(tmp_path, (TOML, 'standard = "ISO 8015:2011"', f'standard = "{standard}"'))["requirement 2"]
    assert words in found
    assert ("ISO" in found) == standard.startswith("ISO")


@pytest.mark.parametrize(
    ("shape", "zone", "words"),
    [
        ("sphere = { point = [120, 80, 40], diameter = 50, inside = true }", "diameter 0.1", "least squares sphere"),
        ("circle = { point = [120, 80, 40], normal = [0, 0, 1], diameter = 50, inside = true }", "diameter 0.1",
         "least squares circle"),
        ("plane = { point = [120, 80, 40], normal = [0, 0, 1] }", "0.1", "the whole surface counts"),
    ],
)  # fmt: skip
def test_a_position_says_what_lies_in_the_zone(tmp_path, shape, zone, words):
    new = '[[requirement]]\nid = "P"\non = "new"\nposition = { zone = "%s", datums = ["A", "B", "C"] }\n' + STATION
    feature = (TOML, "[feature.left]", f"[feature.new]\n{shape}\n[feature.left]")
    found = said(tmp_path, feature, (TOML, STATION, new % zone))
    assert words in found["requirement P"]


def test_along_a_direction_says_in_which_frame(tmp_path):
    edit = (TOML, 'upper = "0.002 in" }', 'upper = "0.002 in", along = [1, 0, 0] }')
    assert "in the frame that all measured features together fit best" in said(tmp_path, edit)["requirement 4"]
