"""Samplings: which bottles, drawn where, how and when, at the laboratory by when, answered when."""
