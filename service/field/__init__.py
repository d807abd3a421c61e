"""The technician's tablet."""
