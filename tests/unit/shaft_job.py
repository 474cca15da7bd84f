"""A shaft on two journals in a folder: Cartesian readings of an arm, exact but for what a test moves."""

from pathlib import Path

import numpy as np

TEXT = """format = "trysquare-job/1"
title = "Shaft"
units = "mm"
standard = "ISO 8015:2011"
draws = 400
[part]
name = "Shaft"
[[part.zone]]
name = "shaft"
material = "steel"
temperature = { value = 20, u = 0.1 }
[place]
name = "Bench"
[instrument.arm]
class = "articulated arm"
[feature.front]
cylinder = { point = [0, 0, -100], axis = [0, 0, 1], diameter = 40, length = 30, inside = false }
[feature.rear]
cylinder = { point = [0, 0, 100], axis = [0, 0, 1], diameter = 60, length = 30, inside = false }
[feature.seat]
cylinder = { point = [0, 0, 0], axis = [0, 0, 1], diameter = 80, length = 40, inside = false }
[feature.face]
plane = { point = [0, 0, 150], normal = [0, 0, 1], size = [50, 50] }
[datum]
A = "front"
B = "rear"
C = "face"
[[requirement]]
id = "1"
on = "seat"
position = { zone = "diameter 0.1", datums = ["A-B"] }
[[station]]
name = "1"
instrument = "arm"
readings = "points.csv"
"""
CYLINDERS = {"front": (-100.0, 20.0, 10.0), "rear": (100.0, 30.0, 10.0), "seat": (0.0, 40.0, 15.0)}
#: Where the part stands before the arm, x and z, mm.
FROM_ARM = (500.0, 200.0)
#: Points round a ring; three rings to a cylinder.
ROUND = 8


#: The face is touched in four rows across x: places and heights.
Rows = tuple[tuple[float, float], ...]
FLAT: Rows = ((-20.0, 0.0), (-10.0, 0.0), (10.0, 0.0), (20.0, 0.0))


def touched(moved: dict[str, tuple[float, float]], rows_mm: Rows) -> dict[str, np.ndarray]:
    """Exact points of every feature, cylinders shifted in x and y as `moved` says, rows of the face so high."""
    out = {}
    for name, (z, r, half) in CYLINDERS.items():
        a = np.tile(np.arange(ROUND) * 2 * np.pi / ROUND, 3)
        x, y = moved.get(name, (0.0, 0.0))
        heights = np.repeat([z - half, z, z + half], ROUND)
        out[name] = np.column_stack([x + r * np.cos(a), y + r * np.sin(a), heights])
    u = [(x, y, 150.0 + z) for x, z in rows_mm for y in (-20.0, 0.0, 20.0)]
    out["face"] = np.array(u)
    return out


def shaft_job(
    folder: Path, moved: dict[str, tuple[float, float]], *edits: tuple[str, str],
    rows_mm: Rows = FLAT,
) -> Path:  # fmt: skip
    """The job with its readings; each old text of `edits` is replaced in job.toml."""
    folder.mkdir(parents=True, exist_ok=True)
    text = TEXT
    for old, new in edits:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    (folder / "job.toml").write_text(text, encoding="utf-8")
    rows = ["on,point,target,x [mm],y [mm],z [mm]"]
    for name, points in touched(moved, rows_mm).items():
        rows += [
            f"{name},{i},contact,{p[0] + FROM_ARM[0]:.9f},{p[1]:.9f},{p[2] + FROM_ARM[1]:.9f}"
            for i, p in enumerate(points)
        ]
    (folder / "points.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    return folder
