"""The person who listens: eyes and hand stay on the screw. Literature from memory, the rest assumed.

* Before the first touch the distance is seen once on the display, as without cues; then only heard.
* A pitch beside its reference is judged with a scatter of half a semitone near it and 1.5 semitones far
  away (0.07 to 0.21 of the range); a change from pulse to pulse is heard within 0.02 of the range (frequency
  difference limens are a few tenths of a percent at 600 Hz: Moore 1973). Which side it is on is certain.
* A tempo is judged from the last interval within 4 to 10 % (Drake and Botte 1993; Friberg and Sundberg 1995).
* Once the tempo has dropped audibly the hand goes on at a third of its speed, and after each "too far" at 0.7
  of that, with movements a third smaller than it thought right. There movements fall short by 30 %, not 10 %:
  going too far is dear, coming again over the peak takes 20 s.
* The person has learnt that the sound comes late: what is heard within 0.5 s after a movement counts for
  nothing, and the next movement waits until two pulses are alike.
"""

import math
import random
from typing import NamedTuple

from meterlog.procedure import Sound
from tests.trials.feel.bench import TOLERANCE_DB, Bench, db
from tests.trials.feel.guidance import FASTEST_S, PITCH_WINDOWS, SLOWEST_S, TEMPO_DB, Pulse, Speaker
from tests.trials.feel.hand import SHORT, Doing, Feel, Hand

PITCH_DB = PITCH_WINDOWS * TOLERANCE_DB
SATURATED = 0.97
ALIKE_DB, ALIKE_SHARE = 0.05, 0.15
MOST_LOOKS = 4
LATE_S = 0.5
SHORT_OF_FALL = 0.7
SLOWER, MORE_CAUTION = 1.0 / 3.0, 0.7
AUDIBLY_FALLEN_DB = 0.1


class Heard(NamedTuple):
    """One pulse as perceived. `away_db`: signed distance from the target, or distance below the peak;
    `fine_db`: the same but for comparisons with the pulse before."""

    number: int
    sound: Sound
    away_db: float
    fine_db: float


NOTHING = Heard(0, Sound.SILENT, 0.0, 0.0)


class Ear:
    """Keeps the last pulse perceived, and the nearest that the tempo has told."""

    def __init__(self, speaker: Speaker, tempo_threshold: float, dice: random.Random) -> None:
        self.last = NOTHING
        self.below_db = math.inf
        self._speaker = speaker
        self._threshold = tempo_threshold
        self._dice = dice
        self._before: Pulse | None = None

    def listen(self, now_s: float) -> None:
        while (pulse := self._speaker.heard(now_s)) is not None:
            self._perceive(pulse)

    def _perceive(self, pulse: Pulse) -> None:
        before, self._before = self._before, pulse
        away_db = fine_db = 0.0
        if pulse.sound is Sound.PITCH:
            away_db, fine_db = self._pitch(pulse.amount)
        elif pulse.sound is Sound.TEMPO:
            if before is None or before.sound is not Sound.TEMPO:
                return
            away_db = fine_db = self._tempo(pulse.at_s - before.at_s)
        self.last = Heard(self.last.number + 1, pulse.sound, away_db, fine_db)

    def _pitch(self, amount: float) -> tuple[float, float]:
        size = abs(amount)
        judged = max(1.0 / PITCH_WINDOWS, size + self._dice.gauss(0.0, 0.07 + 0.14 * size))
        fine = amount + self._dice.gauss(0.0, 0.015)
        return math.copysign(min(1.0, judged), amount) * PITCH_DB, fine * PITCH_DB

    def _tempo(self, interval_s: float) -> float:
        """How far below the peak such a tempo stands for."""
        judged_s = max(FASTEST_S, interval_s * (1.0 + self._dice.gauss(0.0, self._threshold)))
        return min(1.0, math.log(judged_s / FASTEST_S) / math.log(SLOWEST_S / FASTEST_S)) * TEMPO_DB


