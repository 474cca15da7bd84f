"""Seeded faults of drawings, one a job, each found and cited; none in as many sane drawings.

Expected values: the fault that was put in (analytic); texts are frozen behaviour. What the rules rest on is said in
each finding, all from memory. Where a fault breaks a rule of the job file itself, no standard is cited.
"""

import pytest
from drawn_jobs import STANDARDS, drawn

from trysquare.jobs.loading.load import examine

CITED = ("from memory]", "common practice, no source]")


def swap(job, id_, old, new):
    """Change one requirement."""
    found = [i for i, text in enumerate(job.requirements) if text.startswith(f'id = "{id_}"\n')]
    assert len(found) == 1
    text = job.requirements[found[0]]
    assert text.count(old) == 1, f"{old!r} in {text!r}"
    job.requirements[found[0]] = text.replace(old, new)


def ask(job, text):
    job.requirements.append(text)


def sound(number):
    """A sane drawing in millimetres with letters A, B, C, of one size; its order differs with the number."""
    job = drawn(12 * number, scale=1.0)
    assert (job.units, list(job.datums)) == ("mm", ["A", "B", "C"])
    return job


#: name: (how to spoil the drawing, severity, a part of what, of rule, of found, cited)
FAULTS = {
    "a datum that nobody defines": (
        lambda j: j.datums.pop("C"), "error", 'datum "C" of requirement "5"', "be carried by a feature", '"C"', True,
    ),
    "a datum that is its own feature": (
        lambda j: swap(j, "2", '"A"', '"D"') or j.datums.update({"D": "top"}),
        "error", 'datum "D" of requirement "2"', "another feature than the one judged", '"top"', True,
    ),
    "a form that is not below its orientation": (
        lambda j: ask(j, 'id = "20"\non = "top"\nflatness = { zone = 0.05 }'),
        "warning", 'requirement "20": flatness.zone', 'narrower than the parallelism of the same feature', "0.05", True,
    ),
    "an orientation above its location": (
        lambda j: swap(j, "6", "diameter 0.05", "diameter 0.25"),
        "warning", 'requirement "6": perpendicularity.zone', "narrower than the position of the same", "0.25", True,
    ),
    "a form above its location": (
        lambda j: (
            ask(j, 'id = "20"\non = "top"\nposition = { zone = 0.08, datums = ["A"] }'),
            ask(j, 'id = "21"\non = "top"\nflatness = { zone = 0.1 }'),
            swap(j, "2", 'on = "top"', 'on = "top"\nstate = "free"'),
        ),
        "warning", 'requirement "21": flatness.zone', "narrower than the position of the same feature", "0.1", True,
    ),
    "a flatness wider than the size under Rule #1": (
        lambda j: (
            setattr(j, "standard", "ASME Y14.5-2018"),
            swap(j, "3", "lower = -0.1, upper = 0.1", "lower = -0.005, upper = 0.005"),
        ),
        "warning", 'requirement "1": flatness.zone', 'narrower than the size tolerance of its width (requirement "3"',
        "0.02", True,
    ),
    "a zone wider than the feature is long": (
        lambda j: ask(j, 'id = "20"\non = "left"\nperpendicularity = { zone = 5000, datums = ["A", "B"] }'),
        "note", 'requirement "20": perpendicularity.zone', "no wider than the feature is long", "5000", True,
    ),
    "a zone with a diameter on a plane": (
        lambda j: swap(j, "7", "zone = 0.04", 'zone = "diameter 0.04"'),
        "error", 'requirement "7": perpendicularity.zone', "lie between two planes", "diameter", True,
    ),
    "the size of a plane": (
        lambda j: swap(j, "4", 'on = "bore-1"', 'on = "top"'),
        "error", 'requirement "4": size', "be on one of cylinder", "a plane", True,
    ),
    "a position without datums": (
        lambda j: swap(j, "5", ', datums = ["A", "B", "C"]', ""),
        "error", 'requirement "5": position.datums', "be given", "nothing", True,
    ),
    "square to what it is parallel to": (
        lambda j: swap(j, "2", "parallelism", "perpendicularity"),
        "error", 'requirement "2": perpendicularity', "nominally square to datum A", "0 deg", True,
    ),
    "parallel to what it is square to": (
        lambda j: swap(j, "7", "perpendicularity", "parallelism"),
        "error", 'requirement "7": parallelism', "nominally parallel to datum A", "90 deg", True,
    ),
    "an angle that is not drawn": (
        lambda j: swap(j, "8", '"90 deg"', '"60 deg"'),
        "error", 'requirement "8": angle.nominal', "agree with the nominal features, which give 90 deg", "60", True,
    ),
    "the same asked twice with different zones": (
        lambda j: ask(j, 'id = "20"\non = "top"\nparallelism = { zone = 0.03, datums = ["A"] }'),
        "warning", 'requirement "20"', 'have the limits of requirement "2"', "0.03", True,
    ),
    "the same asked twice": (
        lambda j: ask(
            j, 'id = "20"\non = ["bore-2", "bore-1"]\ndistance = { nominal = 150, lower = -0.1, upper = 0.1 }'
        ),
        "warning", 'requirement "20"', 'stand once: requirement "9"', "150", True,
    ),
    "limits that no part can meet": (
        lambda j: ask(j, 'id = "20"\non = "bore-1"\nsize = { nominal = 40, lower = 0.05, upper = 0.08 }'),
        "error", 'requirement "20"', 'a part that meets requirement "4"', "+0.05 / +0.08", True,
    ),
    "empty limits": (
        lambda j: swap(j, "4", "lower = 0, upper = 0.025", "lower = 0.025, upper = 0"),
        "error", 'requirement "4": size.upper', "lie above lower", "lower 0.025, upper 0", True,
    ),
    "a size that may be nothing": (
        lambda j: swap(j, "4", "lower = 0,", "lower = -40,"),
        "error", 'requirement "4": size', "leave a size above zero", "40", True,
    ),
    "degrees for a length": (
        lambda j: swap(j, "4", "upper = 0.025", 'upper = "0.025 deg"'),
        "error", 'requirement "4": size.upper', "", "deg", False,
    ),
    "an angle without its unit": (
        lambda j: swap(j, "8", 'upper = "0.1 deg"', "upper = 0.1"),
        "error", 'requirement "8": angle.upper', "carry its own unit", "0.1", False,
    ),
    "a datum to which precedence leaves nothing": (
        lambda j: (j.datums.update({"C": "top"}), swap(j, "5", '"A", "B", "C"', '"A", "C", "B"')),
        "error", 'secondary datum "C" of requirement "5"', "fix a freedom that A left open", "fixed twice", True,
    ),
    "a critical part without a signer": (
        lambda j: setattr(j, "part", "safety_critical = true\n"),
        "error", "part.sign_off", "be given for a safety-critical part", "nothing", False,
    ),
    "two letters on one feature": (
        lambda j: (j.datums.update({"D": "base"}), swap(j, "2", '"A"', '"D"')),
        "warning", 'datum "D"', '"base" has A already', '"base" again', True,
    ),
    "a letter that nothing refers to": (
        lambda j: j.datums.update({"D": "top"}), "note", 'datum "D"', "be used by some requirement", "no", True,
    ),
    "a requirement newer than its drawing": (
        lambda j: swap(j, "2", 'revision = "B"', 'revision = "D"'),
        "warning", 'requirement "2": revision', 'no newer than the drawing, revision "C"', '"D"', True,
    ),
    "a state in which the part is not measured": (
        lambda j: swap(j, "2", 'on = "top"', 'on = "top"\nstate = "restrained"'),
        "warning", 'requirement "2": state', "the state in which the part is measured", "the part is free", True,
    ),
    "two features that are each other's datum": (
        lambda j: (
            j.datums.update({"D": "top"}),
            ask(j, 'id = "20"\non = "base"\nparallelism = { zone = 0.06, datums = ["D"] }'),
        ),
        "note", 'the primary datum of requirement "20"', 'not judged against this one (requirement "2")', "top", True,
    ),
    "a datum feature less flat than what is judged against it": (
        lambda j: swap(j, "1", "zone = 0.02", "zone = 0.045"),
        "note", 'requirement "1": flatness.zone', "judged against its feature as primary datum (7)", "0.045", True,
    ),
}  # fmt: skip


