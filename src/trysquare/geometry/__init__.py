"""Geometry: shapes associated with points, batched over leading axes. Knows no chance.

The parts load when first used, so that importing this package costs nothing.
"""

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .constructions.bolt_circles import BoltCircle, bolt_circle
    from .constructions.cone_sections import cone_circle, cone_cut, gauge_circle, turned_meeting
    from .constructions.crossings import (
        NearestOfLines,
        line_of_planes,
        nearest_of_lines,
        point_of_line_and_plane,
        point_of_planes,
    )
    from .constructions.elements import Circle, Cone, Cylinder, Element, Ellipse, Line, Plane, Point
    from .constructions.measures import Measure, angle_between, distance_between
    from .constructions.middles import mid_line, mid_plane, mid_point
    from .constructions.projections import project_line_on_plane, project_point_on_line, project_point_on_plane
    from .constructions.spreads import Spread, linear_spread, spread
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
    from .least_squares.area import area_weights
    from .least_squares.cone import fit_cone
    from .least_squares.linear import fit_line, fit_plane
    from .least_squares.results import CircleFit, ConeFit, CylinderFit, Fit, LineFit, PlaneFit, SphereFit, TorusFit
    from .least_squares.round_shapes import fit_circle, fit_cylinder, fit_sphere
    from .least_squares.torus import fit_torus
    from .least_squares.uncertainty import ParameterU, parameter_u
    from .sizes.global_sizes import global_size
    from .sizes.in_sections import section_sizes, volume_size
    from .sizes.inner_spheres import spherical_sizes, width_spherical_sizes
    from .sizes.local_size import TwoPointSizes, cylinder_two_point_sizes, two_point_sizes
    from .sizes.mating import Envelope, envelope_of_cylinder, envelope_of_width, mating_size
    from .sizes.parallel_pair import OppositePlanes, opposite_planes
    from .sizes.results import Size, rank_order
    from .sizes.sections import Sections, find_sections
    from .sizes.two_point_sections import section_two_point_sizes
    from .sizes.widths import width_size, width_two_point_sizes
    from .zones.circumscribed import circumscribed_circle, circumscribed_cylinder, circumscribed_sphere
    from .zones.inscribed import inscribed_circle, inscribed_cylinder, inscribed_sphere
    from .zones.line_zone import zone_line
    from .zones.plane_zone import flatness, minimum_zone_plane
    from .zones.profile_zone import ProfileZone, zone_profile
    from .zones.results import Certificate, ZoneFit
    from .zones.tangent import TangentFit, tangent_line, tangent_plane
    from .zones.zone import smallest_zone, zone_width
    from .zones.zone_round import zone_axis, zone_circle, zone_cylinder, zone_sphere

_HOME = {
    "filters": (
        "Band", "Filtered", "FilteredSection", "GAUSSIAN_LIKE", "RobustFiltered", "band_pass", "evenly_around",
        "filter_line", "filter_section", "gaussian_areal", "gaussian_closed", "gaussian_profile",
        "gaussian_transmission", "robust_gaussian_areal", "robust_gaussian_closed", "robust_gaussian_profile",
        "spline_closed", "spline_profile", "spline_transmission",
    ),
    "constructions.bolt_circles": ("BoltCircle", "bolt_circle"),
    "constructions.cone_sections": ("cone_circle", "cone_cut", "gauge_circle", "turned_meeting"),
    "constructions.crossings": (
        "NearestOfLines", "line_of_planes", "nearest_of_lines", "point_of_line_and_plane", "point_of_planes",
    ),
    "constructions.elements": ("Circle", "Cone", "Cylinder", "Element", "Ellipse", "Line", "Plane", "Point"),
    "constructions.measures": ("Measure", "angle_between", "distance_between"),
    "constructions.middles": ("mid_line", "mid_plane", "mid_point"),
    "constructions.projections": ("project_line_on_plane", "project_point_on_line", "project_point_on_plane"),
    "constructions.spreads": ("Spread", "linear_spread", "spread"),
    "least_squares.area": ("area_weights",),
    "least_squares.cone": ("fit_cone",),
    "least_squares.linear": ("fit_line", "fit_plane"),
    "least_squares.results": (
        "CircleFit", "ConeFit", "CylinderFit", "Fit", "LineFit", "PlaneFit", "SphereFit", "TorusFit",
    ),
    "least_squares.round_shapes": ("fit_circle", "fit_cylinder", "fit_sphere"),
    "least_squares.torus": ("fit_torus",),
    "least_squares.uncertainty": ("ParameterU", "parameter_u"),
    "sizes.global_sizes": ("global_size",),
    "sizes.in_sections": ("section_sizes", "volume_size"),
    "sizes.inner_spheres": ("spherical_sizes", "width_spherical_sizes"),
    "sizes.local_size": ("TwoPointSizes", "cylinder_two_point_sizes", "two_point_sizes"),
    "sizes.mating": ("Envelope", "envelope_of_cylinder", "envelope_of_width", "mating_size"),
    "sizes.parallel_pair": ("OppositePlanes", "opposite_planes"),
    "sizes.results": ("Size", "rank_order"),
    "sizes.sections": ("Sections", "find_sections"),
    "sizes.two_point_sections": ("section_two_point_sizes",),
    "sizes.widths": ("width_size", "width_two_point_sizes"),
    "zones.circumscribed": ("circumscribed_circle", "circumscribed_cylinder", "circumscribed_sphere"),
    "zones.inscribed": ("inscribed_circle", "inscribed_cylinder", "inscribed_sphere"),
    "zones.line_zone": ("zone_line",),
    "zones.plane_zone": ("flatness", "minimum_zone_plane"),
    "zones.profile_zone": ("ProfileZone", "zone_profile"),
    "zones.results": ("Certificate", "ZoneFit"),
    "zones.tangent": ("TangentFit", "tangent_line", "tangent_plane"),
    "zones.zone": ("smallest_zone", "zone_width"),
    "zones.zone_round": ("zone_axis", "zone_circle", "zone_cylinder", "zone_sphere"),
}  # fmt: skip
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