class Listener:
    """Goes on until the step is captured; the run ends there."""

    def __init__(self, bench: Bench, hand: Hand, ear: Ear) -> None:
        self._hand = hand
        self._ear = ear
        self._sweep_deg_s = bench.case.sweep_deg_s
        self._feel = Feel(bench.case, hand.traits)
        self._first_look_db = db(bench.display.volts, bench.case.target_volts)
        self._turned = self._before_db = 0.0
        self._caution = 1.0  # share of the sweep's usual speed

    def adjust(self) -> Doing:
        """A look at the distance before the first touch, as the person without cues has it too."""
        yield from self._hand.turn(-self._feel.degrees(SHORT * self._first_look_db))
        while True:
            yield from self._steady()
            yield from self._act(self._ear.last)

    def back_off(self) -> Doing:
        yield from self._over_the_peak()
        while True:
            yield from self._steady()
            heard = self._ear.last
            if heard.sound is Sound.TEMPO:
                yield from self._come_back()
            elif heard.sound is Sound.SLOW_DOWN:
                yield from self._hand.react()
            else:
                yield from self._act(heard, onward=-1.0)

    def _act(self, heard: Heard, onward: float = 1.0) -> Doing:
        """`onward`: sign of the level's change when the hand turns on."""
        if heard.sound is Sound.INSIDE:
            self._turned = 0.0
            yield from self._hand.let_go()
        if heard.sound is not Sound.PITCH:
            return
        self._feel.learn(self._turned * onward, heard.away_db - self._before_db)
        self._turned = 0.0
        yield from self._hand.react()
        if abs(heard.fine_db) > SATURATED * PITCH_DB:
            speed = self._caution * self._sweep_deg_s
            yield from self._hand.sweep(
                -math.copysign(speed, heard.away_db) * onward, lambda: self._near(heard.away_db)
            )
            return
        part = SHORT if onward > 0.0 else SHORT_OF_FALL
        self._turned, self._before_db = -onward * self._feel.degrees(part * heard.away_db), heard.away_db
        yield from self._hand.turn(self._turned)

    def _near(self, from_db: float) -> bool:
        """The pitch begins to move or is on the other side, or something else is heard."""
        heard = self._ear.last
        if heard.sound is not Sound.PITCH or heard.away_db * from_db < 0.0:
            return True
        return abs(heard.fine_db) < (SATURATED - 0.03) * PITCH_DB

    def _over_the_peak(self) -> Doing:
        """On until the tempo has dropped audibly, then slowly until another sound comes."""
        yield from self._hand.sweep(self._sweep_deg_s, self._falling)
        self._caution = SLOWER
        yield from self._hand.sweep(SLOWER * self._sweep_deg_s, self._no_tempo)

    def _falling(self) -> bool:
        heard = self._ear.last
        if heard.sound is not Sound.TEMPO:
            return heard.sound is not Sound.SILENT
        self._ear.below_db = min(self._ear.below_db, heard.away_db)
        return heard.away_db > self._ear.below_db + AUDIBLY_FALLEN_DB

    def _no_tempo(self) -> bool:
        return self._ear.last.sound is not Sound.TEMPO

    def _come_back(self) -> Doing:
        """Too far: back towards the peak until the aim sounds again; next time with more caution."""
        self._turned = 0.0
        self._feel.less()
        self._caution *= MORE_CAUTION
        yield from self._hand.react()
        yield from self._hand.sweep(-self._sweep_deg_s, self._no_tempo)

    def _steady(self) -> Doing:
        """Until two pulses of pitch are alike; any other sound is enough by itself."""
        yield from self._hand.wait(LATE_S)
        before: Heard | None = None
        for _ in range(MOST_LOOKS):
            yield from self._next()
            heard = self._ear.last
            if heard.sound is not Sound.PITCH:
                return
            if before is not None and abs(heard.fine_db - before.fine_db) < max(
                ALIKE_DB, ALIKE_SHARE * abs(heard.fine_db)
            ):
                return
            before = heard

    def _next(self) -> Doing:
        number = self._ear.last.number
        while self._ear.last.number == number:
            yield
