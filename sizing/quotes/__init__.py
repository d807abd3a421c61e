"""Quotes: lines, versions, issue, acceptance."""
