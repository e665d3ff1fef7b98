"""Shell, inward: one module per way facts arrive."""
