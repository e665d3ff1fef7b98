"""Widgets of the panel: each shows what the view model says, and draws on change only."""
