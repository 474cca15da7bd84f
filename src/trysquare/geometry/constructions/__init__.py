"""Constructions: where features meet, and how far they lie apart."""
