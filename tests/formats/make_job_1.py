"""How the reading files of job-1 were made: points of the nominal part, seen from two stations, with noise of 2 um.

Kept beside the frozen folder so that its numbers have an origin; not run by the tests and not to be run again.
"""

from pathlib import Path

import numpy as np

BALL = 6.35
OFFSETS = {  # feature: surface points and outward normals
    "top": ([(x, y, 60) for x in (20, 200, 380) for y in (20, 280)], (0, 0, 1)),
    "left": ([(0, 40, 20), (0, 260, 20), (0, 150, 50)], (-1, 0, 0)),
    "front": ([(30, 0, 20), (370, 0, 20), (200, 0, 50)], (0, -1, 0)),
}
BORES = {"bore-1": (120, 80), "bore-2": (300, 80)}
TIES = {"T1": (-300, -300, 10), "T2": (700, -280, 30), "T3": (650, 600, 420), "T4": (-250, 580, 12)}
STATIONS = {"1": ((-1500, -2000, 1200), 0.3), "2": ((2400, -1800, 1000), 1.9)}


def centres():
    for name, (points, normal) in OFFSETS.items():
        for i, p in enumerate(points, 1):
            yield name, i, np.array(p, float) + BALL * np.array(normal, float)
    for name, (x, y) in BORES.items():
        for i in range(8):
            a = np.radians(45 * i + 10)
            yield name, i + 1, np.array([x + (25 - BALL) * np.cos(a), y + (25 - BALL) * np.sin(a), 34 + 16 * (i % 2)])


def polar(at, turn, points):
    c, s = np.cos(turn), np.sin(turn)
    d = (points - np.array(at, float)) @ np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
    flat = np.hypot(d[0], d[1])
    return np.degrees(np.arctan2(d[1], d[0])) % 360, np.degrees(np.arctan2(d[2], flat)), np.linalg.norm(d)


def main(folder: Path) -> None:
    rng = np.random.default_rng(20261120)
    for name, (at, turn) in STATIONS.items():
        lines = ["# made by make_job_1.py", "on,point,face,target,azimuth [deg],elevation [deg],range [mm]"]
        aims = [(tie, 1, np.array(p, float)) for tie, p in TIES.items()]
        aims += [aim for aim in centres() if (aim[0] in ("left", "front", "bore-1")) == (name == "1")]
        for on, label, p in aims:
            for face in (1, 2) if on in TIES else (1,):
                az, el, r = polar(at, turn, p + rng.normal(0, 0.002, 3))
                lines.append(f"{on},{label},{face},ball-12,{az:.6f},{el:.6f},{r:.4f}")
        (folder / f"station-{name}.csv").write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    main(Path(__file__).parent / "job-1")
