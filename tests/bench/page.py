"""The page of results: docs/performance.md is written from what was measured, and from nothing else."""
import os
import pathlib
import platform
import subprocess

from commands import per_s
from rounds import column, ratios, spread, text


def machine():
    cpu = next((line.split(':')[1].strip() for line in open('/proc/cpuinfo') if line.startswith('model name')), 'unknown')
    memory = next(int(line.split()[1]) for line in open('/proc/meminfo') if line.startswith('MemTotal'))
    said = lambda *command: subprocess.run(command, capture_output=True, text=True).stdout.strip()
    return {'cpu': cpu, 'processors': os.cpu_count(), 'memory_gib': round(memory / 2**20),
            'system': f'{platform.system()} {platform.release()}', 'rustc': said('rustc', '--version')}


def commit():
    said = subprocess.run(['git', 'describe', '--always', '--dirty', '--abbrev=10'], capture_output=True, text=True)
    return said.stdout.strip()


def circumstances(part, rounds):
    """Ours is not the only work of most machines: what else was going on when it began."""
    count = 'one round' if len(rounds) == 1 else f'{len(rounds)} rounds'
    return (f"{count}, {part['at']}, commit {part['commit']}; load average before it began {part['load_before']:.1f} (near "
            f"0 on an idle machine); took {part['minutes']:.0f} minutes.")


def table(head, rows):
    lines = ['| ' + ' | '.join(head) + ' |', '| --- |' + ' ---: |' * (len(head) - 1)]
    return '\n'.join(lines + ['| ' + ' | '.join(row) + ' |' for row in rows])


def verdict(reached):
    return 'reached' if reached else '**missed**'


def hours(measured):
    parts = ['## Hours of a year\n', circumstances(measured['hours'], measured['hours']['years'][0]['rounds']), '', HOURS]
    for year in measured['hours']['years']:
        rounds, about = year['rounds'], year['about']
        decode = [{**one, 'decode_ms': one['unpack_ms'] + one['assemble_ms'],
                   'decode_and_report_ms': one['unpack_ms'] + one['assemble_ms'] + one['rows_ms'] + one['report_ms'],
                   'ours_ms': one['rows_ms'] + one['report_ms']} for one in rounds]
        ratio = ratios(decode, 'ours_ms', 'duckdb_ms')
        rows = [[name, text(spread(column(decode, key)), 1),
                 '1' if key == 'duckdb_ms' else text(ratios(decode, key, 'duckdb_ms'), 2)] for name, key in HOURS_ROWS]
        parts.append(f'''
**{about['transitions']:,} changes of state** ({about['entries']:,} entries, {about['stored_rows']:,} stored rows of
{about['stored_bytes'] / 2**20:.1f} MiB together). All {year['figures_that_agree']:,} figures are the same to the
microsecond on both sides.

{table(['', 'ms', 'of the time of DuckDB'], rows)}

Goal: rows and report in at most a third of DuckDB's time. {verdict(ratio['median'] <= 1 / 3).capitalize()}: {ratio['median']:.2f}.''')
    return '\n'.join(parts)


HOURS = '''Eight machines, three shifts a day in Europe/Berlin, 2025: hours in cycle for each machine and shift. DuckDB has the
changes in memory, in the order in which they arrived, and uses two threads; we have marks in memory and use one. DuckDB gives
one number for each row, ours is the whole report: eight categories, attended and unattended, the entries behind each row,
restated or not, totals. What comes before it, unpacking the stored rows and putting a machine's days together, stands beside it.'''
HOURS_ROWS = [
    ('DuckDB, from changes', 'duckdb_ms'),
    ('DuckDB, from stretches made before', 'duckdb_prepared_ms'),
    ('ours: rows and report, from marks', 'ours_ms'),
    ('of that, the sweep alone', 'sweep_ms'),
    ('ours: unpacking and assembling the marks', 'decode_ms'),
    ('ours: both', 'decode_and_report_ms'),
]


