"""Pictures of fits: nothing leaves the sheet, no words lie on each other, scales and marks are what they say."""

import re
import struct
import xml.etree.ElementTree as ET
import zlib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from fit_sample import POINTS, ball, bore, face, ring, strip, tyre
from report_checks import collisions, overflows

from trysquare.core.errors import InputError
from trysquare.geometry.association import WAYS, Association, associate
from trysquare.geometry.zones.results import Certificate
from trysquare.report import fit_map
from trysquare.report.cut import cut
from trysquare.report.fit_scale import magnified, step_above, step_below
from trysquare.report.fit_sheet import sheet
from trysquare.report.fit_write import alone, write_picture
from trysquare.report.fonts import sans
from trysquare.report.tokens import DARK, LIGHT
from trysquare.report.woff import packed

CASES = [
    (shape, method, dims) for shape, methods in WAYS.items() for method, where in methods.items() for dims in where
]  # fmt: skip
MANY = {"circle": ring(5000), "plane": face(80, 100), "cylinder": bore(60, 120), "line": strip(4000)}


def fitted(shape: str, method: str, dims: int) -> Association:
    return associate(POINTS[shape, dims], shape=shape, method=method)


def sound(svg: str) -> None:
    assert overflows(svg) == []
    assert collisions(svg) == []
    assert re.findall(r"\b(?:nan|inf)\b", svg) == []


@pytest.mark.parametrize(("shape", "method", "dims"), CASES)
def test_every_fit_has_a_sound_picture(shape: str, method: str, dims: int) -> None:
    a = fitted(shape, method, dims)
    svg = sheet(a, "points.csv")
    sound(svg)
    if a.certificate is not None:
        words = [t.text for t in ET.fromstring(svg).iter("text")]
        for contact in a.certificate.contacts[a.certificate.contacts >= 0]:
            assert str(contact + 1) in words


@pytest.mark.parametrize("shape", MANY)
def test_many_points_stay_a_small_picture(shape: str) -> None:
    svg = sheet(associate(MANY[shape], shape=shape), "scan.csv")
    sound(svg)
    assert len(svg) < 250_000


@pytest.mark.parametrize("points", [ball(40, whole=False), ball(6)], ids=["half", "few"])
def test_half_balls_and_few_points(points: np.ndarray) -> None:
    sound(sheet(associate(points, shape="sphere"), "ball.csv"))


def test_patches_are_drawn_for_themselves() -> None:
    """Short arcs of cylinder, cone and torus, a small cap: the map shows the patch, not the empty turn about it."""
    tube, cone, ball_ = bore(12, 360), bore(12, 360, taper=0.2), ball(4000)
    near = np.abs(np.arctan2(tube[:, 1], tube[:, 0])) < np.radians(20)
    for shape, points in (("cylinder", tube[near]), ("cone", cone[near])):
        svg = sheet(associate(points, shape=shape), "patch.csv")
        sound(svg)
        assert "180°" not in svg
        assert "around; residuals magnified" in svg
    svg = sheet(associate(ball_[ball_[:, 2] > 17], shape="sphere"), "cap.csv")
    sound(svg)
    assert "about the pole" in svg
    ring_ = tyre(90, 72)
    across = np.hypot(ring_[:, 0], ring_[:, 1]) - 40
    sound(sheet(associate(ring_[np.arctan2(ring_[:, 2], across) ** 2 < 0.2], shape="torus"), "fillet.csv"))


def test_numbers_are_those_of_the_file_where_a_filter_left_points_out() -> None:
    a = associate(strip(200), shape="line", filtering={"kind": "gaussian", "cutoff_mm": 40.0})
    first = int(a.kept[0])
    assert first > 0
    side = np.array([1, -1], np.int8)
    held = Certificate(kind=np.array("global"), gap_mm=np.array(0.0), contacts=np.array([0, 5]), sides=side, proof="")
    words = [t.text for t in ET.fromstring(sheet(replace(a, certificate=held), "edge.csv")).iter("text")]
    assert str(first + 1) in words
    assert str(first + 6) in words


@pytest.mark.parametrize(("shape", "dims"), [("circle", 2), ("circle", 3), ("plane", 3), ("cylinder", 3), ("line", 2)])
def test_points_set_aside_do_not_press_the_others_flat(shape: str, dims: int) -> None:
    points = POINTS[shape, dims].copy()
    points[7] *= 1.2
    points[7, -1] += 4
    a = associate(points, shape=shape, loss="tukey")
    assert 7 in a.set_aside
    svg = sheet(a, "dirt.csv")
    sound(svg)
    assert "lozenges" in svg
    assert any((t.text or "").startswith("8: ") for t in ET.fromstring(svg).iter("text"))
    whole = sheet(associate(points, shape=shape), "dirt.csv")
    sound(whole)
    assert "lozenges" not in whole


def test_perfect_points_are_not_magnified() -> None:
    square = np.array([[1.0, 0], [0, 1], [-1, 0], [0, -1]]) * 25
    svg = sheet(associate(square, shape="circle"), "perfect.csv")
    sound(svg)
    assert "magnified 1 times" in svg
    hole = np.column_stack([np.tile(square, (3, 1)), np.repeat([0.0, 5.0, 9.0], 4)])
    svg = sheet(associate(hole, shape="cylinder", toward=[0, 0, 1]), "perfect.csv")
    sound(svg)
    assert "All residuals are 0." in svg


def test_a_short_arc_is_shown_as_a_strip() -> None:
    t = np.radians(np.linspace(0, 20, 40))
    arc = np.column_stack([125 * np.cos(t), 125 * np.sin(t)]) * (1 + 1e-5 * np.cos(9 * t))[:, None]
    svg = sheet(associate(arc, shape="circle"), "arc.csv")
    sound(svg)
    assert "around the circle; residuals magnified" in svg


