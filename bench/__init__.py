"""Figures: how fast, how exact, how true. `python -m bench` lists them."""
