"""Tests of the phases of a job."""
