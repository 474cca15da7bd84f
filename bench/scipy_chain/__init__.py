"""The chain of a tracker job as a careful user of SciPy would write it, one draw at a time: rival and reference.

It takes the job and its readings, and nothing of our numerics: errors, tie, placing, ball offsets, heat, fits, datum
systems and characteristics are written anew from their definitions (docs/methods, docs/design). What no draw changes is
prepared once: groups of repeats, weights and start of the tie, the rough placement of the part, the normals along which
balls touch, opposite pairs, and a start for every fit. It makes no statements, no contributions, no verdicts; it covers
what the demo's job needs (two tracker stations, hand tools; planes, cylinders, spheres; three datum systems).
"""
