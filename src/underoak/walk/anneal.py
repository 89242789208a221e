"""Walks over points annealed at a price for the minute: each change is judged where it happens.

A walk counts its kilograms less a price for every minute. So what a change brings does not depend on
the rest of the walk, and a few points can be taken out and others put in without looking any farther. The
price follows the walk: it rises while the walk is too long and falls while time is left. What is
handed out is brought into its time.

Sources: annealing, Kirkpatrick, Gelatt, Vecchi 1983; taking out neighbours and putting back in,
Schrimpf et al. 2000 and Christiaens, Vanden Berghe 2020 (all from memory).
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from heapq import heapify, heappop, heappush
from itertools import islice
from typing import TYPE_CHECKING

from underoak.walk.afresh import SLACK_MIN
from underoak.walk.chain import Chain

if TYPE_CHECKING:
    from underoak.walk.chain import Points

#: Most points taken out at once.
MOST_OUT = 16
#: How strongly the price follows the walk's share of minutes too many or too few.
FOLLOW = 0.01
#: A price stays within this factor of the first.
PRICE_RANGE = 1e3
#: Share of changes that take over a stretch of another walk, and the longest such stretch as a share of it.
CROSS_SHARE, LONGEST_TAKEN = 0.2, 0.5
#: Heat in the end [mean kilograms of a prize].
COLD = 0.05
#: Least and most changes from one look at what the walk gives within its time to the next.
LOOK, LOOK_AGAIN = 20, 300

#: Links after and before each point, minutes and kilograms of a chain.
_State = tuple[list[int], list[int], float, float]


class Anneal:
    """Anneals walks over ``points``, reproducible by seed."""

    def __init__(self, points: Points, seed: int) -> None:
        self.points, self.chain = points, Chain(points)
        self.rng = random.Random(seed)  # noqa: S311 - a search, not a secret
        self.mean = sum(points.kg) / max(points.count, 1)
        self.price = 0.0

    def cycle(
        self,
        sequence: list[int],
        others: Sequence[list[int]],
        *,
        price: float,
        hot: float,
        rounds: int,
        stop: Callable[[], bool],
    ) -> tuple[list[int], float]:
        """The best walk in time on the way from hot to cold, and the price in the end.

        ``hot`` is the first heat in mean kilograms of a prize; ``others`` are walks to take stretches from.
        """
        chain, rnd, budget = self.chain, self.rng.random, self.points.budget
        chain.load(sequence)
        self.price = price
        best, best_kg, looked = sequence, -1.0, 0
        for k in range(rounds):
            heat = self.mean * hot * (COLD / hot) ** (k / rounds)
            if others and rnd() < CROSS_SHARE:
                self._cross(others[int(rnd() * len(others))], heat)
            else:
                self._change(heat)
            follow = math.exp(FOLLOW * (chain.length - budget) / budget)
            self.price = min(max(self.price * follow, price / PRICE_RANGE), price * PRICE_RANGE)
            fits = chain.length <= budget and chain.kg + self.price * (budget - chain.length) > best_kg
            last = k == rounds - 1 or (k % LOOK == 0 and stop())
            if last or k - looked > LOOK_AGAIN or (fits and k - looked > LOOK):
                looked, (kg, walk) = k, self._in_time()
                if kg > best_kg:
                    best, best_kg = walk, kg
            if last:
                break
        return best, self.price

    def _change(self, heat: float) -> None:
        """Take a few neighbours out, put in what pays, and keep that or not."""
        chain, p, rnd = self.chain, self.points, self.rng.random
        kept, touched = self._state(), list[int]()
        centre = int(rnd() * p.count)
        most = 1 + int(MOST_OUT * rnd() * rnd())
        gone = self._around(centre, most) if rnd() < 0.5 else self._along(centre, most)
        for c in gone:
            touched += (chain.before[c], chain.after[c])
            chain.take_out(c)
        offered = dict.fromkeys(gone if chain.after[centre] >= 0 else (centre, *gone))
        for c in gone or (centre,):
            offered.update((e, None) for _, e in p.near[c] if chain.after[e] < 0)
        self._put_in(self._ordered(list(offered), centre), touched, heat)
        self._judge(touched, kept, heat)

    def _around(self, centre: int, most: int) -> list[int]:
        """Visited points nearest to the centre, itself first."""
        after, held = self.chain.after, self.points.kept
        visited = (c for c in (centre, *self.points.around[centre]) if after[c] >= 0 and not held[c])
        return list(islice(visited, most))

    def _along(self, centre: int, most: int) -> list[int]:
        """Points one after the other from the visited point nearest to the centre on."""
        after, held = self.chain.after, self.points.kept
        c = next((c for c in (centre, *self.points.around[centre]) if after[c] >= 0), self.points.count)
        gone: list[int] = []
        while len(gone) < most and c < self.points.count:
            if not held[c]:
                gone.append(c)
            c = after[c]
        return gone

    def _ordered(self, offered: list[int], centre: int) -> list[int]:
        """Points in the order in which they are put in: any, richest first, nearest or farthest first."""
        rnd, kg, how = self.rng.random, self.points.kg, self.rng.random()
        if how < 0.5:
            self.rng.shuffle(offered)
        elif how < 0.8:
            offered.sort(key=lambda c: -kg[c] * (0.7 + 0.6 * rnd()))
        else:
            offered.sort(key=self.points.minutes[centre].__getitem__, reverse=how < 0.9)
        return offered

    def _cross(self, other: list[int], heat: float) -> None:
        """Take over a stretch of another walk between two points of this one, and keep that or not."""
        chain, rnd, n = self.chain, self.rng.random, len(other)
        after, before = chain.after, chain.before
        first = int(rnd() * n)
        while first < n and after[other[first]] < 0:
            first += 1
        last = first + 2 + int(rnd() ** 2 * LONGEST_TAKEN * n)
        while last < n and after[other[last]] < 0:
            last += 1
        if last >= n:
            return
        path = other[first : last + 1]
        ends = zip(path, path[1:], path[2:], strict=False)
        touched = [y for x, y, z in ends if x not in (after[y], before[y]) or z not in (after[y], before[y])]
        if not touched:
            return
        kept, mine, held = self._state(), chain.sequence(), self.points.kept
        a, b = mine.index(path[0]), mine.index(path[-1])
        if a > b:
            a, b = b, a
            path.reverse()
        taken = set(path)
        lost = [c for c in mine[a:b] if c not in taken]
        stay = [c for c in lost if held[c]]
        lost = [c for c in lost if not held[c]]
        chain.load(
            [c for c in mine[:a] if c not in taken]
            + path[:-1]
            + stay
            + path[-1:]
            + [c for c in mine[b + 1 :] if c not in taken]
        )
        touched += [path[0], path[-1], *stay]
        self._put_in(lost, touched, heat)
        self._judge(touched, kept, heat)

    def _put_in(self, offered: list[int], touched: list[int], heat: float) -> None:
        """Put in each point that pays its minutes, or nearly so; adds to the points touched."""
        chain, price, rnd, log, kg = self.chain, self.price, self.rng.random, math.log, self.points.kg
        for c in offered:
            more, at = chain.gap(c)
            if at >= 0 and kg[c] - price * more > 0.5 * heat * log(rnd() + 1e-300):
                touched += (c, at, chain.after[at])
                chain.put_in(c, at, more)

    def _judge(self, touched: list[int], kept: _State, heat: float) -> None:
        """Polish, leave out what does not pay, and go back when too much is lost for this heat."""
        chain, price, kg, held = self.chain, self.price, self.points.kg, self.points.kept
        chain.polish(touched)
        for c in touched:
            if chain.after[c] >= 0 and not held[c] and kg[c] < price * chain.saved(c):
                chain.take_out(c)
        gain = (chain.kg - kept[3]) - price * (chain.length - kept[2])
        if gain < heat * math.log(self.rng.random() + 1e-300):
            self._back_to(kept)

    def _state(self) -> _State:
        chain = self.chain
        return chain.after[:], chain.before[:], chain.length, chain.kg

    def _back_to(self, state: _State) -> None:
        chain = self.chain
        chain.after, chain.before, chain.length, chain.kg = state

    def _in_time(self) -> tuple[float, list[int]]:
        """Kilograms and points of the walk, shortened to its time and filled; leaves the walk as it was."""
        chain, state = self.chain, self._state()
        chain.after, chain.before = state[0][:], state[1][:]
        self._trim()
        while True:
            length = chain.length
            self._fill()
            chain.polish(chain.sequence())
            if chain.length > length - 1e-6:
                break
        found = (chain.kg if chain.length <= self.points.budget + SLACK_MIN else -1.0), chain.sequence()
        self._back_to(state)
        return found

    def _trim(self) -> None:
        """Leave out what gathers least for the minutes it saves of those too many."""
        chain, p = self.chain, self.points
        while (over := chain.length - p.budget) > 0.5 * SLACK_MIN:
            gone = [c for c in chain.sequence() if not p.kept[c]]
            if not gone:
                return
            chain.take_out(min(gone, key=lambda c: p.kg[c] / max(min(chain.saved(c), over), 1e-9)))

    def _fill(self) -> None:
        """Put in what gathers most for its minutes, as long as something fits."""
        chain, p = self.chain, self.points
        offers = [self._offer(c) for c in range(p.count) if chain.after[c] < 0]
        heapify(offers)
        while offers:
            rate, c = heappop(offers)
            if chain.after[c] >= 0:
                continue
            more, at = chain.gap(c)
            if more > p.budget - chain.length:
                continue
            if self._offer(c)[0] > rate:
                heappush(offers, self._offer(c))
                continue
            chain.put_in(c, at, more)
            for _, e in p.near[c]:
                if chain.after[e] < 0:
                    heappush(offers, self._offer(e))

    def _offer(self, c: int) -> tuple[float, int]:
        """Less the kilograms for each minute more, and the point."""
        return -self.points.kg[c] / max(self.chain.gap(c)[0], 1e-6), c
