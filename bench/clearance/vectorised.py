#!/usr/bin/env python3
"""The clearance model as a plain vectorised numpy program: flat arrays of worms,
eggs and larvae of all runs of a batch, which advance together in steps of 1/8 day.
It is what one would write first. The step blurs the race between hatching and the
pull (a chance of free some hundredths too high is expected), and the cap on worms
is left out; otherwise it is the same model with the same beliefs. It is here to be
timed beside the real one.

usage: vectorised.py RUNS   prints seconds of processor time, ns per animal-day,
                            share of runs free on the last day
"""
import sys
import time

import numpy as np

RUNS, HOSTS, DAYS, LITRES = int(sys.argv[1]), 200, 90, 100.0
STEP = 1 / 8
BATHS = [(1, 5), (15, 19), (29, 33)]
BATCH = 100  # runs at a time, so that the arrays stay near the processor
rng = np.random.default_rng(1)


def lognormal(median, spread, n):
    return median * np.exp(spread * rng.standard_normal(n))


def gamma(mean, cv):
    shape = 1 / cv**2
    return rng.gamma(shape, mean / shape)


def draw(n):
    """Figures of n runs."""
    p = dict(
        moult=lognormal(25.18333, .311, n), moult_cv=lognormal(.3, .2465, n), mature=lognormal(21.77154, .6163, n),
        adult_death=1 / lognormal(44.27189, .4831, n), juvenile_death=lognormal(.02001, .4994, n),
        lay=lognormal(.34641, .7553, n), develop=lognormal(12.06648, .5117, n), egg_death=lognormal(.00906, .9181, n),
        on_host=rng.random(n), stay=rng.beta(1.891, 1.037, n), viable=rng.beta(2.466, 1.861, n),
        hatch=lognormal(1.75499, .8411, n), find=lognormal(.12042, .8655, n) / LITRES,
        larva_death=1 / lognormal(1.41421, .6321, n), shed=rng.beta(1.315, 2.239, n), leave=lognormal(.2504, .5001, n),
        free_death=1 / lognormal(8.89944, 1.4067, n), pull=rng.beta(5.88, 1.734, n), miss=rng.beta(2.1, 27.9, n),
        kj=lognormal(.80119, .2989, n), kl=lognormal(1.50439, .299, n), host_death=lognormal(.00201, .5027, n),
        stress=rng.beta(.863, 74.37, n), prevalence=rng.beta(.749, 2.171, n), load=lognormal(2.44949, .5446, n))
    p["kill"] = -np.log1p(-np.minimum(rng.beta(4.636, .657, n), 1 - 1e-12)) / 4
    return p


