"""Machine states of a year, made up: eight machines, n changes of state in all, the same ones every time.

A state lasts until the machine's next one. Machines are in cycle for rather more than half of the time.
"""
import numpy as np

MACHINES = 8
FROM_US = 1_735_689_600_000_000          # 2025-01-01T00:00:00Z
TO_US = FROM_US + 365 * 86_400_000_000
# state, its stored code, how often it comes, how long it lasts compared with the others
STATES = [('ACTIVE', 2, .50, 5.0), ('READY', 1, .12, 4.0), ('INTERRUPTED', 3, .08, 6.0),
          ('FEED_HOLD', 4, .04, 3.0), ('WAIT', 9, .24, .5), ('OFF', 11, .02, 20.0)]
# As the bench program reads it.
ROW = np.dtype([('at_us', '<i8'), ('machine', 'u1'), ('code', 'u1')])


def year(changes, seed=1):
    """Rows in the order in which they would arrive: by time, over all machines."""
    random = np.random.default_rng(seed)
    codes = np.array([state[1] for state in STATES], np.uint8)
    lasts = np.array([state[3] for state in STATES])
    each = changes // MACHINES
    rows = np.empty(each * MACHINES, ROW)
    for machine in range(MACHINES):
        which = random.choice(len(STATES), size=each, p=[state[2] for state in STATES])
        length = random.exponential(1, each) * lasts[which]
        begins = np.concatenate([[0], np.cumsum(length)[:-1]]) / length.sum()
        mine = rows[machine * each:(machine + 1) * each]
        mine['at_us'] = FROM_US + (begins * (TO_US - FROM_US)).astype(np.int64)
        mine['machine'], mine['code'] = machine + 1, codes[which]
    return rows[np.argsort(rows['at_us'], kind='stable')]


def name_of(codes):
    """The states' names again, as the other side stores them."""
    names = np.full(256, '', dtype=object)
    for name, code, _, _ in STATES:
        names[code] = name
    return names[codes]
