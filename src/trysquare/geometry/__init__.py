"""Geometry: shapes associated with points, batched over leading axes. Knows no chance.

The parts load when first used, so that importing this package costs nothing.
"""

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .linear import fit_line, fit_plane
    from .results import CircleFit, CylinderFit, Fit, LineFit, PlaneFit, SphereFit
    from .round import fit_circle, fit_cylinder, fit_sphere
    from .zone import smallest_zone, zone_width

_HOME = {
    "linear": ("fit_line", "fit_plane"),
    "results": ("CircleFit", "CylinderFit", "Fit", "LineFit", "PlaneFit", "SphereFit"),
    "round": ("fit_circle", "fit_cylinder", "fit_sphere"),
    "zone": ("smallest_zone", "zone_width"),
}
_MODULE = {name: module for module, names in _HOME.items() for name in names}
__all__ = [
    "CircleFit",
    "CylinderFit",
    "Fit",
    "LineFit",
    "PlaneFit",
    "SphereFit",
    "fit_circle",
    "fit_cylinder",
    "fit_line",
    "fit_plane",
    "fit_sphere",
    "smallest_zone",
    "zone_width",
]


def __getattr__(name: str) -> Any:
    if name not in _MODULE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(f".{_MODULE[name]}", __name__), name)
