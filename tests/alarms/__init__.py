"""Tests of the alarms."""
