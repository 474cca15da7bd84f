"""How numbers are written in reports. Expected texts follow the rules of docs/report.md (frozen behaviour), U with two
figures as JCGM 100:2008, 7.2.6 advises."""

import math

import pytest
from report_sample import sample

from trysquare.report import format as fmt


@pytest.mark.parametrize(
    ("big_u", "n"),
    [(0.084, 3), (0.0084, 4), (0.18, 2), (1.3, 1), (12.4, 0), (240.0, 0), (0.0996, 2), (0.09949, 3), (0.996, 1),
     (9.96, 0), (1e-12, 7), (0.0, 3), (math.nan, 3)],
)  # fmt: skip
def test_an_uncertainty_gets_two_figures(big_u: float, n: int) -> None:
    assert fmt.decimals(big_u) == n


@pytest.mark.parametrize("big_u", [10.0 ** (k / 7) for k in range(-28, 7)])
def test_two_figures_are_neither_one_nor_three(big_u: float) -> None:
    digits = fmt.figure(big_u, fmt.decimals(big_u)).replace(".", "").lstrip("0")
    assert len(digits) == 2


@pytest.mark.parametrize(
    ("x", "n", "text"),
    [(0.3384, 3, "0.338"), (-0.371, 2, "−0.37"), (-0.0004, 3, "0.000"), (1799.78, 2, "1799.78"), (2.5, 0, "2")],
)
def test_figures_have_a_true_minus_and_no_negative_zero(x: float, n: int, text: str) -> None:
    assert fmt.figure(x, n) == text


@pytest.mark.parametrize(
    ("x", "text"),
    [(0.4, "0.4"), (164.1 - 164, "0.1"), (-0.02, "−0.02"), (0.0, "0"), (-1e-9, "0"), (2540.0, "2540"), (100.0, "100")],
)
def test_drawing_numbers_have_no_trailing_zeros(x: float, text: str) -> None:
    assert fmt.plain(x) == text


@pytest.mark.parametrize(
    ("ident", "zone", "kind", "value", "pm"),
    [
        ("36", "0 to 0.4", "zero", "0.341", "± 0.082"),
        ("20", "210 +0 / +0.072", "both", "210.029", "± 0.014"),
        ("30", "145 −0.02 / +0.08", "both", "145.031", "± 0.016"),
        ("40", "2520 ± 0.6", "both", "2520.21", "± 0.14"),
        ("43", "0 ± 0.8", "both", "+0.66", "± 0.19"),
        ("44", "60° ± 0.05°", "both", "60.012°", "± 0.015°"),
        ("90", "≥ 13", "least", "14.36", "± 0.62"),
        ("92", "≤ 2540", "most", "2537.80", "± 0.28"),
        ("93", "0 to 0.3", "zero", "0.120", "not stated"),
        ("94", "6 ± 0.1", "both", "no value", ""),
    ],
)
def test_a_row_of_the_list(ident: str, zone: str, kind: str, value: str, pm: str) -> None:
    j = next(j for j in sample().requirements if j.id == ident)
    assert (fmt.zone_text(j), fmt.kind_of(j), fmt.value_text(j), fmt.plus_minus(j)) == (zone, kind, value, pm)


def test_the_frame_names_a_diameter_and_leaves_sizes_to_the_zone() -> None:
    frames = {j.id: fmt.frame_zone(j) for j in sample().requirements}
    assert (frames["36"], frames["50"], frames["20"]) == ("Ø 0.4", "0.25", "")


@pytest.mark.parametrize(
    ("p", "text"),
    [(0.95, "95 %"), (0.0868, "8.7 %"), (0.5, "50 %"), (0.0005, "0.05 %"), (0.9995, "99.95 %"), (0.123, "12.3 %")],
)
def test_per_cents(p: float, text: str) -> None:
    assert fmt.percent(p) == text


@pytest.mark.parametrize(("p", "text"), [(0.614, "61 %"), (0.005, "under 1 %"), (0.0096, "1 %"), (0.0, "0 %")])
def test_shares(p: float, text: str) -> None:
    assert fmt.share(p) == text


def test_signs_that_the_typefaces_lack_are_replaced_and_control_characters_dropped() -> None:
    assert fmt.clean("⌀ 0.4\u00a0mm\x00\x1b[31m") == "Ø 0.4 mm[31m"
