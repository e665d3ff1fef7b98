"""Alarm rules and their life cycle."""
