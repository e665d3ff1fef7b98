"""`python -m firmware_host`: the same as the command `bagvigil`."""

from __future__ import annotations

import sys

from firmware_host.cli import main

sys.exit(main())
