"""The phases of a job, as a transition table."""
