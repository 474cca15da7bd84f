"""Linear thermal expansion of common materials near 20 degC, with an honest uncertainty.

Handbooks give a mean over some range of temperature and seldom an uncertainty. `u` therefore covers the difference
between that mean and the slope at 20 degC, the grades that share a name, and the scatter between melts. Where it
matters, have the coefficient of the very part measured: that alone brings u below 0.1e-6 / K.
"""

import difflib
from dataclasses import dataclass

from ..core.errors import InputError

_PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Material:
    """`alpha` and its standard uncertainty `u_alpha`, 1/K; `origin` says where both are from."""

    name: str
    alpha: float
    u_alpha: float
    origin: str


# name, alpha, u (1e-6 / K), origin of alpha; u is common practice except where the origin gives limits.
_TABLE = (
    ("steel", 11.5, 0.6, "ISO 3650:1998, 6.2.2, for gauge blocks: 11.5 +- 1.0, taken as rectangular"),
    ("steel, structural", 12.0, 0.6, "EN 1993-1-1:2005, 3.2.6; u " + _PRACTICE),
    ("steel, stainless austenitic", 16.0, 0.6, "EN 10088-1, 20 to 100 degC, 1.4301 and 1.4401; u " + _PRACTICE),
    ("steel, stainless martensitic", 10.5, 0.4, "EN 10088-1, 20 to 100 degC, 1.4006; u " + _PRACTICE),
    ("steel, stainless ferritic", 10.0, 0.4, "EN 10088-1, 20 to 100 degC, 1.4016; u " + _PRACTICE),
    ("steel, stainless duplex", 13.0, 0.5, "EN 10088-1, 20 to 100 degC, 1.4462; u " + _PRACTICE),
    ("steel, stainless precipitation hardened", 10.9, 0.4, "EN 10088-1, 20 to 100 degC, 1.4542; u " + _PRACTICE),
    ("cast iron, grey", 10.5, 0.6, _PRACTICE),
    ("cast iron, ductile", 11.0, 0.7, _PRACTICE),
    ("aluminium", 23.1, 0.6, "D. A. Swyt, J. Res. NIST 99 (1994) 31, at 20 degC; u " + _PRACTICE),
    ("aluminium 6061", 23.2, 0.5, _PRACTICE),
    ("aluminium 7075", 23.2, 0.6, _PRACTICE),
    ("aluminium, cast", 21.5, 0.8, _PRACTICE),
    ("magnesium, cast", 25.5, 0.8, _PRACTICE),
    ("titanium 6Al-4V", 8.6, 0.3, _PRACTICE),
    ("nickel alloy 718", 12.8, 0.4, _PRACTICE),
    ("copper", 16.6, 0.3, _PRACTICE),
    ("brass", 19.0, 0.7, _PRACTICE),
    ("bronze", 17.8, 0.6, _PRACTICE),
    ("zinc, cast", 27.0, 1.0, _PRACTICE),
    ("tungsten carbide", 5.0, 0.5, _PRACTICE),
    ("zirconia ceramic", 9.7, 0.5, _PRACTICE),
    ("alumina ceramic", 5.5, 0.4, _PRACTICE),
    ("nickel-iron 36", 1.3, 0.5, _PRACTICE),
    ("glass ceramic, low expansion", 0.0, 0.05, _PRACTICE),
    ("silicon", 2.6, 0.05, "D. A. Swyt, J. Res. NIST 99 (1994) 31, at 20 degC; u " + _PRACTICE),
    ("granite", 7.0, 1.0, _PRACTICE),
    ("concrete", 10.0, 1.5, "EN 1992-1-1:2004, 3.1.3; u " + _PRACTICE),
    ("carbon fibre laminate", 2.0, 2.0, _PRACTICE + "; depends on the lay-up and the direction"),
    ("glass fibre laminate", 14.0, 4.0, _PRACTICE + "; depends on the lay-up and the direction"),
    ("polyamide", 85.0, 15.0, _PRACTICE + "; swells with moisture besides"),
    ("acetal", 110.0, 10.0, _PRACTICE),
)

#: Every material by its name.
MATERIALS = {name: Material(name, a * 1e-6, u * 1e-6, origin) for name, a, u, origin in _TABLE}


def material(name: str, *, where: str = "material") -> Material:
    """The material of this name. Raises `InputError` that names the nearest known one."""
    if name in MATERIALS:
        return MATERIALS[name]
    close = difflib.get_close_matches(name.lower().replace("aluminum", "aluminium"), list(MATERIALS), 1, 0.5)
    hint = f'Did you mean "{close[0]}"? ' if close else ""
    raise InputError(
        where, "the material", f"be one of: {'; '.join(MATERIALS)}", f'"{name}"',
        hint + 'Or give the coefficient: expansion = { value = "11.5 ppm/K", u = "0.6 ppm/K" }.',
    )  # fmt: skip
