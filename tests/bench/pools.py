"""Pallet pools in their reduced form, made up from a seed: some pallets, kinds of fixtures, one spindle, one person on shifts.

Minutes from Monday 00:00; the plan begins Monday 06:00. The person is there Monday to Friday, 06:00 to 22:00; the spindle
goes on by night. A load takes a pallet and a fixture of its kind from the start of clamping to the end of unloading.
`verify` judges any schedule, whoever made it.
"""
import random

DAY = 1440


def make(loads, seed):
    dice, made = random.Random(seed), []
    for number in range(loads):
        made.append({'id': number, 'fixture': dice.choices('ABC', [5, 3, 2])[0], 'setup': dice.randint(8, 25),
                     'cut': dice.choice([20, 35, 50, 75, 110, 160]) + dice.randint(0, 15), 'unload': dice.randint(5, 12),
                     'weight': dice.randint(1, 10), 'release': 0})
    cutting = sum(load['cut'] for load in made)
    for load in made:
        load['due'] = 360 + int(dice.uniform(.15, 1.0) * cutting * 1.15)
    days = cutting // 900 + 8
    return {'loads': made, 'pallets': 6, 'fixtures': {'A': 3, 'B': 2, 'C': 2},
            'attended': [(day * DAY + 360, day * DAY + 1320) for day in range(days) if day % 7 < 5],
            'start': 360, 'horizon': days * DAY}


def verify(pool, schedule):
    """The weighted tardiness of a schedule (a list of id, setup_start, cut_start, unload_start), or an AssertionError."""
    loads = {load['id']: load for load in pool['loads']}
    assert sorted(at['id'] for at in schedule) == sorted(loads), 'each load once'
    person, spindle, held, tardiness = [], [], [], 0
    for at in schedule:
        load = loads[at['id']]
        clamped, cut = at['setup_start'] + load['setup'], at['cut_start'] + load['cut']
        done = at['unload_start'] + load['unload']
        assert at['setup_start'] >= max(pool['start'], load['release']), f'{load} before it may be clamped'
        assert at['cut_start'] >= clamped and at['unload_start'] >= cut, f'{load} out of order'
        for work in ((at['setup_start'], clamped), (at['unload_start'], done)):
            assert any(begin <= work[0] and work[1] <= end for begin, end in pool['attended']), f'{load}: nobody is there'
            person.append(work)
        spindle.append((at['cut_start'], cut))
        held.append((at['setup_start'], done, load['fixture']))
        tardiness += load['weight'] * max(0, done - load['due'])
    for work in (person, spindle):
        work.sort()
        assert all(one[1] <= other[0] for one, other in zip(work, work[1:])), 'two things at once'
    for now, _, _ in held:
        kinds = [kind for begin, end, kind in held if begin <= now < end]
        assert len(kinds) <= pool['pallets'], f'too few pallets at {now}'
        assert all(kinds.count(kind) <= copies for kind, copies in pool['fixtures'].items()), f'too few fixtures at {now}'
    return tardiness


def dispatch(pool, order):
    """The person does what can be done first, unloading before clamping the first load of the order that has a pallet and
    a fixture: from this CP-SAT begins where it gets a hint."""
    loads, waiting, left = {load['id']: load for load in pool['loads']}, [], list(order)
    now = spindle = pool['start']
    pallets, fixtures, schedule = pool['pallets'], dict(pool['fixtures']), {}

    def attended(at, minutes):
        return next(max(begin, at) for begin, end in pool['attended'] if max(begin, at) + minutes <= end)

    while left or waiting:
        can = next((load for load in left if pallets and fixtures[loads[load]['fixture']]), None)
        unload = attended(max(now, waiting[0][0]), loads[waiting[0][1]]['unload']) if waiting else None
        clamp = attended(now, loads[can]['setup']) if can is not None else None
        if clamp is not None and (unload is None or clamp < unload):
            load = loads[can]
            left.remove(can)
            pallets, fixtures[load['fixture']] = pallets - 1, fixtures[load['fixture']] - 1
            now = clamp + load['setup']
            schedule[can] = {'id': can, 'setup_start': clamp, 'cut_start': max(now, spindle)}
            spindle = max(now, spindle) + load['cut']
            waiting.append((spindle, can))
        else:
            load = loads[waiting.pop(0)[1]]
            schedule[load['id']]['unload_start'] = unload
            now = unload + load['unload']
            pallets, fixtures[load['fixture']] = pallets + 1, fixtures[load['fixture']] + 1
    return list(schedule.values())


def by_rule(pool):
    """The better of two dispatch rules: by due date, and by weight for each minute of cutting."""
    rules = (lambda load: load['due'], lambda load: -load['weight'] / load['cut'])
    schedules = [dispatch(pool, [load['id'] for load in sorted(pool['loads'], key=rule)]) for rule in rules]
    return min(schedules, key=lambda schedule: verify(pool, schedule))
