"""Laboratories' result files: read, shown row by row, taken in whole or not at all, taken back."""
