"""What hangs on this board: the one file to change before flashing; pins in `hardware/wiring.md`.

A line is a raw, in the order in which the bench file's `index` counts them, from 0. First the part,
then its chip-select pin (SPI) or address (I2C), then what the part still needs:

    "max31855", pin                     "mcp3208", pin, input
    "max31856", pin, couple             "ads1115", address, input, largest voltage
    "max31865", pin, wires              "bmp280", address
"""

SPI_PINS = (18, 19, 16)
"""Clock, data out, data in."""
I2C_PINS = (5, 4)
"""Clock, data."""

RAWS = (
    ("ads1115", 0x48, "0", 6.144),  # 0  bag transducer
    ("ads1115", 0x48, "3", 6.144),  # 1  its supply
    ("max31855", 17),  # 2  part1
    ("max31855", 20),  # 3  part2
    ("max31855", 21),  # 4  mould
    ("bmp280", 0x76),  # 5  barometer
)
