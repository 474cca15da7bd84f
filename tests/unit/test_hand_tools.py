"""Hand tools: which readings share which error, the way to 20 degC, and the size of it all."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from trysquare.chance.sources import Draws
from trysquare.core.errors import InputError
from trysquare.instruments.hand import HandTool, from_parameters
from trysquare.instruments.parameters import Parameter, from_half_width

IDS = ("h:1", "h:2", "h:3", "h:4")
PLACES = ("a", "a", "b", "b")
READINGS = np.array([62.01, 62.02, 62.015, 62.01])


def _tool(**chosen: Parameter) -> HandTool:
    zero = {
        name: Parameter(u=0.0, unit="mm", link="reading", scope="reading")
        for name in ("indication", "resolution", "repeatability")
    }
    return from_parameters("bore gauge", zero | chosen)


def _mm(u: float, scope: str, distribution: str = "normal") -> Parameter:
    return Parameter(u=u, unit="mm", link="reading", scope=scope, distribution=distribution)


SCOPES = {
    "repeatability": ("reading", [1, 0, 0]), "resolution": ("reading", [1, 0, 0]),
    "indication_local": ("aim", [1, 1, 0]), "indication": ("instrument", [1, 1, 1]),
    "feel": ("operator", [1, 1, 1]), "setting": ("reference artefact", [1, 1, 1]),
}  # fmt: skip


@pytest.mark.parametrize("name", SCOPES)
def test_what_shares_one_draw(name):
    scope, shared = SCOPES[name]
    errors = _tool(**{name: _mm(0.002, scope)}).length_errors(READINGS, IDS, Draws(1, 0, 3000), places=PLACES)
    correlation = np.corrcoef(errors.T)[0]
    assert_allclose(errors.std(0), 0.002, rtol=0.06)
    assert_allclose(correlation[:3], shared, atol=0.06)


def test_resolution_is_half_a_step_wide():
    step = 0.01
    u = from_half_width(step / 2, "rectangular", where="test")
    assert_allclose(u, step / np.sqrt(12), rtol=1e-12)
    errors = _tool(resolution=_mm(u, "reading", "rectangular")).length_errors(READINGS, IDS, Draws(1, 0, 2000))
    assert np.abs(errors).max() <= step / 2
    assert np.abs(errors).max() > 0.49 * step


def test_error_in_proportion_grows_with_the_length():
    tool = _tool(indication_proportional=Parameter(u=1e-5, unit="1", link="reading", scope="instrument"))
    errors = tool.length_errors([10.0, 1000.0], ["1", "2"], Draws(1, 0, 500))
    assert_allclose(errors[:, 1], 100 * errors[:, 0], atol=1e-11)


def test_repeats_average_what_differs_and_keep_what_is_shared():
    tool = _tool(repeatability=_mm(0.004, "reading"), indication=_mm(0.003, "instrument"))
    mean = tool.length_errors(READINGS, IDS, Draws(1, 0, 4000), places=PLACES).mean(1)
    assert_allclose(mean.std(), np.hypot(0.004 / 2, 0.003), rtol=0.05)
    assert mean.std() > 1.3 * np.hypot(0.004, 0.003) / 2  # negative twin: not u / sqrt(n) of everything


def test_steel_on_steel_cancels_and_steel_on_aluminium_does_not():
    """Analytic: 200 mm at 26 degC; aluminium 23e-6 read with steel 11.5e-6: 200 x 11.5e-6 x 6 = 13.8 um too long."""
    expansion = Parameter(u=0.0, unit="1/K", link="reading", scope="instrument", value=11.5e-6)
    tool = _tool(tool_expansion=expansion)
    same = tool.lengths([200.0], part_alpha=11.5e-6, part_temperature_degC=26)
    assert_allclose(same, 200.0, atol=1e-12)
    other = tool.lengths([200.0], part_alpha=23e-6, part_temperature_degC=26)
    assert_allclose(200.0 - other, 0.0138, atol=5e-6)
    warm_tool = _tool(
        tool_expansion=expansion,
        tool_temperature=Parameter(u=0.0, unit="K", link="reading", scope="temperature history", value=2.0),
    )
    gain = warm_tool.lengths([200.0], part_alpha=11.5e-6, part_temperature_degC=26) - same
    assert_allclose(gain, 200 * 11.5e-6 * 2, rtol=1e-3)


def test_errors_of_heat_follow_the_law_of_propagation():
    """First order (GUM 5.1.2): u = L (a_tool u(dT)) + L (a_tool - a_part) u(T) + L theta u(a_part), independent."""
    tool = _tool(
        tool_expansion=Parameter(u=0.0, unit="1/K", link="reading", scope="instrument", value=11.5e-6),
        tool_temperature=Parameter(u=0.8, unit="K", link="reading", scope="temperature history"),
    )
    rng = np.random.default_rng(4)
    dT, da = 0.5 * rng.standard_normal(4000), 0.6e-6 * rng.standard_normal(4000)
    errors = tool.length_errors(
        [500.0], ["1"], Draws(1, 0, 4000), part_alpha=23e-6, part_temperature_degC=[27.0],
        part_alpha_errors=da, part_temperature_errors=dT,
    )  # fmt: skip
    parts = 500 * np.array([11.5e-6 * 0.8, (11.5e-6 - 23e-6) * 0.5, 7 * 0.6e-6])
    assert_allclose(errors[:, 0].std(), np.sqrt((parts**2).sum()), rtol=0.05)


def test_without_errors_there_are_none():
    assert np.array_equal(_tool().length_errors(READINGS, IDS, Draws(1, 0, 5)), np.zeros((5, 4)))


def test_only_the_named_source_draws():
    tool = _tool(repeatability=_mm(0.004, "reading"), indication=_mm(0.003, "instrument"))
    names = [s.name for s in tool.sources()]
    alone = [tool.length_errors(READINGS, IDS, Draws(1, 0, 800, only={name})) for name in names]
    together = tool.length_errors(READINGS, IDS, Draws(1, 0, 800))
    assert_allclose(sum(alone), together, atol=1e-12)
    assert all(s.action for s in tool.sources())


def test_the_tool_is_one_device():
    """Two sets of readings of the same tool share its indication; another tool does not."""
    tool, draws = _tool(indication=_mm(0.003, "instrument")), Draws(1, 0, 400)
    a, b = tool.length_errors([20.0], ["x:1"], draws), tool.length_errors([20.0], ["y:1"], draws)
    other = replace(tool, name="bore gauge 2").length_errors([20.0], ["x:1"], draws)
    assert np.array_equal(a, b)
    assert abs(np.corrcoef(a[:, 0], other[:, 0])[0, 1]) < 0.2


@pytest.mark.parametrize("readings", [[0.0, 1.0], [-2.0], [float("nan")], [[1.0, 2.0]]])
def test_readings_that_are_no_lengths(readings):
    with pytest.raises(InputError):
        _tool().lengths(readings)


def test_unnamed_readings_are_refused():
    with pytest.raises(InputError, match="4, one each"):
        _tool().length_errors(READINGS, IDS[:3], Draws(1, 0, 5))


def test_wrong_parameters_are_refused():
    with pytest.raises(InputError, match="repeatability"):
        from_parameters("x", {"indication": _mm(0, "instrument"), "resolution": _mm(0, "reading")})
    with pytest.raises(InputError, match="ratchet"):
        _tool(ratchet=_mm(0, "reading"))
    with pytest.raises(InputError, match="unit"):
        _tool(setting=Parameter(u=1e-3, unit="1", link="reading", scope="reference artefact"))
