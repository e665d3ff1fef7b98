"""What the physical box is: wire formats, chips, calibration. Pure, stands alone."""
