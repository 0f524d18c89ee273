"""The person who listens: eyes and hand stay on the screw. Literature from memory, the rest assumed.

* Before the first touch the distance is seen once on the display, as without cues; then only heard.
* A pitch beside its reference is judged with a scatter of half a semitone near it and 1.5 semitones at the
  end of the range; a change from pulse to pulse is heard within 0.11 semitones (frequency difference limens
  are a few tenths of a percent at 600 Hz: Moore 1973). Which side it is on is certain: it always sounds at
  least three quarters of a semitone away. The person has learnt what interval stands for how far.
* A tempo is judged from the last interval within 4 to 10 % (Drake and Botte 1993; Friberg and Sundberg 1995).
* What is heard within 0.2 s after a movement counts for nothing (pulses were 0.35 s old once, when this was
  0.5 s), and the next movement waits until three pulses are alike, 0.4 s. Their mean counts, as the mean of
  two numbers does for the person who looks.
* A way of more than a turn of the wrist is one sweep that the sound guides: the nearer the pitch, the slower
  (in proportion to the distance, 0.8 dB/s at 1 dB, a fifth of that at least, half of it when told to slow
  down), until the chime or the other side is heard. Hand and pace follow a reaction time later; of the pitch
  only the changes count here, whose scatter is small (all assumed). Shorter ways are movements; while the
  hand grips anew in one it turns no further once the sound says so.
* Towards a peak and beyond it the hand goes on in one such sweep. Movements after that fall short by 30 %,
  not 10 %: going too far is dear. Who is told to go back goes half as far again: that is not.
* What a degree does is learnt from each movement; at most half as much again where the pitch changed sides in
  a back-off: it may tell the way back by then, not the target, and the sound does not say which.
"""

import math
import random
from statistics import mean
from typing import NamedTuple

from meterlog.procedure import Sound
from meterlog.procedure.patterns.window import FINE, INNER, PITCH_SPAN
from tests.trials.feel.bench import TOLERANCE_DB, Bench, db
from tests.trials.feel.guidance import FASTEST_S, PITCH_SEMITONES, SLOWEST_S, TEMPO_DB, Pulse, Speaker
from tests.trials.feel.hand import SHORT, WRIST_DEG, Doing, Feel, Hand

PITCH_DB = PITCH_SPAN * TOLERANCE_DB
SEMITONES_NEAR, SEMITONES_MORE_FAR, FINE_SEMITONES = 0.5, 1.0, 0.11
PITCHES = (Sound.PITCH, Sound.SLOW_DOWN)
ALIKE_DB, ALIKE_SHARE = 0.05, 0.15
MOST_LOOKS = 4
LATE_S = 0.2
ALIKE_PULSES = 3
MOST_STEADY_S = 2.2
SHORT_OF_FALL, AMPLY_BACK = 0.7, 1.5
SLOWEST, SLOWED, FULL_PACE_DB = 0.2, 0.5, 1.0
MOST_LEARNT, MOST_LEARNT_ACROSS = 3.0, 1.5


class Heard(NamedTuple):
    """One pulse as perceived. `away_db`: signed distance from the target, or distance below the peak;
    `fine_db`: the same but for comparisons with the pulse before."""

    number: int
    sound: Sound
    away_db: float
    fine_db: float


NOTHING = Heard(0, Sound.SILENT, 0.0, 0.0)


def alike(one_db: float, other_db: float) -> bool:
    return abs(one_db - other_db) < max(ALIKE_DB, ALIKE_SHARE * abs(one_db))


def pitch_db(amount: float) -> float:
    """The distance that the page's pitch stands for; the listener has learnt it."""
    return FINE * TOLERANCE_DB * math.sinh(amount * math.asinh(PITCH_SPAN / FINE))


