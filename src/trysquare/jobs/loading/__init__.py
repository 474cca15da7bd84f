"""From a job folder to a job in memory: schema, readings, checks, and errors with file and line.

The face of this room is `load.load`, `load.problems` and `load.examine`.
"""
