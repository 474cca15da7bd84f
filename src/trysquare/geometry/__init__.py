"""Geometry: shapes associated with points, batched over leading axes. Knows no chance.

The parts load when first used, so that importing this package costs nothing.
"""

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .area import area_weights
    from .bolt_circles import BoltCircle, bolt_circle
    from .circumscribed import circumscribed_circle, circumscribed_cylinder, circumscribed_sphere
    from .cone import fit_cone
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
    from .global_sizes import global_size
    from .in_sections import section_sizes, volume_size
    from .inner_spheres import spherical_sizes, width_spherical_sizes
    from .inscribed import inscribed_circle, inscribed_cylinder, inscribed_sphere
    from .line_zone import zone_line
    from .linear import fit_line, fit_plane
    from .local_size import TwoPointSizes, cylinder_two_point_sizes, two_point_sizes
    from .mating import Envelope, envelope_of_cylinder, envelope_of_width, mating_size
    from .measures import Measure, angle_between, distance_between
    from .middles import mid_line, mid_plane, mid_point
    from .parallel_pair import OppositePlanes, opposite_planes
    from .plane_zone import flatness, minimum_zone_plane
    from .profile_zone import ProfileZone, zone_profile
    from .projections import project_line_on_plane, project_point_on_line, project_point_on_plane
    from .results import CircleFit, ConeFit, CylinderFit, Fit, LineFit, PlaneFit, SphereFit, TorusFit
    from .round_shapes import fit_circle, fit_cylinder, fit_sphere
    from .sections import Sections, find_sections
    from .sizes import Size, rank_order
    from .spreads import Spread, linear_spread, spread
    from .tangent import TangentFit, tangent_line, tangent_plane
    from .torus import fit_torus
    from .two_point_sections import section_two_point_sizes
    from .uncertainty import ParameterU, parameter_u
    from .widths import width_size, width_two_point_sizes
    from .zone import smallest_zone, zone_width
    from .zone_round import zone_axis, zone_circle, zone_cylinder, zone_sphere
    from .zones import Certificate, ZoneFit

_HOME = {
    "area": ("area_weights",),
    "circumscribed": ("circumscribed_circle", "circumscribed_cylinder", "circumscribed_sphere"),
    "inscribed": ("inscribed_circle", "inscribed_cylinder", "inscribed_sphere"),
    "zone_round": ("zone_axis", "zone_circle", "zone_cylinder", "zone_sphere"),
    "zones": ("Certificate", "ZoneFit"),
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
    "line_zone": ("zone_line",),
    "tangent": ("TangentFit", "tangent_line", "tangent_plane"),
    "profile_zone": ("ProfileZone", "zone_profile"),
    "plane_zone": ("flatness", "minimum_zone_plane"),
    "cone": ("fit_cone",),
    "torus": ("fit_torus",),
    "linear": ("fit_line", "fit_plane"),
    "local_size": ("TwoPointSizes", "cylinder_two_point_sizes", "two_point_sizes"),
    "results": ("CircleFit", "ConeFit", "CylinderFit", "Fit", "LineFit", "PlaneFit", "SphereFit", "TorusFit"),
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
    "global_sizes": ("global_size",),
    "in_sections": ("section_sizes", "volume_size"),
    "inner_spheres": ("spherical_sizes", "width_spherical_sizes"),
    "mating": ("Envelope", "envelope_of_cylinder", "envelope_of_width", "mating_size"),
    "parallel_pair": ("OppositePlanes", "opposite_planes"),
    "sections": ("Sections", "find_sections"),
    "sizes": ("Size", "rank_order"),
    "widths": ("width_size", "width_two_point_sizes"),
    "two_point_sections": ("section_two_point_sizes",),
}
_MODULE = {name: module for module, names in _HOME.items() for name in names}
__all__ = [
    "GAUSSIAN_LIKE",
    "Band",
    "BoltCircle",
    "Certificate",
    "Circle",
    "CircleFit",
    "Cone",
    "ConeFit",
    "Cylinder",
    "CylinderFit",
    "Element",
    "Ellipse",
    "Envelope",
    "Filtered",
    "FilteredSection",
    "Fit",
    "Line",
    "LineFit",
    "Measure",
    "NearestOfLines",
    "OppositePlanes",
    "ParameterU",
    "Plane",
    "PlaneFit",
    "Point",
    "ProfileZone",
    "RobustFiltered",
    "Sections",
    "Size",
    "SphereFit",
    "Spread",
    "TangentFit",
    "TorusFit",
    "TwoPointSizes",
    "ZoneFit",
    "angle_between",
    "area_weights",
    "band_pass",
    "bolt_circle",
    "circumscribed_circle",
    "circumscribed_cylinder",
    "circumscribed_sphere",
    "cone_circle",
    "cone_cut",
    "cylinder_two_point_sizes",
    "distance_between",
    "envelope_of_cylinder",
    "envelope_of_width",
    "evenly_around",
    "filter_line",
    "filter_section",
    "find_sections",
    "fit_circle",
    "fit_cone",
    "fit_cylinder",
    "fit_line",
    "fit_plane",
    "fit_sphere",
    "fit_torus",
    "flatness",
    "gauge_circle",
    "gaussian_areal",
    "gaussian_closed",
    "gaussian_profile",
    "gaussian_transmission",
    "global_size",
    "inscribed_circle",
    "inscribed_cylinder",
    "inscribed_sphere",
    "line_of_planes",
    "linear_spread",
    "mating_size",
    "mid_line",
    "mid_plane",
    "mid_point",
    "minimum_zone_plane",
    "nearest_of_lines",
    "opposite_planes",
    "parameter_u",
    "point_of_line_and_plane",
    "point_of_planes",
    "project_line_on_plane",
    "project_point_on_line",
    "project_point_on_plane",
    "rank_order",
    "robust_gaussian_areal",
    "robust_gaussian_closed",
    "robust_gaussian_profile",
    "section_sizes",
    "section_two_point_sizes",
    "smallest_zone",
    "spherical_sizes",
    "spline_closed",
    "spline_profile",
    "spline_transmission",
    "spread",
    "tangent_line",
    "tangent_plane",
    "turned_meeting",
    "two_point_sizes",
    "volume_size",
    "width_size",
    "width_spherical_sizes",
    "width_two_point_sizes",
    "zone_axis",
    "zone_circle",
    "zone_cylinder",
    "zone_line",
    "zone_profile",
    "zone_sphere",
    "zone_width",
]


def __getattr__(name: str) -> Any:
    if name not in _MODULE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(f".{_MODULE[name]}", __name__), name)
