"""The demo: a scenario of our own, measured by simulation with known truth, judged and reported."""
