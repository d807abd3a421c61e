"""Whose water, where, and what was measured."""
