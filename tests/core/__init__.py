"""Laws against published values."""
