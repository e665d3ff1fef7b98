"""The box: bytes, words and counts, checked against datasheets and reference tables."""
