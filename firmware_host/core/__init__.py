"""The pure core: step(input) -> events."""