def findings(folder):
    """All that is found in a planned job, with its severity."""
    found = examine(folder, measured=False)
    pairs = (("error", found.errors), ("warning", found.warnings), ("note", found.notes))
    return [(severity, one) for severity, several in pairs for one in several]


@pytest.mark.parametrize("name", FAULTS)
def test_one_fault_is_one_finding_and_says_what_its_rule_rests_on(name, tmp_path):
    spoil, severity, what, rule, found, cited = FAULTS[name]
    number = list(FAULTS).index(name)
    job = sound(number)
    job.standard = STANDARDS[number % 3]
    spoil(job)
    ((how, one),) = findings(job.write(tmp_path / "job"))
    assert how == severity
    for said, part in ((one.what, what), (one.rule, rule), (one.found, found)):
        assert part in said
    assert one.rule.endswith(CITED) == cited
    assert one.where.startswith("job.toml:")
    assert one.way_out


#: Near misses: as close to a fault as a sane drawing comes.
SANE = {
    "a form just below its orientation": lambda j: ask(j, 'id = "20"\non = "top"\nflatness = { zone = 0.049 }'),
    "an orientation to a datum that the location does not begin with": lambda j: (
        j.datums.update({"D": "top"}), swap(j, "6", "0.05", "0.25"), swap(j, "6", '"A"', '"D"'),
    ),
    "a wide flatness where sizes do not limit the form": lambda j: swap(
        j, "3", "lower = -0.1, upper = 0.1", "lower = -0.005, upper = 0.005"
    ),
    "a flatness below the size under Rule #1": lambda j: setattr(j, "standard", "ASME Y14.5-2018"),
    "a flatness beside a step under Rule #1": lambda j: (
        setattr(j, "standard", "ASME Y14.5-2018"),
        j.features.update({"ledge": "plane = { point = [150, 100, 20], normal = [0, 0, -1] }"}),
        ask(j, 'id = "20"\non = ["base", "ledge"]\ndistance = { nominal = 20, lower = -0.005, upper = 0.005 }'),
    ),
    "the same asked of another feature": lambda j: ask(
        j, 'id = "20"\non = "bore-2"\nsize = { nominal = 40, lower = 0.05, upper = 0.08 }'
    ),
    "the same asked by another operator": lambda j: ask(
        j, 'id = "20"\non = "bore-1"\nsize = { nominal = 40, lower = 0.03, upper = 0.04, operator = "least-squares" }'
    ),
    "the same asked in another state": lambda j: (
        ask(j, 'id = "20"\non = "top"\nstate = "free"\nparallelism = { zone = 0.03, datums = ["A"] }'),
    ),
    "a size that is always something": lambda j: swap(j, "4", "lower = 0,", "lower = -39.9,"),
    "the revision of the drawing": lambda j: swap(j, "2", 'revision = "B"', 'revision = "C"'),
    "revisions of two kinds": lambda j: swap(j, "2", 'revision = "B"', 'revision = "12"'),
    "a critical part with its signer": lambda j: setattr(
        j, "part", 'safety_critical = true\nsign_off = "the welding engineer"\n'
    ),
    "a restrained part that is demanded so": lambda j: (
        setattr(j, "part", 'state = "restrained"\nsupports = "three clamps"\n'),
        swap(j, "2", 'on = "top"', 'on = "top"\nstate = "restrained"'),
    ),
    "a chain of datums": lambda j: (
        j.datums.update({"D": "top"}), ask(j, 'id = "20"\non = "bore-2"\nperpendicularity = { zone = "diameter 0.1", '
                                           'datums = ["D"] }'),
    ),
    "a datum letter for a common datum": lambda j: (
        j.datums.update({"D": "bore-1", "E": "bore-2"}),
        ask(j, 'id = "20"\non = "left"\nparallelism = { zone = 0.2, datums = ["D-E"] }'),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", SANE)
def test_a_near_miss_is_no_finding(name, tmp_path):
    job = sound(0)
    SANE[name](job)
    assert findings(job.write(tmp_path / "job")) == []


def test_warnings_travel_with_the_job_and_notes_do_not(tmp_path):
    job = sound(0)
    FAULTS["two letters on one feature"][0](job)
    job.datums["F"] = "top"
    found = examine(job.write(tmp_path / "job"), measured=False)
    assert (len(found.errors), len(found.warnings), len(found.notes)) == (0, 1, 1)
    assert found.job.warnings == tuple(map(str, found.warnings))


def test_there_are_twenty_faults_and_more():
    assert len(FAULTS) >= 20


def test_none_is_found_in_twenty_sane_drawings(tmp_path):
    jobs = [drawn(number) for number in range(20)]
    assert len({job.text() for job in jobs}) == 20
    assert len({(job.units, job.standard, tuple(job.datums)) for job in jobs}) > 8
    found = {number: findings(job.write(tmp_path / str(number))) for number, job in enumerate(jobs)}
    assert found == {number: [] for number in range(20)}
