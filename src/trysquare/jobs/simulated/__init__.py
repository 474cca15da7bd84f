"""Measurements that never took place: planned points, true parts, readings that err as declared, known truth."""
