"""Sizes as ISO 14405-1 names them."""
