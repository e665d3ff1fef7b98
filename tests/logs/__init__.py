"""Six recorded jobs, replayed."""
