"""Checks of a whole job, one topic a file: each adds to the findings and changes nothing."""
