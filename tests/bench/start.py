"""A ledger of a million entries: how soon the service is ready, what folding costs, what memory it takes, and how fast
it answers with hours of days that are over."""
import json
import sqlite3
import subprocess
import time

from commands import load
from service import Service


def bench(programs, *arguments):
    done = subprocess.run([*programs['bench'], *map(str, arguments)], capture_output=True, text=True)
    if done.returncode:
        raise SystemExit(f'bench {arguments[0]}: {done.stderr}')
    return json.loads(done.stdout)


class OnSqlite:
    name = 'sqlite'

    def __init__(self, programs, folder):
        self.service = Service(programs['spindlebook'], folder / 'start')
        self.file = self.service.folder / 'spindlebook.sqlite'
        self.url = f'sqlite://{self.file}?mode=rwc'

    def forget_snapshots(self):
        with sqlite3.connect(self.file) as database:
            database.execute('delete from snapshot')


class OnPostgres:
    name = 'postgres'

    def __init__(self, programs, folder, cluster):
        self.cluster, self.url = cluster, cluster.new_database('start')
        self.service = Service(programs['spindlebook'], folder / 'start-postgres', self.url)

    def forget_snapshots(self):
        self.cluster.sql('delete from snapshot', 'start')


def measure(programs, folder, cluster, rounds, entries, seconds):
    result = {}
    for place in (OnSqlite(programs, folder), OnPostgres(programs, folder, cluster)):
        made = bench(programs, 'ledger', place.url, '--entries', entries)
        place.service.add_user()
        measured = []
        for _ in range(rounds):
            with_snapshot = started(place.service)
            place.forget_snapshots()
            folded = bench(programs, 'fold', place.url)
            without = started(place.service)
            measured.append({'with_snapshot_ms': with_snapshot, 'without_snapshot_ms': without, **folded,
                             'folded_per_s': folded['entries'] / folded['folding_s']})
        result[place.name] = {'made': made, 'rounds': measured, **served(programs, place.service, seconds)}
    return result


def started(service):
    took_ms = service.start()
    service.stop()
    return took_ms


def served(programs, service, seconds):
    service.start()
    service.sign_in()
    time.sleep(2)
    idle = service.memory_mib()['now']
    cell = service.ask('GET', '/v1/cells')['items'][0]['id']
    machines = [one['id'] for one in service.ask('GET', '/v1/machines')['items']]
    reports = {}
    for name, question in REPORTS.items():
        path = f'/v1/hours?cell={cell}&{question}'
        service.ask('GET', path)
        reports[name] = load(programs['bench'], service, 4, seconds, 'get', path)
    told = load(programs['bench'], service, len(machines), seconds, 'signals', '--changes', 1, '--from-s',
                NEVER_TOLD_S, *machines)
    memory = {'idle': idle, 'under_load': service.memory_mib()['now'], 'most': service.memory_mib()['most']}
    service.stop()
    return {'reports': reports, 'load': told, 'memory_mib': memory}


# Questions about days that are over: the ledger begins with 2021.
REPORTS = {
    'a week by shift': 'from=2021-02-01&to=2021-02-08&by=shift',
    'a month by day': 'from=2021-02-01&to=2021-03-01&by=day',
    'a quarter by week': 'from=2021-02-01&to=2021-05-01&by=week',
}
# 2026 begins so many seconds after 2021: nothing in the ledger is as late.
NEVER_TOLD_S = 1826 * 86_400
