"""Geometry: shapes associated with points, batched over leading axes. Knows no chance.

The parts load when first used, so that importing this package costs nothing.
"""

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .linear import fit_line, fit_plane
    from .local_size import TwoPointSizes, two_point_sizes
    from .plane_zone import PlaneZone, flatness, minimum_zone_plane
    from .results import CircleFit, CylinderFit, Fit, LineFit, PlaneFit, SphereFit
    from .round_shapes import fit_circle, fit_cylinder, fit_sphere
    from .uncertainty import ParameterU, parameter_u
    from .zone import smallest_zone, zone_width

_HOME = {
    "plane_zone": ("PlaneZone", "flatness", "minimum_zone_plane"),
    "linear": ("fit_line", "fit_plane"),
    "local_size": ("TwoPointSizes", "two_point_sizes"),
    "results": ("CircleFit", "CylinderFit", "Fit", "LineFit", "PlaneFit", "SphereFit"),
    "round_shapes": ("fit_circle", "fit_cylinder", "fit_sphere"),
    "uncertainty": ("ParameterU", "parameter_u"),
    "zone": ("smallest_zone", "zone_width"),
}
_MODULE = {name: module for module, names in _HOME.items() for name in names}
__all__ = [
    "CircleFit",
    "CylinderFit",
    "Fit",
    "LineFit",
    "ParameterU",
    "PlaneFit",
    "PlaneZone",
    "SphereFit",
    "TwoPointSizes",
    "fit_circle",
    "fit_cylinder",
    "fit_line",
    "fit_plane",
    "fit_sphere",
    "flatness",
    "minimum_zone_plane",
    "parameter_u",
    "smallest_zone",
    "two_point_sizes",
    "zone_width",
]


def __getattr__(name: str) -> Any:
    if name not in _MODULE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(f".{_MODULE[name]}", __name__), name)
