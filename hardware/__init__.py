"""What the physical box is: wire formats, chips, calibration. Pure, stands alone.

A reading is a value or None, and then a `Fault`; nothing here raises on what a board sends. Only
a wrong description of the box, or a value that cannot be put on the wire, is a ValueError.
"""
