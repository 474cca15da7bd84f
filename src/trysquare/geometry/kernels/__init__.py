"""Serial compiled loops of the geometry floor; batches are cut by `core.threads.over_slices`."""
