"""The person who looks: the digits are the only guide. Literature from memory, the rest assumed.

* A glance from the screw to the display and back takes 0.6 to 1.0 s (cf. Sanders 1970 on the functional
  visual field), 0.3 of it for each way and 0.4 for a number. `in_view`: the display stands so that both are
  seen at once; no ways, only the number takes time.
* Where fine movements are made the eyes are on the screw; a slow sweep goes on during glances, and so does a
  way of several turns of the wrist, which ends once the display shows less than one turn or the other side.
* Three significant digits are kept in mind. The number that counts is the mean of the last two seen, once
  they are alike; before deciding, of at least three in at least a second, tool away.
* Whoever has gone too far down comes straight back: that leaves the backlash on the wrong side, which the
  product's back-off does not allow, but the level is right, and only that is judged here.
* 1 dB down is computed rightly (peak x 0.891, to three digits), in 1.5 to 3 s.
* The person wants to be within half the tolerance before letting go, and takes 3/4 of it afterwards.
"""

import math
from collections.abc import Callable

from tests.trials.feel.bench import FALL_DB, STEP_S, TARGET_VOLTS, TOLERANCE_DB, Bench, db
from tests.trials.feel.hand import SHORT, WRIST_DEG, Doing, Feel, Hand
from tests.trials.feel.with_cues import ALIKE_DB, MOST_LOOKS

WAY, READING = 0.3, 0.4
AIM, TAKE = 0.5, 0.75
CHECK_S, CHECK_READINGS = 1.0, 3
VISIBLY_FALLEN = 0.004
FALL_FACTOR = 10.0 ** (-FALL_DB / 20.0)


def three_digits(volts: float) -> float:
    return float(f"{volts:.3g}")


class Looker:
    """Each job ends when the person says done."""

    def __init__(self, bench: Bench, hand: Hand, *, in_view: bool) -> None:
        self._bench = bench
        self._hand = hand
        self._feel = Feel(bench.case, hand.traits)
        self._way_s = 0.0 if in_view else WAY * hand.traits.glance_s
        self._reading_s = READING * hand.traits.glance_s
        self._seen = 0.0
        self._highest = 0.0
        self._next_glance_s = 0.0
        self._falls = 0
        self.looked_away_s = 0.0

    def adjust(self) -> Doing:
        yield from self._bring_to(TARGET_VOLTS, onward=1.0)

    def back_off(self) -> Doing:
        yield from self._hand.sweep(self._bench.case.sweep_deg_s, self._fallen)
        yield from self._hand.wait(self._hand.traits.arithmetic_s)
        yield from self._bring_to(three_digits(FALL_FACTOR * self._highest), onward=-1.0)

    def _bring_to(self, target_volts: float, onward: float) -> Doing:
        """`onward`: sign of the level's change when the hand turns on."""
        turned, before_db = 0.0, 0.0
        while True:
            yield from self._steady()
            away_db = db(self._seen, target_volts)
            self._feel.learn(turned * onward, away_db - before_db)
            if abs(away_db) <= AIM * TOLERANCE_DB:
                turned = 0.0
                yield from self._hand.let_go()
                yield from self._check()
                away_db = db(self._seen, target_volts)
                if abs(away_db) <= TAKE * TOLERANCE_DB:
                    return
            yield from self._go(self._way_s)
            yield from self._hand.react()
            turned, before_db = -onward * self._feel.degrees(SHORT * away_db), away_db
            yield from self._hand.turn(turned, self._arriving(away_db, target_volts))
            turned = self._hand.asked_deg

    def _arriving(self, from_db: float, target_volts: float) -> Callable[[], bool]:
        """A glance now and then while the hand turns: no more than a turn of the wrist left, or beyond."""

        def seen() -> bool:
            if self._hand.now_s < self._next_glance_s:
                return False
            self._take_a_glance()
            away_db = db(three_digits(self._bench.display.volts), target_volts)
            return away_db * from_db < 0.0 or abs(self._feel.degrees(away_db)) < WRIST_DEG

        return seen

    def _steady(self) -> Doing:
        """To the display, and until two numbers are alike; what counts is their mean."""
        yield from self._go(self._way_s)
        before = math.nan
        for _ in range(MOST_LOOKS):
            yield from self._read()
            number = self._bench.display.volts
            if abs(db(number, before) if before > 0.0 else math.inf) < ALIKE_DB:
                break
            before = number
        self._seen = number if math.isnan(before) else (number + before) / 2.0

    def _go(self, seconds: float) -> Doing:
        """The eyes are not on the screw for this long."""
        self.looked_away_s += seconds
        yield from self._hand.wait(seconds)

    def _read(self) -> Doing:
        """A new number, and the time to read it."""
        count = self._bench.display.number
        yield from self._go(self._reading_s)
        while self._bench.display.number == count:
            yield from self._go(STEP_S)

    def _check(self) -> Doing:
        numbers: list[float] = []
        end_s = self._hand.now_s + CHECK_S
        while self._hand.now_s < end_s or len(numbers) < CHECK_READINGS:
            yield from self._read()
            numbers.append(self._bench.display.volts)
        self._seen = sum(numbers[-CHECK_READINGS:]) / CHECK_READINGS

    def _take_a_glance(self) -> None:
        """While the hand turns; the next not before this one is over."""
        glance_s = 2.0 * self._way_s + self._reading_s
        self._next_glance_s = self._hand.now_s + glance_s
        self.looked_away_s += glance_s

    def _fallen(self) -> bool:
        """A glance now and then while the hand sweeps: twice clearly below the highest number seen."""
        if self._hand.now_s < self._next_glance_s:
            return False
        self._take_a_glance()
        number = three_digits(self._bench.display.volts)
        self._highest = max(self._highest, number)
        self._falls = self._falls + 1 if number < self._highest * (1.0 - VISIBLY_FALLEN) else 0
        return self._falls >= 2
