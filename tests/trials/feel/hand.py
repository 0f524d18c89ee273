"""A hand on a screwdriver, the same with cues and without. Literature from memory, the rest assumed.

* A person reacts 0.2 to 0.4 s after a percept (common practice: simple reactions 0.16 to 0.19 s,
  recognising about 0.38 s); one value for each person.
* Aimed movements are made of submovements (Woodworth 1899; Crossman and Goodeve 1963/1983; Meyer et al 1988):
  smooth ones, after the minimum-jerk profile (Flash and Hogan 1985).
* Where one ends scatters in proportion to its size, 5 to 10 % for each person (impulse variability:
  Schmidt et al 1979), and by 0.3 to 1 degree of stick and slip, as where a sweep ends (assumed).
* One lasts 0.12 s + 0.1 s per bit of size over 5 degrees (logarithmic as Fitts 1954; numbers assumed).
* First submovements fall short on purpose, by 10 % (Elliott et al 2001).
* A wrist turns 100 degrees at most, then grips anew for 0.35 s; a steady sweep makes 100 degrees a second at
  most, its grips included (assumed).
* Engaging the screw takes 0.5 s, letting it go 0.2 s and jolts it by 0.3 degrees (assumed).
* The person knows what a degree does within a factor (log-normal, 0.4) and learns it from each movement.
"""

import math
import random
from collections import deque
from collections.abc import Callable, Generator
from dataclasses import dataclass

from tests.trials.feel.bench import STEP_S, Bench, Case

Doing = Generator[None, None, None]

WRIST_DEG, REGRIP_S, FASTEST_DEG_S = 100.0, 0.35, 100.0
ENGAGE_S, LET_GO_S, JOLT_DEG = 0.5, 0.2, 0.3
SHORT = 0.9


@dataclass(frozen=True, slots=True)
class Traits:
    """One person. `glance_s` is a whole cycle: to the display, reading, back to the screw."""

    reaction_s: float
    scatter: float
    slip_deg: float
    glance_s: float
    arithmetic_s: float
    tempo_threshold: float
    feel_factor: float

    @classmethod
    def drawn(cls, dice: random.Random) -> "Traits":
        return cls(
            reaction_s=dice.uniform(0.2, 0.4),
            scatter=dice.uniform(0.05, 0.10),
            slip_deg=dice.uniform(0.3, 1.0),
            glance_s=dice.uniform(0.6, 1.0),
            arithmetic_s=dice.uniform(1.5, 3.0),
            tempo_threshold=dice.uniform(0.04, 0.10),
            feel_factor=math.exp(dice.gauss(0.0, 0.4)),
        )


class Feel:
    """dB that one degree is believed to do; learnt from movements that did something."""

    LEAST_DB = 0.1

    def __init__(self, case: Case, traits: Traits) -> None:
        self.db_per_degree = case.db_per_degree * traits.feel_factor

    def degrees(self, way_db: float) -> float:
        return way_db / self.db_per_degree

    def learn(self, turned_deg: float, change_db: float, most: float = 3.0) -> None:
        if (
            turned_deg == 0.0
            or abs(change_db) < self.LEAST_DB
            or change_db / turned_deg * self.db_per_degree < 0.0
        ):
            return
        ratio = change_db / turned_deg / self.db_per_degree
        self.db_per_degree *= math.sqrt(min(most, max(1.0 / most, ratio)))


class Hand:
    """Everything it does is a generator that yields once for every step of the bench."""

    def __init__(self, bench: Bench, traits: Traits, dice: random.Random) -> None:
        self.traits = traits
        self.moves = 0
        self.turning = False
        self.asked_deg = 0.0  # of the last turn, as far as it went
        self._bench = bench
        self._dice = dice
        self.away = False

    @property
    def now_s(self) -> float:
        return self._bench.now_s

    def wait(self, seconds: float) -> Doing:
        end_s = self.now_s + seconds
        while self.now_s < end_s:
            yield

    def react(self) -> Doing:
        yield from self.wait(self.traits.reaction_s)

    def turn(self, degrees: float, until: Callable[[], bool] = lambda: False) -> Doing:
        """About so far, in as many turns of the wrist as it needs, but no further turn once something is
        perceived; not less than a hand can make."""
        yield from self._engage()
        left = math.copysign(max(abs(degrees), self.traits.slip_deg), degrees)
        self.asked_deg = 0.0
        while left:
            piece = math.copysign(min(abs(left), WRIST_DEG), left)
            yield from self._submovement(piece)
            left -= piece
            self.asked_deg += piece
            if left:
                yield from self.wait(REGRIP_S)
                if until():
                    return

    def sweep(
        self, deg_s: float, until: Callable[[], bool], pace: Callable[[], float] = lambda: 1.0
    ) -> Doing:
        """Until something is perceived, and for a reaction time beyond. `pace`: the share of its speed that
        what is perceived asks for; the hand follows a reaction time later."""
        yield from self._engage()
        self.moves += 1
        reaction_steps = max(1, round(self.traits.reaction_s / STEP_S))
        asked = deque([1.0] * reaction_steps, maxlen=reaction_steps)
        left = reaction_steps
        while left:
            left -= left < reaction_steps or until()
            speed = min(abs(deg_s) * asked[0], FASTEST_DEG_S)
            self._bench.turn(math.copysign(speed * STEP_S, deg_s))
            asked.append(pace())
            yield
        self._bench.turn(self._dice.gauss(0.0, self.traits.slip_deg))

    def let_go(self) -> Doing:
        if not self.away:
            yield from self.wait(LET_GO_S)
            self._bench.turn(self._dice.gauss(0.0, JOLT_DEG))
            self.away = True

    def _engage(self) -> Doing:
        if self.away:
            yield from self.wait(ENGAGE_S)
            self.away = False

    def _submovement(self, degrees: float) -> Doing:
        self.moves += 1
        goal = degrees * (1.0 + self._dice.gauss(0.0, self.traits.scatter))
        goal += self._dice.gauss(0.0, self.traits.slip_deg)
        lasts_s = 0.12 + 0.1 * math.log2(1.0 + abs(degrees) / 5.0)
        steps = max(1, round(lasts_s / STEP_S))
        self.turning = True
        for number in range(steps):
            self._bench.turn(goal * (_minimum_jerk((number + 1) / steps) - _minimum_jerk(number / steps)))
            yield
        self.turning = False


def _minimum_jerk(share: float) -> float:
    """Way done after a share of the time (Flash and Hogan 1985)."""
    return share**3 * (10.0 - 15.0 * share + 6.0 * share**2)