def commands(measured):
    rounds = measured['commands']['rounds']
    rate = {name: [per_s(one[name]) if isinstance(one[name], dict) else one[name] for one in rounds]
            for name in rounds[0]}
    changes = {name: [per_s(one[name], 'changes') for one in rounds] for name in ('postgres_batches', 'sqlite_batches')}
    rows = []
    for clients in (32, 128):
        theirs = rate[f'pgbench_{clients}']
        rows.append([f'pgbench -M simple, {clients} clients', text(spread(theirs)), '1', ''])
        for engine in ('postgres', 'sqlite'):
            name = f'{engine}_{clients}'
            ratio = [ours / other for ours, other in zip(rate[name], theirs)]
            p99 = text(spread([one[name]['p99_ms'] for one in rounds]), 1)
            rows.append([f'commands over HTTP, {NAMES[engine]}, {clients} clients', text(spread(rate[name])),
                         text(spread(ratio), 2), p99])
    against = spread([ours / other for ours, other in zip(rate['postgres_32'], rate['pgbench_32'])])['median']
    sqlite = spread(rate['sqlite_32'])['median']
    batches = [[f'batches of 5,000, {NAMES[name.split("_")[0]]}, 4 clients', text(spread(values)), '',
                text(spread([one[name]['p99_ms'] for one in rounds]), 1)] for name, values in changes.items()]
    slowest = min(spread(values)['median'] for values in changes.values())
    return f'''## Durable commands

{circumstances(measured['commands'], rounds)}

{COMMANDS}

{table(['', 'a second', 'of pgbench', 'p99 ms'], rows)}

Goals: at 32 clients at least as many commands on PostgreSQL as pgbench inserts: {verdict(against >= 1)} ({against:.2f}).
On SQLite at least 10,000 a second: {verdict(sqlite >= 10_000)} ({sqlite:,.0f} at 32 clients).

{table(['changes of state', 'a second', '', 'p99 ms'], batches)}

Goal: at least 100,000 changes a second: {verdict(slowest >= 100_000)} ({slowest:,.0f}).'''


NAMES = {'postgres': 'PostgreSQL', 'sqlite': 'SQLite'}
COMMANDS = '''One `POST /v1/machines/{id}/signals` with one change of state is one command: its token is checked, its key looked up, the
rule decided, the entry hashed and appended, the machine's row of the day and the outcome under the key written, all committed
durably (fsync on; SQLite in WAL mode with synchronous=FULL), then answered. Each client is one machine that goes on by 80 s a change. pgbench
commits one row into a table with one index, on the same server over the same kind of socket. After every run the ledger held exactly the
entries that had been acknowledged, and no answer was other than 2xx. The service, the database and the clients share the processors.
One access token serves all clients: its signature is verified once, then it is known by its hash until it expires.'''


def start(measured):
    size = measured['size']['entries']
    rows, report_rows, memory, verdicts = [], [], [], []
    for engine, result in measured['start']['engines'].items():
        rounds = result['rounds']
        name = NAMES[engine]
        for label, key, digits in START_ROWS:
            rows.append([f'{label}, {name}', text(spread(column(rounds, key)), digits)])
        ready, folded = (spread(column(rounds, key))['median'] for key in ('with_snapshot_ms', 'folded_per_s'))
        verdicts.append(f'{name}: ready in {ready:,.0f} ms ({verdict(ready <= 300)}), '
                        f'{folded:,.0f} entries folded a second ({verdict(folded >= 1_000_000)}).')
        for question, told in result['reports'].items():
            report_rows.append([f'{question}, {name}', f'{told["p50_ms"]:.1f}', f'{told["p99_ms"]:.1f}',
                                f'{per_s(told):,.0f}', verdict(told['p99_ms'] <= 10)])
        used = result['memory_mib']
        memory.append([name, *(f'{used[key]:.0f}' for key in ('idle', 'under_load', 'most'))])
    return f'''## Start, memory and reports on {size:,} entries

{circumstances(measured['start'], rounds)}

{START}

{table(['', 'min - median - max'], rows)}

Goals: ready within 300 ms with a snapshot; at least 1,000,000 entries folded a second. {' '.join(verdicts)}

`GET /v1/hours` of a cell of eight machines, four clients at once; goal: p99 of at most 10 ms.

{table(['', 'p50 ms', 'p99 ms', 'a second', ''], report_rows)}

Memory of the service (resident, MiB):

{table(['', 'idle', 'under load', 'the most'], memory)}'''


