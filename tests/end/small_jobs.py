"""Small whole jobs in a folder: one read by hand tools alone, and a block seen from two stations, simulated."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "unit"))
from simulated_job import TEXT, block, round_the_block

from trysquare.jobs.simulated.simulate import simulate
from trysquare.jobs.simulated.true_shape import Shape, Truth
from trysquare.jobs.simulated.write_readings import hand_csv, station_csv

BENCH = """format = "trysquare-job/1"
title = "Bush"
units = "mm"
standard = "ISO 8015:2011"
draws = 200
[part]
name = "Bush"
[[part.zone]]
name = "bush"
material = "steel"
temperature = { value = 21, u = 0.5 }
[place]
name = "Bench"
[instrument.gauge]
class = "bore gauge"
[feature.bore]
cylinder = { point = [0, 0, 20], axis = [0, 0, 1], diameter = 62, length = 40, inside = true }
[[requirement]]
id = "1"
on = "bore"
size = { nominal = 62, lower = 0, upper = 0.03 }
[[hand]]
instrument = "gauge"
readings = "bore.csv"
"""
WAVY = Shape(form_mm=0.03, wavelength_mm=300)


def bench_job(folder: Path, reading_mm: float = 62.015) -> Path:
    """One bore, read four times."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "job.toml").write_text(BENCH, encoding="utf-8")
    rows = [f"1,{place},{reading_mm}" for place in ("top", "top", "bottom", "bottom")]
    (folder / "bore.csv").write_text("\n".join(["requirement,place,value [mm]", *rows]) + "\n", encoding="utf-8")
    return folder


def block_job(folder: Path, *, seed: int = 21) -> Path:
    """Two tracker stations, a bore gauge and a calliper; every kind of characteristic, form on two faces."""
    planned, instruments = block(folder)
    taken = simulate(planned, instruments, Truth(seed, {"front": WAVY, "rear": WAVY}), round_the_block())
    text = TEXT
    for station in taken.stations:
        old = f'name = "{station.name}"\ninstrument = "tracker-1"\n'
        assert text.count(old) == 1
        text = text.replace(old, f'{old}readings = "{station.readings.file}"\n')
        (folder / station.readings.file).write_text(station_csv(station.readings), encoding="utf-8")
    for hand in taken.hand:
        old = f'[[hand]]\ninstrument = "{hand.instrument}"\n'
        assert text.count(old) == 1
        text = text.replace(old, f'{old}readings = "{hand.file}"\n')
        (folder / hand.file).write_text(hand_csv(hand), encoding="utf-8")
    (folder / "job.toml").write_text(text, encoding="utf-8")
    return folder
