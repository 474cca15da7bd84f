"""Filters of profiles and surfaces after ISO 16610: form and waviness, what is finer, what the ends touch."""

from .areal import gaussian_areal, robust_gaussian_areal
from .band import Band, band_pass
from .gaussian import gaussian_closed, gaussian_profile
from .result import ALPHA, Filtered, RobustFiltered, gaussian_transmission, spline_transmission
from .robust import robust_gaussian_closed, robust_gaussian_profile
from .sections import FilteredSection, evenly_around, filter_line, filter_section
from .spline import GAUSSIAN_LIKE, spline_closed, spline_profile

__all__ = [
    "ALPHA",
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
]
