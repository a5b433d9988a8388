"""Hours in cycle per machine and shift over a year, by DuckDB in memory and by us, in alternating rounds.

Three shifts a day in Europe/Berlin (6, 14 and 22 o'clock), so the year has two days on which the clocks change. Both
sides must give the same microseconds in every shift of every machine before a time counts.
"""
import datetime as dt
import json
import subprocess
import time
import zoneinfo

import duckdb
import numpy as np
import pyarrow as pa

import states

ZONE = zoneinfo.ZoneInfo('Europe/Berlin')
THREADS = 2

# The machine's states of each shift: cut where the shift begins and where it ends, also the few that span several.
HOURS = f'''
with stretch as (
    select machine, state, at_us as a, lead(at_us, 1, {states.TO_US}) over (partition by machine order by at_us) as b
    from state),
cut as (select machine, a, b from stretch where state = 'ACTIVE' and b > a),
begun as (select cut.machine, cut.a, cut.b, shift.from_us, shift.to_us from cut asof join shift on cut.a >= shift.from_us),
piece as (
    select machine, from_us, least(b, to_us) - a as us from begun
    union all
    select begun.machine, shift.from_us, least(begun.b, shift.to_us) - shift.from_us as us
    from begun join shift on shift.from_us > begun.from_us and shift.from_us < begun.b where begun.b > begun.to_us)
select machine, from_us, sum(us)::bigint as us from piece group by 1, 2 order by 1, 2'''
# The same from stretches that are made already: what lies between two changes is stored, sorted by machine.
PREPARED = HOURS.replace(HOURS[HOURS.index('select machine, state'):HOURS.index('),\ncut')], 'select * from stretch_table')


def shifts():
    day, last, edges = dt.date(2024, 12, 31), dt.date(2026, 1, 1), []
    while day <= last:
        edges += [dt.datetime(day.year, day.month, day.day, hour, tzinfo=ZONE) for hour in (6, 14, 22)]
        day += dt.timedelta(days=1)
    us = np.array([round(edge.astimezone(dt.timezone.utc).timestamp()) * 1_000_000 for edge in edges], np.int64)
    return pa.table({'from_us': us[:-1], 'to_us': us[1:]})


class Duck:
    def __init__(self, rows):
        self.db = duckdb.connect(config={'threads': THREADS})
        state = pa.table({'machine': rows['machine'].astype(np.int16), 'state': pa.array(states.name_of(rows['code'])),
                          'at_us': rows['at_us']})
        self.db.register('given', state)
        self.db.execute('create table state as select * from given')
        self.db.register('shifts', shifts())
        self.db.execute('create table shift as select * from shifts order by from_us')
        self.db.execute(f'''create table stretch_table as select machine, state, at_us as a,
            lead(at_us, 1, {states.TO_US}) over (partition by machine order by at_us) as b
            from state order by machine, a''')

    def figures(self):
        answer = self.db.execute(HOURS).fetchnumpy()
        return {(int(from_us), int(machine)): int(us)
                for machine, from_us, us in zip(answer['machine'], answer['from_us'], answer['us'])}

    def round(self):
        return {'duckdb_ms': self.timed(HOURS), 'duckdb_prepared_ms': self.timed(PREPARED)}

    def timed(self, query):
        began = time.perf_counter()
        self.db.execute(query).fetchnumpy()
        return (time.perf_counter() - began) * 1000


class Ours:
    def __init__(self, program, file, figures):
        command = [*program, 'hours', str(file), str(figures), str(states.FROM_US), str(states.TO_US)]
        self.process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        self.about = self.answer()

    def answer(self):
        line = self.process.stdout.readline()
        if not line:
            raise SystemExit(f'the bench program ended with {self.process.wait()}')
        return json.loads(line)

    def round(self):
        self.process.stdin.write('round\n')
        self.process.stdin.flush()
        return self.answer()

    def end(self):
        self.process.stdin.close()
        self.process.wait()


def compare(theirs, file):
    """How many figures agree; any that does not ends the run."""
    same = 0
    for line in file.read_text().splitlines():
        from_us, machine, us, said_s = map(int, line.split(','))
        expected = theirs.pop((from_us, machine), 0)
        if us != expected:
            raise SystemExit(f'machine {machine}, shift from {from_us}: {us} us here, {expected} us by DuckDB')
        if abs(said_s * 1_000_000 - us) > 500_000:
            raise SystemExit(f'machine {machine}, shift from {from_us}: the report says {said_s} s of {us} us')
        same += 1
    if theirs:
        raise SystemExit(f'{len(theirs)} shifts of DuckDB are not in our report')
    return same


def measure(program, folder, changes, rounds):
    rows = states.year(changes)
    file, figures = folder / f'states-{changes}.bin', folder / f'figures-{changes}.csv'
    rows.tofile(file)
    duck, ours = Duck(rows), Ours(program, file, figures)
    same = compare(duck.figures(), figures)
    duck.round(), ours.round()
    measured = [{**duck.round(), **ours.round()} for _ in range(rounds)]
    ours.end()
    return {'about': ours.about, 'figures_that_agree': same, 'rounds': measured}
