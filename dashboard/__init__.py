"""The terminal panel: a client of the daemon's socket."""
