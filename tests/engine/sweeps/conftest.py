"""Sweeps run the same cases every time, without a clock: a busy machine must not fail them."""

from hypothesis import settings

settings.register_profile("sweeps", deadline=None, derandomize=True, database=None)
settings.load_profile("sweeps")
