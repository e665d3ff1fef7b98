"""Glass transition of a curing resin: why a cure at room temperature stops short. Pure functions.

Sources: [1] DiBenedetto's equation in the form of Pascault & Williams, J. Polym. Sci. B 28 (1990)
85 (from memory); lam is the ratio of the steps of heat capacity, cured over uncured.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Glass:
    """One resin's glass transition before and after its cure, K, and how it bends between."""

    uncured_k: float
    cured_k: float
    bend: float
    """lam; above 0, at most 1."""

    def __post_init__(self) -> None:
        if not (0.0 < self.bend <= 1.0 and 0.0 < self.uncured_k < self.cured_k):
            raise ValueError(
                f"glass from {self.uncured_k} to {self.cured_k} K with lam {self.bend} cannot be; "
                "0 < uncured < cured and 0 < lam <= 1"
            )

    def transition_k(self, conversion: float) -> float:
        """Glass transition at a conversion.

        Tg = Tg0 + (Tg1 - Tg0) lam a / (1 - (1 - lam) a); a from 0 to 1, beyond it is clamped. [1]

        >>> round(Glass(uncured_k=262.15, cured_k=479.15, bend=0.435).transition_k(0.5) - 273.15, 9)
        54.780487805
        """
        a = min(max(conversion, 0.0), 1.0)
        share = self.bend * a / (1.0 - (1.0 - self.bend) * a)
        return self.uncured_k + (self.cured_k - self.uncured_k) * share

    def conversion_at(self, transition_k: float) -> float:
        """Conversion at which the glass transition is there; the inverse, clamped to 0 to 1.

        a = x / (lam + x (1 - lam)), x = (Tg - Tg0) / (Tg1 - Tg0). [1]

        >>> round(Glass(uncured_k=262.15, cured_k=479.15, bend=0.435).conversion_at(298.15), 11)
        0.31376650543
        """
        x = (transition_k - self.uncured_k) / (self.cured_k - self.uncured_k)
        x = min(max(x, 0.0), 1.0)
        return x / (self.bend + x * (1.0 - self.bend))
