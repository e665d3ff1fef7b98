"""Cure estimation: progress, forecast. Pure."""
