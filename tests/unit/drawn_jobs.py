"""Small sane jobs, planned only, in many variants: sizes, units, standard, order and letters differ with the number."""

from dataclasses import dataclass, field
from pathlib import Path

STANDARDS = ("ISO 8015:2011", "ASME Y14.5-2018", "ASME Y14.5-2009")
_UNITS = ("mm", "mm", "in", "m")
_PER_MM = {"mm": 1.0, "in": 1 / 25.4, "m": 1e-3}


@dataclass
class Drawn:
    """A drawing as its parts, so that a fault can be put into one of them. Lengths are written in `units`."""

    units: str
    standard: str
    datums: dict[str, str]
    features: dict[str, str]
    requirements: list[str]
    part: str = ""
    general: str = ""
    extra: str = field(default="")

    def text(self) -> str:
        """The job file."""
        features = "".join(f"[feature.{name}]\n{shape}\n" for name, shape in self.features.items())
        datums = "".join(f'{letter} = "{name}"\n' for letter, name in self.datums.items())
        asked = "".join(f"[[requirement]]\n{one}\n" for one in self.requirements)
        return (
            f'format = "trysquare-job/1"\ntitle = "Block"\nunits = "{self.units}"\nstandard = "{self.standard}"\n'
            f'[part]\nname = "Block"\ndrawing = "B-1"\nrevision = "C"\n{self.part}'
            '[[part.zone]]\nname = "body"\nmaterial = "steel"\ntemperature = { value = 20, u = 0.5 }\n'
            f'[place]\nname = "Hall"\n{features}[datum]\n{datums}{asked}{self.extra}'
        )

    def write(self, folder: Path) -> Path:
        """Write it as a job folder."""
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "job.toml").write_text(self.text(), encoding="utf-8")
        return folder


def drawn(number: int, *, scale: float | None = None) -> Drawn:
    """A sane drawing of a block with two bores; no two numbers below 20 give the same one."""
    units, scale = _UNITS[number % 4], scale or 1.0 + 0.35 * number
    length, width, height, hole = (side * scale for side in (300.0, 200.0, 80.0, 40.0))
    a, b, c = (("A", "B", "C"), ("D", "E", "F"), ("X", "Y", "Z"))[number % 3]

    def q(*millimetres: float) -> str:
        return ", ".join(f"{mm * _PER_MM[units]:.9g}" for mm in millimetres)

    def plane(point: tuple[float, ...], normal: str, size: tuple[float, float], along: str) -> str:
        return f"plane = {{ point = [{q(*point)}], normal = {normal}, size = [{q(*size)}], along = {along} }}"

    def bore(x: float) -> str:
        at = q(x, width / 2, height / 2)
        return (
            f"cylinder = {{ point = [{at}], axis = [0, 0, 1], diameter = {q(hole)}, length = {q(height)}, "
            "inside = true }"
        )

    features = {
        "base": plane((length / 2, width / 2, 0), "[0, 0, -1]", (length, width), "[1, 0, 0]"),
        "top": plane((length / 2, width / 2, height), "[0, 0, 1]", (length, width), "[1, 0, 0]"),
        "front": plane((length / 2, 0, height / 2), "[0, -1, 0]", (length, height), "[1, 0, 0]"),
        "left": plane((0, width / 2, height / 2), "[-1, 0, 0]", (width, height), "[0, 1, 0]"),
        "bore-1": bore(length / 4),
        "bore-2": bore(3 * length / 4),
    }
    requirements = [
        f'id = "1"\nname = "Base"\non = "base"\nsheet = "1"\ngrid = "B2"\nflatness = {{ zone = {q(0.02)} }}',
        f'id = "2"\non = "top"\nrevision = "B"\nparallelism = {{ zone = {q(0.05)}, datums = ["{a}"] }}',
        f'id = "3"\non = ["base", "top"]\ndistance = {{ nominal = {q(height)}, lower = {q(-0.1)}, upper = {q(0.1)} }}',
        f'id = "4"\non = "bore-1"\ncritical = true\nsize = {{ nominal = {q(hole)}, lower = 0, upper = {q(0.025)} }}',
        f'id = "5"\non = "bore-1"\nkey = true\nposition = {{ zone = "diameter {q(0.2)} {units}", '
        f'datums = ["{a}", "{b}", "{c}"] }}',
        f'id = "6"\non = "bore-1"\nperpendicularity = {{ zone = "diameter {q(0.05)} {units}", datums = ["{a}"] }}',
        f'id = "7"\non = "front"\nperpendicularity = {{ zone = {q(0.04)}, datums = ["{a}"] }}',
        'id = "8"\non = ["front", "left"]\nangle = { nominal = "90 deg", lower = "-0.1 deg", upper = "0.1 deg" }',
        f'id = "9"\non = ["bore-1", "bore-2"]\ndistance = {{ nominal = {q(length / 2)}, lower = {q(-0.1)}, '
        f"upper = {q(0.1)} }}",
    ]
    turn = number % len(requirements)
    return Drawn(
        units, STANDARDS[number % 3 if number % 2 else 0], {a: "base", b: "front", c: "left"}, features,
        requirements[turn:] + requirements[:turn],
    )  # fmt: skip
