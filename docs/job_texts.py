"""What the page on the job folder says in sentences, beside its tables."""

from pathlib import Path

from trysquare.instruments.catalogue import classes
from trysquare.jobs.loading.checks.drawing import SHAPES
from trysquare.jobs.loading.readings import CARTESIAN, CONTACT, HAND, POLAR
from trysquare.jobs.loading.records import RECORDED
from trysquare.jobs.loading.schema import INSTRUMENT_FORMAT, STANDARDS
from trysquare.jobs.loading.table import Column
from trysquare.surroundings.materials import MATERIALS
from trysquare.tolerances.contact import ASSOCIATIONS

HERE = Path(__file__).parent


def head() -> str:
    example = (HERE / "job-example.toml").read_text(encoding="utf-8")
    return f"""# The job folder

A job is a folder with `job.toml` in it and the reading files that it names, all text, fit for version control. One
folder is one part type with what its drawing requires, and how it is measured. Nothing that a job names may lie
outside its folder. `trysquare check FOLDER` tells everything that is wrong, with the line and the way out.

This page is made from the code (`python -m docs.make`). For editors there is a JSON Schema: `docs/job.schema.json`.

```toml
{example}```

## Numbers and units

- A bare length is in the unit of the key `units`: mm, m or in. Any value may carry its own: `"0.002 in"`, `"5 um"`.
- Angles, altitudes and coefficients of expansion always carry their unit: `"0.05 deg"`, `"250 m"`, `"11.5 ppm/K"`.
- Temperatures are in degC, differences and uncertainties of temperature in K, pressures in Pa, humidity in %, carbon
  dioxide in ppm, unless a value says otherwise.
- The decimal sign is a point. A comma in a number is refused.
- `u` is always a standard uncertainty (GUM): half of an expanded uncertainty with k = 2.
- Directions have no unit and need not have length 1. All frames are right-handed; features are in the part frame, the
  one of the drawing.
- A name has none of `, ; " # /` in it. Every name is used once.

In the tables below, *needed* keys have no default.
"""


DATUM = """Datum features: a letter of the drawing and the feature that carries it, as in `A = "base"`. One feature to
a letter; a common datum is named where it is used, as in `datums = ["A-B", "C"]`. Material conditions are not judged
yet."""


def association() -> str:
    names = ", ".join(f'`"{name}"`' for name in ASSOCIATIONS)
    return f"""How datums are laid against their features: `all` for the whole drawing, a letter for one of its datums,
as in `all = "outer minimax"` and `B = "least squares"`. One of
{names};
without the table least squares. What rests on a datum that touches the material shows a value and is undecided:
[datums](methods/datums.md) says why."""


def instrument() -> str:
    return f"""A station or hand tool names its instrument by this name, or by a file of the folder that holds the same
keys (`instrument = "tracker-1.toml"`; `format = "{INSTRUMENT_FORMAT}"` then tells what it is). Stations that name one
instrument share its errors."""


def requirement() -> str:
    rows = "\n".join(f"| `{kind}` | {', '.join(shapes)} |" for kind, shapes in SHAPES.items())
    return f"""`lower` and `upper` are deviations from the nominal, with their signs; one of them may be missing. A
size, or a width between two opposite planes, may have a `code` of ISO 286 instead: `{{ nominal = 62, code = "H7" }}`.
What has none of these is judged by the general tolerance, if the drawing states one: `size = {{ nominal = 62 }}`,
`flatness = {{}}`. What codes and general tolerances were taken to mean is printed: [dimensions](methods/dimensions.md).

The nominal must agree with the nominal features, within 1 % and angles within 1 deg: a slip of unit or of feature is
caught. Nearer by, a disagreement wider than the requirement's own zone is a warning. A datum system must fix every
freedom that moves the feature, and each of its datums one that those before it left open. What else makes a drawing not
sane, what marks, revisions and states do: [the register](methods/register.md).

| characteristic | on |
| --- | --- |
{rows}

Known standards: {", ".join(STANDARDS)}. What each changes is printed with every result."""


def _columns(layout: tuple[Column, ...]) -> str:
    rows = ["| column | what | |", "| --- | --- | --- |"]
    for column in layout:
        need = "needed" if column.needed else "optional"
        rows.append(f"| `{column.title()}` | {column.text or 'The same.'} | {need} |")
    return "\n".join(rows)


def readings() -> str:
    return f"""## Reading files

CSV in UTF-8: a header line, then a line for each reading; commas between columns, a point as decimal sign. The unit
stands in the header in square brackets; a length without one is in mm, an angle must have one. Lines that begin with
`#` are comments. Columns may stand in any order; an unknown one is refused.

A station with an instrument that reads two angles and a range (the station's x lies at azimuth 0, its z is up):

{_columns(POLAR)}

```csv
on,point,face,target,azimuth [deg],elevation [deg],range [mm]
T1,p1,1,ball-38,83.11613,-23.98874,3453.983
T1,p1,2,ball-38,83.11650,-23.98895,3453.981
base,1,1,ball-38,101.38422,-11.20418,4180.117
```

A station with an instrument that reads coordinates (arm, scanner, photogrammetry, laboratory machine, tracked probe):

{_columns(CARTESIAN)}

With `{CONTACT}`, or no target, the coordinates are those of the touched point; else those of the centre of the ball.
Readings on a tie point are always of the centre.

A hand tool:

{_columns(HAND)}

```csv
requirement,place,value [mm]
20,top,62.018
20,top,62.019
20,bottom,62.016
```

What was found of attributes; no number, no uncertainty. Several lines on one attribute must agree:

{_columns(RECORDED)}

```csv
attribute,result,by,when,note
90,accept,the gauge bench,2026-11-20,go and no-go gauge G-12
91,reject,the gauge bench,2026-11-20 08:10,burr at the second bore
```

All readings of one station or tool stand in one file. A slip in a reading is not taken out: hand readings more than
5 % off the nominal are refused, points that coincide or lie on one line too, but a wrong digit further back goes into
the result as if the part were so. Points that stand out show in the notes of the report, as form of the workpiece.
"""


def catalogue() -> str:
    rows = "\n".join(f"| `{name}` | {c.summary} | {', '.join(c.parameters)} |" for name, c in classes().items())
    return f"""## Classes of instruments

Generic figures, each with its origin: replace them by those of the certificate before a verdict hangs on them. What a
figure does is told in [the methods](methods/README.md).

| class | what it is | figures |
| --- | --- | --- |
{rows}
"""


def materials() -> str:
    rows = "\n".join(
        f"| `{m.name}` | {m.alpha * 1e6:g} | {m.u_alpha * 1e6:g} | {m.origin} |" for m in MATERIALS.values()
    )
    return f"""## Materials

Coefficients of thermal expansion near 20 degC and their standard uncertainties, ppm/K. `expansion` in a zone replaces
them.

| material | ppm/K | u | from |
| --- | --- | --- | --- |
{rows}
"""


def checked() -> str:
    return """## What is refused, and what is only said

`trysquare check` lists errors, which stop the job, and warnings, which travel with its results: a part whose
temperature nobody took (nothing is corrected, the uncertainty grows), air that nobody measured (assumed, with a large
uncertainty), a requirement without readings (it will be undecided: not measured), a job that is only planned, a drawing
that is not sane. Notes are only said there. What each rule of drawings rests on stands in square brackets
([the register](methods/register.md)).

`trysquare check NEW --against OLD` compares with an earlier job, or with the `result.json` of one: what is new, dropped
and changed, what the readings at hand can judge, what needs measuring. Where a number was dropped, put it into the list
`dropped`: the readings of it are then passed over.
"""
