"""Installed stages, their wearing parts, commissioning."""
