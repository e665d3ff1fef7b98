"""The peer of the report: the same chart by matplotlib alone, every point handed to it.

`python report_peer.py READINGS.npy OUT.svg`. Prints the CPU time that reading the numbers took,
which is not matplotlib's; the caller takes it off. Written with pyplot, as its own guide begins;
path simplification is as shipped; size, panels and scales are the page's. On an even scale of
pressure matplotlib has a third less to do: the page takes about 1.5 times that.
"""

import sys
from time import process_time


def main(readings: str, picture: str) -> None:
    """Draw."""
    import numpy as np

    begun_s = process_time()
    minutes, *held = np.load(readings)
    print(process_time() - begun_s)

    import matplotlib as mpl  # what it costs to load is part of the peer

    mpl.use("svg")
    from matplotlib import pyplot as plt

    figure, (vacuum, warmth) = plt.subplots(2, 1, sharex=True, figsize=(182.0 / 25.4, 88.0 / 25.4))
    vacuum.set_yscale("symlog", linthresh=10.0, linscale=0.35)
    vacuum.set_ylabel("mbar")
    warmth.set_ylabel("\u00b0C")
    warmth.set_xlabel("minutes since mixing")
    for axes, names, lines in (
        (vacuum, ("bag", "pump"), held[:2]),
        (warmth, ("part1", "part2", "mould", "shop"), held[2:]),
    ):
        for name, line in zip(names, lines, strict=True):
            axes.plot(minutes, line, label=name)
        axes.grid(axis="y")
        axes.legend(loc="upper right")
    figure.savefig(picture)


if __name__ == "__main__":
    main(*sys.argv[1:])
