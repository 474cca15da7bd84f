"""An invented choice: eleven kinds of requirement, seven instruments, four sets."""

from trysquare.report.choice import Cell, Choice, Device, Group, Need
from trysquare.report.words import Piece

_DEVICES = (("Hand tools", 22, "0.7 h"), ("Laser tracker", 148, "1.6 h"), ("Tracked probe", 96, "1.2 h"),
            ("Hand-held scanner", 61, "0.8 h"), ("Photogrammetry", 168, "2.4 h"), ("Portable arm", 74, "1.9 h"),
            ("Lab machine", 640, "9 h"))  # fmt: skip
_ROWS = (
    ("Flange faces", "flatness", 0.15, 0, 6, (None, 0.014, 0.042, 0.05, 0.022, 0.04, 0.004)),
    ("Seats to A", "parallelism", 0.30, 0, 3, (None, 0.026, 0.085, 0.06, 0.03, 0.08, 0.006)),
    ("Bearing bore", "size", 0.072, 1, 1, (0.0065, 0.016, 0.035, 0.04, None, 0.014, 0.003)),
    ("Bearing bore", "cylindricity", 0.04, 0, 1, (None, 0.014, 0.03, 0.04, None, 0.012, 0.0025)),
    ("Seal seats", "size", 0.1, 1, 4, (0.0085, 0.016, 0.035, 0.045, None, 0.014, 0.003)),
    ("Dowel holes", "position", 0.4, 0, 5, (None, 0.036, 0.11, 0.12, 0.045, 0.16, 0.012)),
    ("Bores apart", "distance", 1.0, 1, 4, (0.21, 0.062, 0.16, 0.2, 0.07, 0.25, 0.02)),
    ("Wall left at the volute", "distance", None, 0, 1, (0.3, None, None, 0.2, None, 0.25, 0.05)),
    ("Motor faces", "parallelism", 0.25, 0, 4, (None, 0.021, 0.07, 0.07, 0.035, 0.065, 0.006)),
    ("Foot and cover holes", "position", 0.5, 0, 8, (None, 0.036, 0.14, 0.15, 0.05, 0.13, 0.012)),
    ("Cast faces", "surface profile", 2.0, 0, 3, (None, None, 0.12, 0.09, None, 0.15, 0.03)),
)


def sample_choice() -> Choice:
    """The choice, with words by how much of the zone is left."""
    needs = [
        Need(id=str(i), name=n, characteristic=c, count=k,
             limits="least" if w is None else "both" if b else "zero", width=w,
             zone="≥ 14" if w is None else f"± {w / 2:g}" if b else f"0 to {w:g}")
        for i, (n, c, w, b, k, _) in enumerate(_ROWS)
    ]  # fmt: skip
    cells = [[_cell(row[2], bool(row[3]), u) for u in row[5]] for row in _ROWS]
    return Choice(
        title="What can hold it here", place="Hall 2 at 21 to 26 °C, floor trembles a little, two trained operators",
        needs=needs, devices=[Device(n, c, f"€ {c}, {h}") for n, c, h in _DEVICES], cells=cells,
        picks=[1, 1, 0, 6, 0, 1, 1, 3, 1, 1, 3], unit_of_cost="€",
        groups=[Group("hand tools", 22, 5), Group("+ tracker", 170, 35), Group("+ scanner", 231, 39),
                Group("+ lab for one", 351, 40), Group("lab only", 640, 40), Group("arm", 74, 3)],
        say=[Piece("Hand tools, tracker and scanner", True), Piece(" hold 39 of 40 for € 231 a part. The cylindricity "
             "of the bearing bore goes to "), Piece("the lab", True), Piece(", € 120.")],
        notes=["A set holds a requirement when 60 % of its zone or more is left for the maker."],
    )  # fmt: skip


def _cell(width: float | None, both: bool, u: float | None) -> Cell:
    if u is None:
        return Cell()
    if width is None:
        return Cell(u, 0.25, "holds if" if u > 0.1 else "holds", "read on both sides" if u > 0.1 else "")
    left = 1 - (2 if both else 1) * 1.645 * u / width
    word = "holds" if left >= 0.6 else "holds if" if left >= 0.25 else "send out"
    return Cell(u, 0.2 * width, word, "stations within 5 m" if word == "holds if" and u > 0.1 else "")
