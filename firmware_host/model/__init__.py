"""Vocabulary: frozen records without behaviour."""
