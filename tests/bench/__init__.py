"""Figures of speed and size as ratios: `python -m tests.bench NAME [--full] [--seed N]`.

Only ratios travel from one machine to another, so every speed is one: ours beside a peer or a
floor, in turns, in one run, in CPU time. Campaigns (`fuzz`, `sensor_faults`) count instead; each
count has its bound. The table that is kept names the machine and the seed.
"""
