"""Tests of leak estimation."""
