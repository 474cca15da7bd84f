"""Core: errors, units, frames, array checks, atomic files, threads. Imports nothing of the house."""
