"""The catalogue: what a class file must say, how a certificate replaces a figure, whether the figures are plausible."""

import copy
import tomllib
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

import trysquare.instruments.catalogue as catalogue
from trysquare.chance.sources import Draws
from trysquare.core.errors import InputError
from trysquare.instruments.base import Sighting
from trysquare.instruments.catalogue import build, class_of, classes, instrument_class, parameters
from trysquare.instruments.hand import HandTool

TRADE = {
    "laser tracker", "articulated arm", "tracked probe", "hand-held scanner", "tripod scanner", "photogrammetry",
    "lab measuring machine", "calliper", "micrometer", "bore gauge", "height gauge",
}  # fmt: skip
FOLDER = Path(catalogue.__file__).parent


def _table(name: str = "laser-tracker") -> dict:
    return tomllib.loads((FOLDER / f"{name}.toml").read_text(encoding="utf-8"))


def test_the_classes_of_the_trade_are_there_and_can_be_built():
    assert set(classes()) == TRADE
    for name, chosen in classes().items():
        tool = build(name, "unit 7")
        assert tool.name == "unit 7"
        assert isinstance(tool, HandTool) is chosen.by_hand
        assert chosen.needs
        assert chosen.cost.job_EUR[0] <= chosen.cost.job_EUR[1]


def test_every_figure_says_where_it_is_from():
    for chosen in classes().values():
        for figure in chosen.parameters.values():
            assert "no source" in figure.origin or any(w in figure.origin for w in ("ISO", "GUM", "VDI/VDE"))
        assert "no source" in chosen.cost.origin


def test_what_a_class_can_measure():
    bore = instrument_class("bore gauge")
    assert bore.can_measure("size", ("cylinder",), inside=True)
    assert not bore.can_measure("size", ("cylinder",), inside=False)
    assert not bore.can_measure("position", ("cylinder",), inside=True)
    assert instrument_class("laser tracker").can_measure("distance", ("plane", "cylinder"), inside=True)
    assert not instrument_class("photogrammetry").can_measure("size", ("cylinder",))


def test_a_certificate_replaces_a_generic_figure():
    generic = parameters("laser tracker")["range_constant"]
    given = {"range_constant": {"u": "0.5 um", "origin": "certificate 118, 2026-02", "dof": 20}}
    for overrides in (given, {"source": given}):
        mine = parameters("laser tracker", overrides)["range_constant"]
        assert_allclose([mine.u, mine.dof], [0.5e-3, 20], rtol=1e-12)
        assert mine.origin == "certificate 118, 2026-02"
        assert (mine.scope, mine.link, mine.unit) == (generic.scope, generic.link, "mm")
    assert parameters("laser tracker")["range_constant"] == generic  # the class itself is untouched


def test_units_limits_and_doubt():
    """Analytic: GUM 4.3.7 (rectangular: a / sqrt 3) and G.4.2 (25 %: 8 degrees of freedom)."""
    mine = parameters("laser tracker", {"collimation": {"u": "1 arcsec", "doubt": "25 %"}})["collimation"]
    assert_allclose([mine.u, mine.dof], [np.pi / 648000, 8.0], rtol=1e-12)
    assert "no origin" in mine.origin
    mine = parameters("calliper", {"indication": {"limit": "0.001 in"}})["indication"]
    assert_allclose(mine.u, 0.0254 / np.sqrt(3), rtol=1e-12)
    assert mine.distribution == "rectangular"
    assert np.isinf(mine.dof)


@pytest.mark.parametrize(
    ("overrides", "way_out"),
    [
        ({"range_konstant": {"u": "1 um"}}, '"range_constant"'),
        ({"range_constant": {"uu": "1 um"}}, '"u"'),
        ({"range_constant": {"u": 1.0}}, "text"),
        ({"range_constant": {"u": "1"}}, "text"),
        ({"range_constant": {"u": "1 urad"}}, "as listed"),
        ({"range_constant": {"u": "1,5 um"}}, "1.5 um"),
        ({"range_constant": {"u": "1 um", "limit": "2 um"}}, "u = "),
        ({"range_constant": {"origin": "certificate"}}, "u = "),
        ({"range_constant": {"u": "1 um", "dof": 5, "doubt": 0.3}}, "Drop"),
        ({"range_constant": {"u": "-1 um"}}, "standard uncertainty"),
        ({"range_constant": {"limit": "1 um", "distribution": "normal"}}, "Give u"),
        ({"range_constant": {"u": "1 um", "doubt": 3}}, "quarter"),
        ({"range_constant": {"u": "1 um", "scope": "reading"}}, "Correct"),
        ({"range_constant": "1 um"}, "{ u ="),
    ],
)
def test_wrong_overrides_are_refused_with_a_way_out(overrides, way_out):
    with pytest.raises(InputError) as caught:
        build("laser tracker", "tracker-1", overrides)
    assert way_out in caught.value.way_out
    assert caught.value.where


def test_unknown_class_gets_the_nearest_name():
    with pytest.raises(InputError, match='"laser tracker"'):
        build("lasertracker", "x")


def _without(key: str):
    def change(table: dict) -> None:
        del table[key]

    return change


