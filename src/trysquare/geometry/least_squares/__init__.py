"""Least squares: shapes that lie nearest to the points."""
