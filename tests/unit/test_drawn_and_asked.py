"""Features drawn off the nominal of the requirement on them, by more than its zone: a warning with both numbers."""

import pytest
from job_folder import job_with

from trysquare.jobs.loading.load import examine, load

TOML = "job.toml"
APART = 'distance = { nominal = 180, lower = "-0.002 in", upper = "0.002 in" }'
BORE = "size = { nominal = 50, lower = 0, upper = 0.039 }"
CORNER = 'angle = { nominal = "90 deg", lower = "-0.05 deg", upper = "0.05 deg" }'


def said(folder):
    found = examine(folder)
    assert found.errors == ()
    return [w for w in found.warnings if "as drawn" in w.rule]


def test_a_sound_drawing_says_nothing(tmp_path):
    """Negative twin."""
    assert said(job_with(tmp_path)) == []


@pytest.mark.parametrize(
    ("old", "new", "drawn", "asked"),
    [
        (APART, APART.replace("180", "181"), "180 mm", "181 mm"),
        (APART, APART.replace("180", "180.15"), "180 mm", "180.15 mm"),
        (BORE, BORE.replace("50,", "50.1,"), "50 mm", "50.1 mm"),
        (CORNER, CORNER.replace('"90 deg"', '"90.2 deg"'), "90 deg", "90.2 deg"),
        (APART, "distance = { nominal = 179.5, upper = 0.1 }", "180 mm", "179.5 mm"),
    ],
)
def test_both_numbers_are_told(old, new, drawn, asked, tmp_path):
    folder = job_with(tmp_path, (TOML, old, new))
    (warning,) = said(folder)
    assert warning.rule == f"agree with the features as drawn, which give {drawn} [common practice, no source]"
    assert warning.found == f"{asked}, farther off than its zone is wide"
    assert warning.where.startswith("job.toml:")
    assert "One of the two is a slip" in warning.way_out
    assert str(warning) in load(folder).warnings, "it travels with the results"


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (APART, APART.replace("180", "180.1")),  # the zone is 0.1016 wide
        (BORE, "size = { nominal = 50, lower = 0.03, upper = 0.06 }"),  # a fit that lies beside its nominal
        (APART, "distance = { nominal = 179.5, lower = 0 }"),  # at least 179.5: drawn within
        (APART, "distance = { nominal = 180, upper = -0.05 }"),  # at most 179.95, drawn at the nominal
        (APART, "distance = { nominal = 180.0009, lower = -0.0001, upper = 0.0001 }"),  # rounded coordinates
    ],
)
def test_what_is_no_slip(old, new, tmp_path):
    assert said(job_with(tmp_path, (TOML, old, new))) == []
