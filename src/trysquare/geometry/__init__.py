"""Geometry: shapes associated with points, batched over leading axes. Knows no chance.

The parts load when first used, so that importing this package costs nothing.
"""

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .bolt_circles import BoltCircle, bolt_circle
    from .cone_sections import cone_circle, cone_cut, gauge_circle, turned_meeting
    from .crossings import NearestOfLines, line_of_planes, nearest_of_lines, point_of_line_and_plane, point_of_planes
    from .elements import Circle, Cone, Cylinder, Element, Ellipse, Line, Plane, Point
    from .filters import (
        GAUSSIAN_LIKE,
        Band,
        Filtered,
        FilteredSection,
        RobustFiltered,
        band_pass,
        evenly_around,
        filter_line,
        filter_section,
        gaussian_areal,
        gaussian_closed,
        gaussian_profile,
        gaussian_transmission,
        robust_gaussian_areal,
        robust_gaussian_closed,
        robust_gaussian_profile,
        spline_closed,
        spline_profile,
        spline_transmission,
    )
    from .linear import fit_line, fit_plane
    from .local_size import TwoPointSizes, two_point_sizes
    from .measures import Measure, angle_between, distance_between
    from .middles import mid_line, mid_plane, mid_point
    from .plane_zone import PlaneZone, flatness, minimum_zone_plane
    from .projections import project_line_on_plane, project_point_on_line, project_point_on_plane
    from .results import CircleFit, CylinderFit, Fit, LineFit, PlaneFit, SphereFit
    from .round_shapes import fit_circle, fit_cylinder, fit_sphere
    from .spreads import Spread, linear_spread, spread
    from .uncertainty import ParameterU, parameter_u
    from .zone import smallest_zone, zone_width

_HOME = {
    "filters": (
        "GAUSSIAN_LIKE",
        "Band",
        "Filtered",
        "FilteredSection",
        "RobustFiltered",
        "band_pass",
        "evenly_around",
        "filter_line",
        "filter_section",
        "gaussian_areal",
        "gaussian_closed",
        "gaussian_profile",
        "gaussian_transmission",
        "robust_gaussian_areal",
        "robust_gaussian_closed",
        "robust_gaussian_profile",
        "spline_closed",
        "spline_profile",
        "spline_transmission",
    ),
    "plane_zone": ("PlaneZone", "flatness", "minimum_zone_plane"),
    "linear": ("fit_line", "fit_plane"),
    "local_size": ("TwoPointSizes", "two_point_sizes"),
    "results": ("CircleFit", "CylinderFit", "Fit", "LineFit", "PlaneFit", "SphereFit"),
    "round_shapes": ("fit_circle", "fit_cylinder", "fit_sphere"),
    "uncertainty": ("ParameterU", "parameter_u"),
    "zone": ("smallest_zone", "zone_width"),
    "bolt_circles": ("BoltCircle", "bolt_circle"),
    "cone_sections": ("cone_circle", "cone_cut", "gauge_circle", "turned_meeting"),
    "crossings": ("NearestOfLines", "line_of_planes", "nearest_of_lines", "point_of_line_and_plane", "point_of_planes"),
    "elements": ("Circle", "Cone", "Cylinder", "Element", "Ellipse", "Line", "Plane", "Point"),
    "measures": ("Measure", "angle_between", "distance_between"),
    "middles": ("mid_line", "mid_plane", "mid_point"),
    "projections": ("project_line_on_plane", "project_point_on_line", "project_point_on_plane"),
    "spreads": ("Spread", "linear_spread", "spread"),
}
_MODULE = {name: module for module, names in _HOME.items() for name in names}
__all__ = [
    "GAUSSIAN_LIKE",
    "Band",
    "BoltCircle",
    "Circle",
    "CircleFit",
    "Cone",
    "Cylinder",
    "CylinderFit",
    "Element",
    "Ellipse",
    "Filtered",
    "FilteredSection",
    "Fit",
    "Line",
    "LineFit",
    "Measure",
    "NearestOfLines",
    "ParameterU",
    "Plane",
    "PlaneFit",
    "PlaneZone",
    "Point",
    "RobustFiltered",
    "SphereFit",
    "Spread",
    "TwoPointSizes",
    "angle_between",
    "band_pass",
    "bolt_circle",
    "cone_circle",
    "cone_cut",
    "distance_between",
    "evenly_around",
    "filter_line",
    "filter_section",
    "fit_circle",
    "fit_cylinder",
    "fit_line",
    "fit_plane",
    "fit_sphere",
    "flatness",
    "gauge_circle",
    "gaussian_areal",
    "gaussian_closed",
    "gaussian_profile",
    "gaussian_transmission",
    "line_of_planes",
    "linear_spread",
    "mid_line",
    "mid_plane",
    "mid_point",
    "minimum_zone_plane",
    "nearest_of_lines",
    "parameter_u",
    "point_of_line_and_plane",
    "point_of_planes",
    "project_line_on_plane",
    "project_point_on_line",
    "project_point_on_plane",
    "robust_gaussian_areal",
    "robust_gaussian_closed",
    "robust_gaussian_profile",
    "smallest_zone",
    "spline_closed",
    "spline_profile",
    "spline_transmission",
    "spread",
    "turned_meeting",
    "two_point_sizes",
    "zone_width",
]


def __getattr__(name: str) -> Any:
    if name not in _MODULE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(f".{_MODULE[name]}", __name__), name)
