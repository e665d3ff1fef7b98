"""The command line, as a person meets it."""