def test_the_magnification_is_that_of_the_drawing() -> None:
    """Analytic: on a strip of 400 mm over 608 px a residual of 0.02 mm is drawn factor x 608/400 x 0.02 px high."""
    x = np.linspace(0, 400, 9)
    y = np.tile([0.02, -0.02], 5)[:9]
    a = associate(np.column_stack([x, y]), shape="line")
    svg = sheet(a, "zigzag.csv")
    factor = float(re.search(r"magnified ([\d\u00a0]+) times", svg)[1].replace("\u00a0", ""))
    top, bottom = map(float, re.search(r"M0 ([\d.]+)H632M0 ([\d.]+)H632", svg).groups())
    assert bottom - top == pytest.approx(factor * (632 - 24) / np.ptp(a.points_mm @ a.parameters["direction"])
                                         * a.form_mm, abs=0.11)  # fmt: skip
    assert bottom - top <= 126


@pytest.mark.parametrize(("x", "below", "above"), [(1.0, 1, 1), (3.7, 2, 4), (0.069, 0.05, 0.08), (9.9, 5, 10)])
def test_round_steps(x: float, below: float, above: float) -> None:
    assert step_below(x) == pytest.approx(below)
    assert step_above(x) == pytest.approx(above)


def test_nothing_but_rounding_is_not_magnified() -> None:
    assert magnified(1e-15, 4.0, 100.0, 25.0) == (1.0, 4.0)
    factor, scale = magnified(0.01, 4.0, 100.0, 25.0)
    assert (factor, scale) == (2000.0, 8000.0)


def test_a_file_carries_its_typefaces_and_a_dark_dress() -> None:
    svg = alone(sheet(fitted("circle", "least-squares", 2), "ring.csv"))
    ET.fromstring(svg)
    assert "var(" not in svg
    assert svg.count("@font-face") == 3
    assert f'[fill="{LIGHT["sheet"]}"]{{fill:{DARK["sheet"]}}}' in svg


def test_a_packed_font_unpacks_to_its_tables() -> None:
    """WOFF 1.0: header 44 bytes, entries of 20, tables that decompress to what was packed, sizes that add up."""
    font = cut(sans(), "Form 0.012")
    small = packed(font)
    signature, flavour, length, count, _, whole = struct.unpack_from(">4s4sIHHI", small)
    assert (signature, flavour, length, whole) == (b"wOFF", font[:4], len(small), len(font))
    assert len(small) < len(font) / 2
    for i in range(count):
        tag, at, size, full, checksum = struct.unpack_from(">4sIIII", small, 44 + 20 * i)
        data = small[at : at + size]
        table = data if size == full else zlib.decompress(data)
        name, sum_, offset, own = struct.unpack_from(">4sIII", font, 12 + 16 * i)
        assert (tag, checksum, full) == (name, sum_, own)
        assert table == font[offset : offset + own]


def test_colours_tell_apart_what_the_dark_dress_must() -> None:
    """Two names of one colour in the light must be one colour in the dark, as far as pictures of fits use them."""
    used = {name for shape in ("plane", "cylinder", "line") for name in
            re.findall(r"var\(--([\w-]+)\)", sheet(fitted(shape, "least-squares", 3), "x"))}  # fmt: skip
    dark: dict[str, str] = {}
    for name in used:
        assert dark.setdefault(LIGHT[name], DARK[name]) == DARK[name], name


def test_words_from_outside_are_words() -> None:
    svg = sheet(fitted("circle", "least-squares", 2), "<b>&.csv")
    assert "&lt;b&gt;&amp;.csv" in svg


@pytest.mark.parametrize(("name", "start"), [("a.svg", b"<svg "), ("a.png", b"\x89PNG"), ("a.pdf", b"%PDF")])
def test_kinds_of_file(name: str, start: bytes, tmp_path: Path) -> None:
    if not name.endswith(".svg"):
        pytest.importorskip("typst")
    write_picture(fitted("circle", "least-squares", 2), "ring.csv", tmp_path / name)
    assert (tmp_path / name).read_bytes().startswith(start)


def test_another_kind_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"end in .svg, .png or .pdf"):
        write_picture(fitted("circle", "least-squares", 2), "ring.csv", tmp_path / "a.gif")
    assert list(tmp_path.iterdir()) == []


def test_the_checks_can_fail() -> None:
    """Negative twin: words moved onto others and off the sheet are found."""
    svg = sheet(fitted("circle", "least-squares", 2), "ring.csv")
    assert collisions(svg.replace('text-anchor="end"', "", 1)) or overflows(svg.replace('text-anchor="end"', "", 1))


def bars_right_of(post: float, residuals: np.ndarray) -> int:
    """Bars of the key that begin at or beyond the post of the upper end."""
    body = fit_map.key(residuals, 760.0, 110.0, (float(residuals.min()), float(residuals.max())))
    at = re.search(r'd="((?:M[\d.]+ [\d.]+v-?[\d.]+h[\d.]+v[\d.]+z)+)"', body)
    posts = [float(x) for x in re.findall(r'<path d="M([\d.]+) 0V', body)]
    assert abs(posts[1] - post) < 0.1
    return sum(float(x) >= posts[1] - 0.1 for x in re.findall(r"M([\d.]+)", at[1]))


def test_points_that_touch_the_upper_post_stand_inside():
    """The upper end of a zone about 0 lies on the edge of a bar: its contacts belong to the bar before it."""
    residuals = np.r_[np.linspace(-0.026, -0.001, 40), 0.0, 0.0, 0.0]
    assert bars_right_of(380.0, residuals) == 0
