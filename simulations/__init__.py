"""The other end of the wire: a bench that owns its clock."""
