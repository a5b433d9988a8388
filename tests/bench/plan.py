"""Pallet pools under our search and under CP-SAT, in turns: the same wall time, two workers each, both schedules judged by
`pools.verify`."""
import json
import subprocess

from ortools.sat.python import cp_model

import pools

WORKERS = 2


def cp_sat(pool, seconds, seed, hint=None):
    """The whole reduced form: intervals on the person and the spindle, a cumulative on pallets and on each kind of fixture."""
    model, horizon = cp_model.CpModel(), pool['horizon']
    person, spindle, held, late, times = [], [], {kind: [] for kind in pool['fixtures']}, [], {}
    for load in pool['loads']:
        setup, cut, unload = (model.new_int_var(pool['start'], horizon, '') for _ in range(3))
        model.add(setup >= load['release'])
        model.add(cut >= setup + load['setup'])
        model.add(unload >= cut + load['cut'])
        person += [model.new_fixed_size_interval_var(setup, load['setup'], ''),
                   model.new_fixed_size_interval_var(unload, load['unload'], '')]
        spindle.append(model.new_fixed_size_interval_var(cut, load['cut'], ''))
        length = model.new_int_var(load['setup'] + load['cut'] + load['unload'], horizon, '')
        held[load['fixture']].append(model.new_interval_var(setup, length, unload + load['unload'], ''))
        tardiness = model.new_int_var(0, horizon, '')
        model.add(tardiness >= unload + load['unload'] - load['due'])
        late.append(load['weight'] * tardiness)
        times[load['id']] = (setup, cut, unload, tardiness, load)
    ends = [pool['attended'][0][0]] + [begin for begin, _ in pool['attended'][1:]] + [horizon + pools.DAY]
    begins = [0] + [end for _, end in pool['attended']]
    person += [model.new_fixed_size_interval_var(begin, end - begin, '') for begin, end in zip(begins, ends) if end > begin]
    model.add_no_overlap(person)
    model.add_no_overlap(spindle)
    every = [interval for intervals in held.values() for interval in intervals]
    model.add_cumulative(every, [1] * len(every), pool['pallets'])
    for kind, intervals in held.items():
        model.add_cumulative(intervals, [1] * len(intervals), pool['fixtures'][kind])
    for at in hint or ():
        setup, cut, unload, tardiness, load = times[at['id']]
        for variable, value in ((setup, at['setup_start']), (cut, at['cut_start']), (unload, at['unload_start']),
                                (tardiness, max(0, at['unload_start'] + load['unload'] - load['due']))):
            model.add_hint(variable, value)
    model.minimize(sum(late))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = WORKERS
    solver.parameters.random_seed = seed
    status = solver.solve(model)
    bound = solver.best_objective_bound
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return {'objective': None, 'bound': bound}
    schedule = [{'id': number, 'setup_start': solver.value(setup), 'cut_start': solver.value(cut),
                 'unload_start': solver.value(unload)} for number, (setup, cut, unload, _, _) in times.items()]
    return {'objective': pools.verify(pool, schedule), 'bound': bound}


def ours(program, file, pool, seconds, seed):
    done = subprocess.run([program, 'plan', 'bench', str(file), '--seconds', str(seconds), '--seed', str(seed), '--workers',
                           str(WORKERS), '--schedule'], capture_output=True, text=True)
    if done.returncode:
        raise SystemExit(f'plan bench: {done.stderr}')
    line = json.loads(done.stdout)
    objective = pools.verify(pool, line['schedule'])
    if objective != line['objective']:
        raise SystemExit(f"{file}: {line['objective']} was said, {objective} it is")
    return {'objective': objective, 'bound': line['lower_bound'], 'built_per_s': line['schedules_built'] / line['seconds']}


def measure(program, folder, rounds, seconds, sizes):
    problems = []
    for size in sizes:
        pool = pools.make(size, seed=size)
        file = folder / f'pool{size}.json'
        file.write_text(json.dumps(pool))
        rule = pools.by_rule(pool)
        for limit in seconds:
            measured = []
            for seed in range(1, rounds + 1):
                measured.append({'ours': ours(program, file, pool, limit, seed), 'cp_sat': cp_sat(pool, limit, seed),
                                 'cp_sat_hinted': cp_sat(pool, limit, seed, rule)})
            problems.append({'loads': size, 'seconds': limit, 'rule': pools.verify(pool, rule), 'rounds': measured})
    return {'problems': problems}
