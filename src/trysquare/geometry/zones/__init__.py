"""Minimum zones and touching shapes, each with its proof."""
