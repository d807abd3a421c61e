"""Visits: crew, day, checklist, parts, readings."""
