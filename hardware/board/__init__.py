"""Firmware of the board: runs under MicroPython, and as it stands under CPython."""
