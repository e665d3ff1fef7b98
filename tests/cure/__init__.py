"""The cure, against batches made elsewhere."""
