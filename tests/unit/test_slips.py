"""Readings of one aim that contradict each other: named, nothing stated of what rests on them, the rest as before."""

import pytest
from job_folder import job_with

from trysquare.core.errors import FormatError
from trysquare.jobs.judge import judge
from trysquare.jobs.loading.load import examine, load

ONE, BORES = "station-1.csv", "bores.csv"
LEFT = "left,1,1,ball-12,36.600435,-25.018681,2790.1604\n"
#: On the left face (6) or on it as a datum (3); by a hand tool (2, 7); on neither (4, 5).
LEFT_TOO, HAND, ELSEWHERE = {"3", "6"}, {"2", "7"}, {"4", "5"}


def other_face(range_mm):
    """The first point of the left face read in face 2 as well."""
    return ONE, LEFT, f"{LEFT}left,1,2,ball-12,36.600440,-25.018690,{range_mm:.4f}\n"


def tie(row, mm, by):
    return ONE, f"{row},{mm}", f"{row},{mm + by:.4f}"


T4_FACE_2 = ("T4,1,2,ball-12,46.961288,-22.508641", 3103.2635)
T3_FACE_2 = ("T3,1,2,ball-12,33.223098,-13.017676", 3462.7869)


def judged(folder):
    result = judge(load(folder), draws=300)
    return result, {r.id: r for r in result.requirements}


@pytest.fixture(scope="module")
def healthy(tmp_path_factory):
    return judged(job_with(tmp_path_factory.mktemp("healthy"), other_face(2790.1622)))


def test_a_healthy_job_says_nothing(healthy):
    """Negative twin."""
    result, found = healthy
    assert not any("contradict" in (r.reason or "") for r in result.requirements)
    assert not any("agree with" in warning for warning in result.warnings)
    assert {r.verdict for r in result.requirements} == {"accept", "undecided"}
    assert all(found[id_].verdict == "accept" for id_ in LEFT_TOO | HAND | ELSEWHERE)


@pytest.mark.parametrize("off_mm", [1.0, 10_000.0])
def test_one_face_off(off_mm, healthy, tmp_path):
    result, found = judged(job_with(tmp_path, other_face(2790.1622 + off_mm)))
    for id_ in LEFT_TOO:
        assert found[id_].verdict == "undecided"
        assert 'the readings of "left/1" (station-1.csv, lines 11 and 12) contradict each other' in found[id_].reason
        assert found[id_].interval is None
        assert found[id_].next.text.startswith("Cannot be stated")
        assert "Measure it again, or strike the wrong one" in found[id_].reason
    for id_ in HAND | ELSEWHERE:
        assert found[id_].verdict == "accept"
        assert found[id_].value == pytest.approx(healthy[1][id_].value, abs=1e-7)
        assert abs(found[id_].U / healthy[1][id_].U - 1) < 1e-4
    (warning,) = [w for w in result.warnings if "agree with" in w]
    assert warning.startswith('station-1.csv:12: the reading of "left/1" must agree with line 11 within the declared')
    assert {1.0: "1.002 mm apart, 176 times", 10_000.0: "10 m apart, over 1000 times"}[off_mm] in warning
    assert "what rests on it is not stated" in warning


def test_a_small_slip_is_only_a_warning(healthy, tmp_path):
    """Beyond what is explained, not grossly so: named, and judged all the same."""
    result, found = judged(job_with(tmp_path, other_face(2790.1622 + 0.035)))
    (warning,) = [w for w in result.warnings if "agree with" in w]
    assert "not stated" not in warning
    assert all(found[id_].reason is None for id_ in LEFT_TOO)


def test_a_tie_point_off_in_one_face(tmp_path):
    _, found = judged(job_with(tmp_path, tie(*T4_FACE_2, 1.0)))
    for id_ in ("3", "4"):
        assert found[id_].verdict == "undecided"
        assert 'the readings of "T4" (station-1.csv, lines 9 and 10)' in found[id_].reason
    assert all(found[id_].verdict == "accept" for id_ in HAND | {"5", "6"}), "what one station saw alone stands"


def test_where_too_little_is_left_the_slips_are_told_not_what_follows_from_them(tmp_path):
    folder = job_with(tmp_path, tie(*T4_FACE_2, 1.0), tie(*T3_FACE_2, 2.0))
    found = examine(folder)
    assert [error.where for error in found.errors] == ["station-1.csv:8", "station-1.csv:10"]
    with pytest.raises(FormatError, match="Measure it again"):
        load(folder)


def test_one_hand_reading_off(tmp_path):
    _, found = judged(job_with(tmp_path, (BORES, "2,top,50.015,", "2,top,50.515,")))
    assert found["2"].verdict == "undecided"
    assert 'the readings of "2, top" (bores.csv, lines 2 and 3)' in found["2"].reason
    assert all(found[id_].verdict == "accept" for id_ in LEFT_TOO | ELSEWHERE | {"7"})


def test_check_says_the_same_as_judge(tmp_path):
    folder = job_with(tmp_path, other_face(2791.1622))
    looked = examine(folder)
    assert looked.errors == ()
    said = [str(w) for w in looked.warnings if "agree with" in w.rule]
    assert len(said) == 1
    assert judge(load(folder), draws=300, seed=99).warnings.count(said[0]) == 1
