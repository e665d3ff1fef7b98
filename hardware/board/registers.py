"""Register values of the chips, each with where it comes from."""

MAX31856_CR0 = 0x91
"""Convert by itself (80h), look for an open couple (10h), reject 50 Hz (01h); from memory."""
MAX31856_TYPES = {"J": 0x02, "K": 0x03, "T": 0x07}
"""CR1: one conversion per reading, and the couple's type; from memory."""

MAX31865_CONFIG = 0xC1
"""Bias on (80h), convert by itself (40h), reject 50 Hz (01h); sheet 19-6478 p. 13, table 2."""
MAX31865_THREE_WIRES = 0x10

ADS1115_INPUTS = {"0-1": 0, "0-3": 1, "1-3": 2, "2-3": 3, "0": 4, "1": 5, "2": 6, "3": 7}
"""Bits 14..12 of config: a pair, or one input against ground; from memory."""
ADS1115_RANGES = {6.144: 0, 4.096: 1, 2.048: 2, 1.024: 3, 0.512: 4, 0.256: 5}
"""Bits 11..9 of config by the largest voltage; from memory."""

BMP280_MEASURE = 0x57
"""F4h: temperature twice, pressure 16 times, without pause; sheet BST-BMP280-DS001, 4.3.4."""
BMP280_CONFIG = 0x10
"""F5h: filter coefficient 16; sheet section 4.3.5."""
BMP280_IDS = (0x58, 0x60)
"""D0h: the chip itself, and its sister that measures humidity too and is read alike."""
