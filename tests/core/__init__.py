"""Tests of the pure core, by hand-turned time."""
