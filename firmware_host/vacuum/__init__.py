"""Leak estimation: isolation windows, rise, verdict. Pure."""
