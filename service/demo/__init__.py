"""The invented scenario of two dealers."""
