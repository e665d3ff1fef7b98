"""Shell, outward: one module per way facts leave."""
