"""Tests; never shipped."""
