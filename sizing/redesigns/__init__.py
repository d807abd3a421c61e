"""Designing many households again: which best train would differ now."""
