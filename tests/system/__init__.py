"""The daemon as a process of its own, against a bench that knows the truth."""
