"""The bench daemon and its command."""