START = '''A ledger of eight machines in one cell, written by the service's own writer with a clock that runs ahead: mostly signals of ten
changes, one in fifty a reading, two in fifty a person's "down" and "up". Ready is when `/health/ready` first says so, counted from the start
of the process. Without a snapshot the whole ledger is folded; reading its rows from the database is timed apart from the fold itself.'''
START_ROWS = [
    ('ready with a snapshot, ms', 'with_snapshot_ms', 0),
    ('ready without one, ms', 'without_snapshot_ms', 0),
    ('reading the rows, s', 'reading_s', 2),
    ('folding them, s', 'folding_s', 2),
    ('folded, entries a second', 'folded_per_s', 0),
]


def shop(measured):
    rows, pools, memory, verdicts = [], [], [], []
    for engine, result in measured['shop']['engines'].items():
        rounds, name, used = result['rounds'], NAMES[engine], result['memory_mib']
        ratio = ratios(rounds, 'act_ms', 'bare_ms')
        rows.append([f'a bare insert, {BARE[engine]}', text(spread(column(rounds, 'bare_ms')), 3), '1', ''])
        rows.append([f'a pallet is moved, {name}', text(spread(column(rounds, 'act_ms')), 3), text(ratio, 2),
                     text(spread(column(rounds, 'act_p99_ms')), 1)])
        for clients in (1, 4):
            told = column(rounds, f'pool_{clients}')
            pools.append([f'{clients} at once, {name}', text(spread(column(told, 'p50_ms')), 2),
                          text(spread(column(told, 'p99_ms')), 2)])
        more = used['full'] - used['empty']
        memory.append([name, f"{used['empty']:.0f}", f"{used['full']:.0f}", f'{more:.0f}', f"{used['most']:.0f}"])
        slowest = spread([one['pool_4']['p99_ms'] for one in rounds])['median']
        verdicts.append(f"{name}: {ratio['median']:.2f} times the insert ({verdict(ratio['median'] <= 1.3)}), {more:.0f} MiB for "
                        f"the shop ({verdict(more <= 100)}), pool p99 {slowest:.1f} ms ({verdict(slowest <= 10)}).")
    made = next(iter(measured['shop']['engines'].values()))['made']
    return f'''## A floor of 20 cells

{circumstances(measured['shop'], next(iter(measured['shop']['engines'].values()))['rounds'])}

A shop told by commands: {len(made['cells'])} cells of two machines, {made['pallets']} pallets, all set up and loaded, {made['jobs']:,} open jobs of three
operations ({made['entries']:,} entries). {SHOP}

{table(['one client', 'ms each', 'of the insert', 'p99 ms'], rows)}

`GET /v1/cells/{{id}}/pool`, all cells in turn:

{table(['', 'p50 ms', 'p99 ms'], pools)}

Memory of the service (resident, MiB):

{table(['', 'a site without anything', 'with the shop', 'more', 'the most'], memory)}

Goals: an act on the floor in at most 1.3 times the bare insert; at most 100 MiB for the shop; the pool's p99 at most 10 ms. {' '.join(verdicts)}'''