def _set(*path: str, value: object):
    def change(table: dict) -> None:
        for key in path[:-1]:
            table = table[key]
        table[path[-1]] = value

    return change


@pytest.mark.parametrize(
    ("change", "word"),
    [
        (_without("name"), "name"),
        (_without("needs"), "needs"),
        (_set("reech", value="3 m"), '"reach"'),
        (_set("model", value="trackr"), '"tracker"'),
        (_set("reach", value="0.1 m"), "grow"),
        (_set("features", value=["plain"]), '"plane"'),
        (_set("where", value="moon"), "laboratory"),
        (_set("cost", "job_EUR", value=[5]), "low and high"),
        (_set("source", "range_noise", "scope", value="readings"), "scope"),
        (_set("source", "range_noise", "link", value="nowhere"), "link"),
        (_set("source", "range_noise", "origin", value=None), "origin"),
        (_set("source", "range_noise", "sope", value="reading"), '"scope"'),
        (_set("source", "range_noise", "u", value=0.0015), "unit"),
        (_set("source", "range_nose", value={}), '"range_noise"'),
    ],
)
def test_a_class_file_is_read_strictly(change, word):
    table = copy.deepcopy(_table())
    class_of(table, where="mine.toml")  # as it stands it is right
    change(table)
    with pytest.raises(InputError) as caught:
        class_of(table, where="mine.toml")
    assert word in str(caught.value)
    assert "mine.toml" in caught.value.where


def test_a_missing_figure_of_the_model_is_named():
    table = _table("calliper")
    del table["source"]["resolution"]
    mine = class_of(table, where="mine.toml")
    with pytest.raises(InputError, match='no "resolution"'):
        build("calliper", "c", known={"calliper": mine})


def test_own_folder_of_classes(tmp_path):
    text = (FOLDER / "calliper.toml").read_text(encoding="utf-8")
    (tmp_path / "mine.toml").write_text(text.replace('name = "calliper"', 'name = "long calliper"'), encoding="utf-8")
    assert list(classes(tmp_path)) == ["long calliper"]
    (tmp_path / "same.toml").write_text((tmp_path / "mine.toml").read_text(encoding="utf-8"), encoding="utf-8")
    with pytest.raises(InputError, match="twice"):
        classes.__wrapped__(tmp_path)
    (tmp_path / "same.toml").write_text("name = ", encoding="utf-8")
    with pytest.raises(InputError, match="TOML"):
        classes.__wrapped__(tmp_path)
    with pytest.raises(InputError, match="none"):
        classes(tmp_path / "nothing")


# name, distance from the instrument mm, length mm, plausible u of that length in um. Common practice, no source:
# about half of what acceptance tests after ISO 10360-2, -10, -12 and -13 usually permit.
PLAUSIBLE = [
    ("laser tracker", 3000, 2000, (4, 15)),
    ("laser tracker", 8000, 2000, (12, 40)),
    ("articulated arm", 700, 500, (10, 30)),
    ("tracked probe", 2500, 1000, (25, 70)),
    ("hand-held scanner", 1000, 500, (30, 80)),
    ("photogrammetry", 3000, 1000, (10, 35)),
    ("lab measuring machine", 500, 500, (1, 2.5)),
]


@pytest.mark.parametrize(("name", "distance", "length", "band"), PLAUSIBLE)
def test_lengths_err_as_the_trade_expects(name, distance, length, band):
    spread = _spread_of_a_length(name, distance, length)
    assert band[0] < spread < band[1]
    assert not band[0] < 10 * spread < band[1]  # negative twin: a slip of one digit is noticed


def _spread_of_a_length(name: str, distance: float, length: float) -> float:
    tool, rng, spread = build(name, "x"), np.random.default_rng(0), []
    for k in range(8):
        across, away = rng.standard_normal(3), rng.standard_normal(3) * [1, 1, 0.3]
        across, away = across / np.linalg.norm(across), away / np.linalg.norm(away)
        center = distance * away + [0, 0, 250]
        obs = tool.observe(np.stack([center - across * length / 2, center + across * length / 2]))
        sighting = Sighting("1", "x", ("1", "2"), ("a", "b"), ("", ""), obs, np.ones(2, dtype=np.int64))
        ends = tool.points(obs + tool.errors(sighting, Draws(k, 0, 300)))
        spread.append(np.linalg.norm(ends[:, 1] - ends[:, 0], axis=-1).std())
    return 1e3 * float(np.mean(spread))


@pytest.mark.parametrize(
    ("name", "length", "band"),
    [
        ("calliper", 100, (12, 30)),
        ("micrometer", 25, (1.5, 4)),
        ("bore gauge", 62, (2, 4)),
        ("height gauge", 400, (3, 7)),
    ],
)
def test_hand_tools_err_as_the_trade_expects(name, length, band):
    """Common practice, no source: a calliper is good to 0.02 mm, a micrometer and a bore gauge to a few um."""
    errors = build(name, "x").length_errors([float(length)], ["1"], Draws(1, 0, 2000), part_alpha=11.5e-6)
    assert band[0] < 1e3 * errors.std() < band[1]
