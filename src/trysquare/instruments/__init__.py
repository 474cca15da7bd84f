"""Instruments: how each sees a point or a length, its sources of error, and a catalogue of typical classes."""
