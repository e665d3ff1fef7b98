"""The bank of batches moved along the measured temperatures and weighed by the heat they explain.

Conversion of every member is integrated over the temperatures that were measured; the heat it
would have made is compared with the temperatures that were measured. "No heat yet" is evidence,
and so is the hand that finds the resin gelled. Where nothing on the part is believed, every member
warms by its own heat. Some members die on the way, so that a kick that stops is told from a kick
that a couple sees badly. The weights are `evidence.py`.

Stateful, but pure: time and readings are arguments, the same history gives the same numbers.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from firmware_host.config.schema import JobDescription
from firmware_host.cure.evidence import Evidence, living
from firmware_host.cure.foresee import HOTTEST_K, Standing
from firmware_host.cure.heat import Nodes, at_temperature, warm
from firmware_host.cure.known import Crossed, Outlook, Temperatures
from firmware_host.cure.lit import Node
from firmware_host.cure.outlook import GAP_BLUR, Moment, look_out, quantiles_of
from firmware_host.cure.population import MEMBERS, population_of
from firmware_host.cure.unseen import steps_in, warmed_unseen
from firmware_host.physics.kinetics import (
    T25_K,
    Progress,
    advance,
    arrhenius_factor,
    at_mixing,
    growth_table,
)

Array = npt.NDArray[np.float64]

LOOK_EVERY_S = 60.0
LONGEST_PIECE_S, COOL_PIECE_S, COOL_K = 15.0, 60.0, 308.15
"""One step of the bank, and one below 35 degC, where no batch is fast; a member too fast for it is
hotter than laminates get."""
RISE_SD = {Node.LAMINATE: (0.35, 0.10), Node.MOULD: (0.7, 0.20)}
"""Of a reading, in K, and as a share of the rise."""
CUP_SD_K, CUP_SD_SHARE = 1.5, 0.25
CUP_JUDGED_TO_K = 60.0
"""Rise beyond which the cup has said all it can: it kicked."""
SETTLE_AFTER_HEAT_S = 180.0
LONGEST_FOLLOWED_S = 120.0
"""Through a longer span without readings each member warms by its own heat."""
GAP_END_SD_K, GAP_END_SD_SHARE = 2.0, 0.3
GEL_SEEN_LATE_S = 600.0
GEL_SEEN_PENALTY = 12.0


class CureFilter:
    """One pour from mixing on."""

    def __init__(
        self, job: JobDescription, mixed_s: float, start: Temperatures, mixed_sd_s: float = 0.0
    ) -> None:
        self.mixed_s = mixed_s
        self._bank = population_of(job)
        self._growth = growth_table(self._bank.kinetics, self._bank.gel_conversion)
        self._doubt = 1.5 * np.sin(np.arange(MEMBERS) * 2.4)
        self._has_cup = job.cup is not None
        self._last = start
        self._now_s = mixed_s
        self._part = at_mixing(self._bank.kinetics)
        self._cup = at_mixing(self._bank.kinetics)
        self._nodes = _nodes_at(start)
        self._gel_s = np.full(MEMBERS, np.nan)
        self._evidence = Evidence(self._bank.log_prior(), self._bank.dying, self._bank.late)
        self._outlook: Outlook | None = None
        self._look_s = mixed_s + LOOK_EVERY_S
        self._quiet_until_s = mixed_s
        self._gaps: list[tuple[float, float]] = []
        self._on_the_way: list[tuple[float, Array]] = []
        """Conversions of the members within the span that was crossed last."""
        if mixed_sd_s > 0.0:
            self._part = self._cup = self._mixed_about(mixed_sd_s, start)

    def advance(self, now: Temperatures) -> None:
        """Move to the end of a block; blocks that do not lie ahead are left out."""
        span_s = now.time_s - self._now_s
        if span_s <= 0.0:
            return
        self._outlook = None
        self._on_the_way = [(self._now_s, self._part.conversion)] if span_s > LOOK_EVERY_S else []
        before, before_cup = self._part.conversion, self._cup.conversion
        if span_s > LONGEST_FOLLOWED_S and not (self._last.heated or now.heated):
            self._cross_gap(now, span_s)
        else:
            self._cross_on_a_line(now, span_s)
        if self._cup_speaks(now) and now.cup_k is not None:
            was_k = self._last.cup_k if self._last.cup_k is not None else now.cup_k
            first_k, last_k = min(was_k, HOTTEST_K), min(now.cup_k, HOTTEST_K)
            kinetics, pieces = self._bank.kinetics, _pieces(span_s, max(first_k, last_k))
            self._cup = advance(kinetics, self._cup, first_k, last_k, span_s, pieces)
        self._follow_heat(
            now, self._part.conversion - before, self._cup.conversion - before_cup, span_s
        )
        self._last, self._now_s = now, now.time_s
        if now.time_s >= self._look_s:
            self._look_s = now.time_s + LOOK_EVERY_S
            self._look(now)

    def crossed(self) -> list[Crossed]:
        """Give what the span that was crossed last was like, once; empty where none was."""
        way, self._on_the_way = self._on_the_way, []
        if not way:
            return []
        weight = self._evidence.weights()
        at_s = np.array([moment_s for moment_s, _ in way])
        low, mean, high = np.array([quantiles_of(alpha, weight) for _, alpha in way]).T
        blur_s = 0.5 * np.minimum(at_s - at_s[0], at_s[-1] - at_s)
        blur_s = np.minimum(blur_s, GAP_BLUR * (at_s[-1] - at_s[0]))
        low, high = np.interp(at_s - blur_s, at_s, low), np.interp(at_s + blur_s, at_s, high)
        rows = zip(at_s, low, mean, high, strict=True)
        return [Crossed(float(t), (float(a), float(b), float(c))) for t, a, b, c in rows]

    def gel_seen(self, time_s: float) -> None:
        """Take in that somebody found the resin gelled: up to ten minutes late, never early."""
        self._outlook = None
        late_s = time_s - np.where(np.isnan(self._gel_s), np.inf, self._gel_s)
        self._evidence.add_seen(
            np.where(
                late_s < -60.0,
                -GEL_SEEN_PENALTY,
                -np.maximum(late_s - GEL_SEEN_LATE_S, 0.0) / GEL_SEEN_LATE_S,
            )
        )
        self._take_as_gelled(time_s)

    def _take_as_gelled(self, time_s: float) -> None:
        """Move members that had not gelled to the gel: a finger is surer than any of them."""
        behind = np.isnan(self._gel_s)
        share = (np.arange(MEMBERS) * 0.618) % 1.0
        earliest_s = max(time_s - GEL_SEEN_LATE_S, self.mixed_s)
        self._gel_s = np.where(behind, time_s - share * (time_s - earliest_s), self._gel_s)
        gel = self._bank.gel_conversion
        self._part = Progress(
            np.where(behind, 1.0, self._part.inhibitor),
            np.where(behind, np.maximum(self._part.conversion, gel), self._part.conversion),
        )

    def outlook(self) -> Outlook:
        """Say what the bank says now; asked again before anything moved, the same."""
        if self._outlook is None:
            self._outlook = self._look_out()
        return self._outlook

    def _look_out(self) -> Outlook:
        return look_out(
            Moment(
                bank=self._bank,
                growth=self._growth,
                part=self._part,
                gel_s=self._gel_s,
                temp_k=self._member_k(self._last),
                weight=self._evidence.weights(),
                own_weight=self._evidence.own_weights(),
                mixed_s=self.mixed_s,
                now_s=self._now_s,
                gaps_s=tuple(self._gaps),
            )
        )

    def standing(self) -> Standing:
        """Give where every member stands."""
        return Standing(self._bank, self._part, self._nodes)

    def weights(self) -> Array:
        """Give the members' weights."""
        return self._evidence.weights()

    def living_members(self) -> float:
        """Effective number of members, 1 / sum of squared weights."""
        return living(self._evidence.weights())

    def _mixed_about(self, sd_s: float, start: Temperatures) -> Progress:
        """Spread the members over the moments at which the cup may have been mixed."""
        kinetics = self._bank.kinetics
        rate = kinetics.induction_per_s * arrhenius_factor(
            kinetics.induction_j_per_mol, start.laminate_k, T25_K
        )
        ahead = np.where(np.isinf(rate), 0.0, np.nan_to_num(rate, posinf=0.0) * sd_s * self._doubt)
        return Progress(np.clip(ahead, -0.5, 0.5), np.zeros(MEMBERS))

    def _member_k(self, at: Temperatures) -> Array:
        """Temperature that each member's resin had, from what the couple showed.

        Where no couple on the part or its mould is believed: by its own heat.
        """
        if at.stand_in_sd_k > 0.0:
            guess_k = self._nodes.laminate_k if at.mould_k is None else self._beside_mould(at)
            return np.asarray(np.minimum(guess_k + at.stand_in_sd_k * self._doubt, HOTTEST_K))
        rise = max(at.laminate_k - at.shop_k, 0.0)
        hidden = np.zeros(MEMBERS) if at.heated else (1.0 / self._bank.bead - 1.0) * rise
        return np.asarray(np.minimum(at.laminate_k + hidden + self._zero_k(at), HOTTEST_K))

    def _zero_k(self, at: Temperatures) -> Array:
        """By how much each member takes the laminate's couple to read too low."""
        return np.asarray(at.zero_sd_k * self._doubt)

    def _beside_mould(self, at: Temperatures) -> Array:
        """Each member's laminate, as much warmer than the measured mould as it makes it."""
        mould_k = at.mould_k if at.mould_k is not None else at.laminate_k
        return mould_k + np.clip(self._nodes.laminate_k - self._nodes.mould_k, 0.0, 10.0)

    def _follow(self, start_s: float, first: Array, last: Array, span_s: float) -> None:
        """Move the members' resin along a line from one temperature to another."""
        before = self._part.conversion
        pieces = _pieces(span_s, max(float(np.max(first)), float(np.max(last))))
        self._part = advance(self._bank.kinetics, self._part, first, last, span_s, pieces)
        self._note_gel(before, start_s, span_s)

    def _cross_on_a_line(self, now: Temperatures, span_s: float) -> None:
        """Follow the members between two readings, or where a lamp made the warmth between."""
        first, last = self._member_k(self._last), self._member_k(now)
        steps = steps_in(span_s)
        for number in range(steps):
            start_s = self._now_s + number * span_s / steps
            from_k, to_k = (first + (last - first) * (n / steps) for n in (number, number + 1))
            self._follow(start_s, from_k, to_k, span_s / steps)
            if steps > 1:
                self._on_the_way.append((start_s + span_s / steps, self._part.conversion))

    def _cross_gap(self, now: Temperatures, span_s: float) -> None:
        """Let each member warm by its own heat where nobody looked.

        What a member has come to at the far end is then held against what is measured there.
        """
        self._gaps.append((self._now_s, now.time_s))
        last_k = now.shop_k
        start = Standing(self._bank, self._part, _nodes_at(self._last))
        nodes = start.nodes
        rooms_k = (self._last.shop_k, last_k)
        for step in warmed_unseen(start, rooms_k, self._doubt, self._now_s, span_s):
            before, self._part, nodes = self._part.conversion, step.part, step.nodes
            self._note_gel(before, step.start_s, step.span_s)
            self._on_the_way.append((step.start_s + step.span_s, self._part.conversion))
        if now.stand_in_sd_k == 0.0:
            shown = last_k + self._bank.bead * (nodes.laminate_k - last_k)
            self._evidence.weigh(now.laminate_k, shown, last_k, GAP_END_SD_K, GAP_END_SD_SHARE)
        self._nodes = Nodes(nodes.laminate_k, nodes.mould_k, _nodes_at(now).cup_k)

    def _note_gel(self, before: Array, start_s: float, span_s: float) -> None:
        target = self._bank.gel_conversion
        after = self._part.conversion
        newly = np.isnan(self._gel_s) & (after >= target)
        if np.any(newly):
            share = (target - before[newly]) / np.maximum(after[newly] - before[newly], 1e-12)
            self._gel_s[newly] = start_s + np.clip(share, 0.0, 1.0) * span_s

    def _follow_heat(self, now: Temperatures, gain: Array, cup_gain: Array, span_s: float) -> None:
        if now.heated:
            self._quiet_until_s = now.time_s + SETTLE_AFTER_HEAT_S
        lost = span_s > LONGEST_FOLLOWED_S
        if now.heated or (lost and self._last.heated):
            # A lamp hides nothing from the bead, but once it is out the film takes its share again.
            under_k = now.shop_k + (now.laminate_k - now.shop_k) / self._bank.bead
            self._nodes = replace(_nodes_at(now), laminate_k=under_k)
            return
        if lost:
            return  # each member comes out of the gap as warm as it made itself
        self._nodes = warm(self._bank, self._nodes, now.shop_k, gain, cup_gain, span_s)

    def _look(self, now: Temperatures) -> None:
        """Weigh the members by one reading of laminate and cup."""
        if now.time_s <= self._quiet_until_s:
            return
        shop_k, doubt_k = now.shop_k, now.shop_sd_k
        if now.stand_in_sd_k == 0.0:
            shown_k = self._bank.bead * (self._nodes.laminate_k - shop_k) - self._zero_k(now)
            self._weigh_rise(Node.LAMINATE, now.laminate_k - shop_k, shown_k, doubt_k)
        if now.mould_k is not None:
            shown_k = self._nodes.mould_k - shop_k
            self._weigh_rise(Node.MOULD, now.mould_k - shop_k, shown_k, doubt_k)
        if self._cup_speaks(now) and now.cup_k is not None:
            floor_k = math.hypot(CUP_SD_K, doubt_k)
            self._evidence.weigh(now.cup_k, self._nodes.cup_k, shop_k, floor_k, CUP_SD_SHARE)

    def _weigh_rise(self, node: Node, measured_k: float, shown_k: Array, doubt_k: float) -> None:
        floor_k, share = RISE_SD[node]
        gelled = ~np.isnan(self._gel_s)
        self._evidence.weigh_rise(
            node, measured_k, shown_k, math.hypot(floor_k, doubt_k), share, gelled
        )

    def _cup_speaks(self, now: Temperatures) -> bool:
        """Tell whether the cup still has something to say: it is there and has not kicked."""
        if now.cup_k is None:
            return False
        self._has_cup = self._has_cup and now.cup_k - now.shop_k < CUP_JUDGED_TO_K
        return self._has_cup


def _pieces(span_s: float, hottest_k: float) -> int:
    return math.ceil(span_s / (COOL_PIECE_S if hottest_k < COOL_K else LONGEST_PIECE_S))


def _nodes_at(at: Temperatures) -> Nodes:
    mould_k = at.mould_k if at.mould_k is not None else at.laminate_k
    cup_k = at.cup_k if at.cup_k is not None else at.laminate_k
    return at_temperature(at.laminate_k, mould_k, cup_k, MEMBERS)
