"""The firmware, as it stands."""
