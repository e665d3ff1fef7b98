"""Tests of what goes out."""