def simulate(n):
    """Number of n runs that are free on the last day."""
    p = draw(n)
    col = lambda x: x[:, None]
    chance = lambda rate: -np.expm1(-rate * STEP)
    cv = np.repeat(p["moult_cv"], HOSTS)
    mean = np.repeat(p["moult"], HOSTS)
    whole = rng.gamma(1 / cv**2 + 1, mean * cv**2)
    share = rng.random(n * HOSTS)
    since, due = whole * share, whole * (1 - share)  # by place: run * HOSTS + host
    alive = np.ones(n * HOSTS, bool)
    dies = rng.exponential(1, n * HOSTS) / np.repeat(p["host_death"], HOSTS)
    for start, _ in BATHS:
        hit = rng.random(n * HOSTS) < np.repeat(p["stress"], HOSTS)
        dies = np.where(hit, np.minimum(dies, start + 2 * rng.random(n * HOSTS)), dies)

    carry = rng.random((n, HOSTS)) < col(p["prevalence"])
    none = ~carry.any(axis=1)
    carry[none, rng.integers(0, HOSTS, none.sum())] = True
    place = np.flatnonzero(carry)
    load = np.zeros(len(place), int)
    while (load == 0).any():
        z = np.flatnonzero(load == 0)
        load[z] = rng.poisson(rng.gamma(.75, p["load"][place[z] // HOSTS] / .75))
    # Worms: place (host), state 0 on it, 1 on its skin, 2 swimming; when adult.
    w_place = np.repeat(place, load)
    w_state = np.zeros(len(w_place), np.int8)
    adult = rng.random(len(w_place)) < .7
    w_adult = np.where(adult, 0., rng.random(len(w_place)) * gamma(p["mature"][w_place // HOSTS], .3))
    # Eggs: place, whether on the skin, when ripe, when hatching (skin only), decided.
    window = np.minimum(rng.exponential(20, adult.sum()), since[w_place[adult]])
    count = rng.poisson(p["lay"][w_place[adult] // HOSTS] * window)
    e_place = np.repeat(w_place[adult], count)
    laid = -rng.random(len(e_place)) * np.repeat(window, count)
    e_ripe = laid + gamma(p["develop"][e_place // HOSTS], .25)
    e_skin = np.zeros(len(e_place), bool)
    e_hatch = np.full(len(e_place), np.inf)
    e_waits = np.zeros(len(e_place), bool)
    larvae = np.zeros(0, int)  # run of each

    def add_worms(places, now):
        nonlocal w_place, w_state, w_adult
        w_place = np.concatenate([w_place, places])
        w_state = np.concatenate([w_state, np.zeros(len(places), np.int8)])
        w_adult = np.concatenate([w_adult, now + gamma(p["mature"][places // HOSTS], .3)])

    def meet(runs):
        """A host drawn by lot for each run, and whether it was met in this step."""
        places = runs * HOSTS + rng.integers(0, HOSTS, len(runs))
        return places, (rng.random(len(runs)) < chance(p["find"][runs] * HOSTS)) & alive[places]

    for tick in range(int(DAYS / STEP)):
        now = tick * STEP
        bath = any(a <= now < b for a, b in BATHS)
        # Worms die.
        run = w_place // HOSTS
        young = w_adult > now
        rate = np.where(young, p["juvenile_death"][run], p["adult_death"][run]) + np.where(w_state == 2, p["free_death"][run], 0)
        if bath:
            rate += np.where(young, p["kj"][run], 1) * p["kill"][run]
        keep = rng.random(len(rate)) >= chance(rate)
        w_place, w_state, w_adult = w_place[keep], w_state[keep], w_adult[keep]
        # Hosts die or moult: skins.
        dead = alive & (dies <= now)
        alive &= ~dead
        moulting = alive & (due <= now)
        m = np.flatnonzero(moulting)
        due[m] += rng.gamma(1 / cv[m]**2, mean[m] * cv[m]**2)
        cast = moulting | dead
        on = (w_state == 0) & cast[w_place]
        off = on & (dead[w_place] | (rng.random(len(on)) < p["shed"][w_place // HOSTS]))
        w_state[off] = 1
        # Eggs die, hatch on the animal, or go with the skin.
        run = e_place // HOSTS
        keep = e_skin | (rng.random(len(run)) >= chance(p["egg_death"][run]))
        ripens = keep & ~e_skin & ~e_waits & (e_ripe <= now)
        hatching = ripens & (rng.random(len(run)) < p["on_host"][run])
        stays = hatching & (rng.random(len(run)) < p["stay"][run])
        add_worms(e_place[stays], now)
        larvae = np.concatenate([larvae, run[hatching & ~stays]])
        e_waits |= ripens
        keep &= ~hatching
        going = keep & ~e_skin & cast[e_place]
        lost = going & (rng.random(len(run)) >= p["viable"][run])
        keep &= ~lost
        e_skin |= going
        wait = rng.gamma(2, p["hatch"][run[going]] / 2)
        e_hatch[going] = np.maximum(now, e_ripe[going]) + wait
        # Eggs on skins hatch.
        out = keep & e_skin & (e_hatch <= now)
        larvae = np.concatenate([larvae, run[out]])
        keep &= ~out
        # Pulls: a whole skin is found or not.
        if now % 1 == .375:
            pulled = rng.random(n * HOSTS) < np.repeat(p["pull"], HOSTS)
            pulled &= np.repeat(rng.random(n) >= p["miss"], HOSTS)
            keep &= ~(e_skin & pulled[e_place])
            kept = ~((w_state == 1) & pulled[w_place])
            w_place, w_state, w_adult = w_place[kept], w_state[kept], w_adult[kept]
        e_place, e_skin, e_ripe, e_hatch, e_waits = e_place[keep], e_skin[keep], e_ripe[keep], e_hatch[keep], e_waits[keep]
        # Worms leave skins and find hosts.
        run = w_place // HOSTS
        w_state[(w_state == 1) & (rng.random(len(run)) < chance(1 / p["leave"][run]))] = 2
        swim = np.flatnonzero(w_state == 2)
        to, met = meet(run[swim])
        w_place[swim[met]], w_state[swim[met]] = to[met], 0
        # Larvae die or find hosts.
        rate = p["larva_death"][larvae] + (p["kl"][larvae] * p["kill"][larvae] if bath else 0)
        larvae = larvae[rng.random(len(larvae)) >= chance(rate)]
        to, met = meet(larvae)
        larvae = larvae[~met]
        add_worms(to[met], now)
        # Adults lay.
        laying = (w_state == 0) & (w_adult <= now)
        count = rng.poisson(p["lay"][w_place[laying] // HOSTS] * STEP)
        new = np.repeat(w_place[laying], count)
        e_place = np.concatenate([e_place, new])
        e_skin = np.concatenate([e_skin, np.zeros(len(new), bool)])
        e_ripe = np.concatenate([e_ripe, now + gamma(p["develop"][new // HOSTS], .25)])
        e_hatch = np.concatenate([e_hatch, np.full(len(new), np.inf)])
        e_waits = np.concatenate([e_waits, np.zeros(len(new), bool)])
    left = np.bincount(w_place // HOSTS, minlength=n) + np.bincount(e_place // HOSTS, minlength=n) + np.bincount(larvae, minlength=n)
    return int((left == 0).sum())


begin = time.process_time()
free = sum(simulate(BATCH) for _ in range(RUNS // BATCH))
took = time.process_time() - begin
print(f"{took:.3f} {took / (RUNS * HOSTS * DAYS) * 1e9:.1f} {free / RUNS:.4f}")
