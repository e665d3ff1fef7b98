"""Job description and bench file: schema, bounds, loader."""
