"""Trysquare: shop-floor metrology from choosing the instrument to the verdict."""

__version__ = "0.1.0"