class Ear:
    """Keeps the last pulse perceived."""

    def __init__(self, speaker: Speaker, tempo_threshold: float, dice: random.Random) -> None:
        self.last = NOTHING
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
        if pulse.sound in PITCHES:
            away_db, fine_db = self._pitch(pulse.amount)
        elif pulse.sound is Sound.TEMPO:
            if before is None or before.sound is not Sound.TEMPO:
                return
            away_db = fine_db = self._tempo(pulse.at_s - before.at_s)
        self.last = Heard(self.last.number + 1, pulse.sound, away_db, fine_db)

    def _pitch(self, amount: float) -> tuple[float, float]:
        """In dB: what the interval beside the reference is taken for, and what it is compared by."""
        interval = abs(amount) * PITCH_SEMITONES
        judged = interval + self._dice.gauss(0.0, SEMITONES_NEAR + SEMITONES_MORE_FAR * abs(amount))
        fine = amount + self._dice.gauss(0.0, FINE_SEMITONES / PITCH_SEMITONES)
        away_db = max(INNER * TOLERANCE_DB, pitch_db(min(1.0, max(0.0, judged / PITCH_SEMITONES))))
        return math.copysign(away_db, amount), pitch_db(fine)

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
        self._heard = NOTHING

    def adjust(self) -> Doing:
        """A look at the distance before the first touch, as the person without cues has it too."""
        yield from self._bring(self._first_look_db)
        while True:
            yield from self._steady()
            yield from self._act(self._heard)

    def back_off(self) -> Doing:
        yield from self._over_the_peak()
        while True:
            yield from self._steady()
            heard = self._heard
            if heard.sound is Sound.TEMPO:
                yield from self._over_the_peak()
            else:
                yield from self._act(heard, onward=-1.0)

    def _act(self, heard: Heard, onward: float = 1.0) -> Doing:
        """`onward`: sign of the level's change when the hand turns on."""
        if heard.sound is Sound.INSIDE:
            self._turned = 0.0
            yield from self._hand.let_go()
        if heard.sound not in PITCHES:
            return
        self._learn(heard.away_db, onward)
        yield from self._hand.react()
        if onward > 0.0:
            yield from self._bring(heard.away_db)
        else:
            part = SHORT_OF_FALL if heard.away_db > 0.0 else AMPLY_BACK
            yield from self._move(self._feel.degrees(part * heard.away_db), heard.away_db)

    def _learn(self, away_db: float, onward: float) -> None:
        across = onward < 0.0 and away_db * self._before_db < 0.0
        most = MOST_LEARNT_ACROSS if across else MOST_LEARNT
        self._feel.learn(self._turned * onward, away_db - self._before_db, most)
        self._turned = 0.0

    def _bring(self, away_db: float) -> Doing:
        """A long way by a sweep that follows the sound, a short one by a movement."""
        degrees = -self._feel.degrees(SHORT * away_db)
        if abs(degrees) > WRIST_DEG:
            speed = math.copysign(self._sweep_deg_s, degrees)
            yield from self._hand.sweep(speed, lambda: self._there(away_db), lambda: self._pace(away_db))
        else:
            yield from self._move(degrees, away_db)

    def _move(self, degrees: float, away_db: float) -> Doing:
        yield from self._hand.turn(degrees, lambda: self._arriving(away_db))
        self._turned, self._before_db = self._hand.asked_deg, away_db

    def _arriving(self, from_db: float) -> bool:
        """Heard while the hand grips anew: as near as one turn of the wrist, on the other side, or there."""
        heard = self._ear.last
        if heard.sound not in PITCHES:
            return heard.sound is not Sound.SILENT
        wrist_db = WRIST_DEG * self._feel.db_per_degree
        return heard.away_db * from_db < 0.0 or abs(heard.fine_db) < wrist_db

    def _over_the_peak(self) -> Doing:
        """On while the tempo sounds, and beyond."""
        yield from self._hand.sweep(
            self._sweep_deg_s, lambda: self._there(1.0), lambda: min(1.0, self._pace(FULL_PACE_DB))
        )

    def _there(self, from_db: float) -> bool:
        """Told to let go, or on the other side."""
        heard = self._ear.last
        return heard.sound is Sound.INSIDE or (heard.sound in PITCHES and heard.away_db * from_db < 0.0)

    def _pace(self, from_db: float) -> float:
        """The slower the nearer; `from_db`: as long as no pitch is heard."""
        heard = self._ear.last
        away_db = heard.fine_db if heard.sound in PITCHES else from_db
        slow = SLOWED if heard.sound is Sound.SLOW_DOWN else 1.0
        return slow * max(SLOWEST, abs(away_db) / FULL_PACE_DB)

    def _steady(self) -> Doing:
        """Until pulses of pitch are alike for a while; their mean is what counts. Another sound is enough."""
        yield from self._hand.wait(LATE_S)
        alike_ones: list[Heard] = []
        end_s = self._hand.now_s + MOST_STEADY_S
        while self._hand.now_s < end_s and len(alike_ones) < ALIKE_PULSES:
            yield from self._next()
            heard = self._ear.last
            if heard.sound not in PITCHES:
                self._heard = heard
                return
            if alike_ones and not alike(heard.fine_db, alike_ones[0].fine_db):
                alike_ones.clear()
            alike_ones.append(heard)
        self._heard = heard._replace(away_db=mean(one.away_db for one in alike_ones))

    def _next(self) -> Doing:
        number = self._ear.last.number
        while self._ear.last.number == number:
            yield
