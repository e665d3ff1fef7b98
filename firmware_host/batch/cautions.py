"""What must be read before the bottle is opened, by resin family. Pure text."""

from __future__ import annotations

from firmware_host.config.schema import Family

_PEROXIDE = (
    "Eye protection and gloves before the bottle is opened: initiator can blind.",
    "NEVER let initiator and promoter (accelerator) meet directly: violent reaction.",
    "Stir it in, sides and base. Never add initiator to a wet lay-up.",
)
_AMINE = (
    "Gloves and eye protection: hardener burns and makes you allergic.",
    "More hardener does not hurry it. Never add hardener to a wet lay-up.",
)
_LEFT_OVER = "Left-over mix: while cool, outdoors, thin, on a hard surface. Never in a bin."
_WHO_IS_RIGHT = "Data sheet, safety sheet and local law win over this page."


def cautions(family: Family) -> tuple[str, ...]:
    """Give the cautions of a family, the worst first."""
    first = _AMINE if family is Family.EPOXY else _PEROXIDE
    return (*first, _LEFT_OVER, _WHO_IS_RIGHT)