BARE = {'postgres': 'pgbench -M simple -c 1', 'sqlite': 'SQLite, WAL and synchronous=FULL'}
SHOP = '''One client moves a pallet to and fro over HTTP, one command after the other: each is checked, decided, appended with
its rows and its outcome, and durable before it is answered. The bare insert commits one row into a table with one index, durably
too, without a network or a rule. ms each is the time of the run divided by what was done in it.'''


def plan(measured):
    problems, rows, built = measured['plan']['problems'], [], []
    for problem in problems:
        rounds = problem['rounds']
        of = lambda side: [one[side]['objective'] for one in rounds]
        found = lambda side: text(spread(of(side))) if all(value is not None for value in of(side)) else 'none'
        never_worse = all(one['ours']['objective'] <= value for one in rounds
                          for value in (one['cp_sat']['objective'], one['cp_sat_hinted']['objective']) if value is not None)
        bound = max(one[side]['bound'] for one in rounds for side in ('cp_sat', 'cp_sat_hinted'))
        rows.append([f"{problem['loads']} loads, {problem['seconds']} s", f"{problem['rule']:,}", found('ours'), found('cp_sat'),
                     found('cp_sat_hinted'), f"{rounds[0]['ours']['bound']:,}", f'{bound:,.0f}',
                     'yes' if never_worse else '**no**'])
        built.append(f"{problem['loads']} loads {spread([one['ours']['built_per_s'] for one in rounds])['median']:,.0f}")
    return f'''## Plans of pallet pools

{circumstances(measured['plan'], problems[0]['rounds'])}

{PLAN}

{table(['', 'best rule', 'ours', 'CP-SAT', 'CP-SAT, hinted', 'our bound', "CP-SAT's bound", 'never worse'], rows)}

{plan_goals(problems)} Schedules tried a second with two workers (most are given up as soon as they are too late): {', '.join(built)}.'''


def plan_goals(problems):
    said = []
    for loads, most in ((40, 1_000), (100, 78_000)):
        for problem in problems:
            if (problem['loads'], problem['seconds']) == (loads, 1):
                worst = max(one['ours']['objective'] for one in problem['rounds'])
                said.append(f'Goal: at most {most:,} for {loads} loads within 1 s: {verdict(worst <= most)} ({worst:,}).')
    return ' '.join(said)


PLAN = """Weighted tardiness in minutes of loads on six pallets with three kinds of fixtures, one spindle and one person on shifts
(`tests/bench/pools.py` makes them from a seed; this is the reduced form, not the whole model of a shop). Both sides get the same
wall time and two workers, in turns, each round with another seed; both schedules are judged by the same function. CP-SAT is
from the Python package ortools; hinted, it begins from the better of two dispatch rules, as our search does. No schedule can be
below either bound."""


def whole(measured):
    facts = measured['machine']
    parts = '\n\n'.join(section(measured) for part, section in SECTIONS.items() if part in measured)
    missing = [f'- The part "{part}" of the bench, in these runs.' for part in SECTIONS if part not in measured]
    not_measured = '\n'.join([NOT, *missing])
    return f'''# Performance

Written by `tests/bench/run`; do not edit. Ratios matter more than rates: both sides of a comparison took turns in the same
minutes. Figures are minimum - **median** - maximum of the rounds; a ratio is made within a round.

{facts['processors']} processors ({facts['cpu']}), {facts['memory_gib']} GiB, {facts['system']}, PostgreSQL {measured.get('postgres', 'not used')},
{facts['rustc']}. Each part says when it was measured, and how busy the machine was with other work: on a busy one a single writer loses
more than the 32 processes of the other side, for every process gets the same share.

{parts}

{not_measured}
'''


NOT = '''## Not measured

- Networks: everything ran on one machine. TLS was off.
- Several processes on one PostgreSQL, and several sites in one process.
- A day of one machine with far more than some thousand changes.
- Disks that lie about fsync, and disks better than this one.'''


SECTIONS = {'hours': hours, 'commands': commands, 'start': start, 'shop': shop, 'plan': plan}
