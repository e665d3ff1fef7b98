"""The sub-commands: one module each, with its arguments beside what it does."""
