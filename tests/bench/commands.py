"""Durable commands over HTTP, in turns with durable one-row inserts by pgbench on the same server.

Each request is one command with its own key: token check, body, decision, entry, rows, outcome, commit. After each run
the ledger must have exactly the entries that were acknowledged; an answer that is no 2xx ends everything.
"""
import json
import os
import sqlite3
import subprocess

from service import Service

# The name of what is kept, and how many changes of state an entry holds.
KEPT = "select count(*), coalesce(sum({}), 0) from entry where kind = 'machine.signals_received'"
POSTGRES_CHANGES = "jsonb_array_length(convert_from(payload, 'UTF8')::jsonb -> 'state')"
SQLITE_CHANGES = "json_array_length(cast(payload as text), '$.state')"


BATCH_SECONDS = 2


class Ledger:
    """What stands in the database, asked for behind the service's back."""

    def __init__(self, service, cluster=None, database=None):
        self.service, self.cluster, self.database = service, cluster, database

    def kept(self):
        if self.cluster:
            answer = self.cluster.sql(KEPT.format(POSTGRES_CHANGES), self.database)
            return tuple(map(int, answer.split('|')))
        with sqlite3.connect(self.service.folder / 'spindlebook.sqlite') as database:
            return database.execute(KEPT.format(SQLITE_CHANGES)).fetchone()


class Sender:
    """Signals from as many machines as there are clients; the machines' time goes on from run to run."""

    def __init__(self, program, service, ledger, machines):
        self.program, self.service, self.ledger, self.machines = program, service, ledger, machines
        self.from_s = 0

    def run(self, clients, seconds, changes):
        before = self.ledger.kept()
        told = load(self.program, self.service, clients, seconds, 'signals', '--changes', changes,
                    '--from-s', self.from_s, *self.machines[:clients])
        self.from_s = told['reached_s'] + 3_600
        after = self.ledger.kept()
        kept = tuple(now - then for now, then in zip(after, before))
        if kept != (told['accepted'], told['changes']):
            raise SystemExit(f'acknowledged {told["accepted"]} entries of {told["changes"]} changes, the ledger has {kept}')
        return told


def load(program, service, clients, seconds, *what):
    command = [*program, 'load', service.address, '--clients', clients, '--seconds', seconds, *what]
    done = subprocess.run(list(map(str, command)), capture_output=True, text=True,
                          env={**os.environ, 'BENCH_TOKEN': service.token})
    if done.returncode:
        raise SystemExit(f'the load ended with {done.returncode}: {done.stderr}')
    told = json.loads(done.stdout)
    if told['refused']:
        raise SystemExit(f'{told["by_status"]}: {told["refused"]}')
    return told


def per_s(told, what='accepted'):
    return told[what] / told['seconds']


def measure(programs, folder, cluster, rounds, seconds, clients=(32, 128)):
    url = cluster.new_database('bench')
    service = Service(programs['spindlebook'], folder / 'postgres', url)
    sqlite = Service(programs['spindlebook'], folder / 'sqlite')
    measured = []
    senders = {}
    for one, ledger in ((service, Ledger(service, cluster, 'bench')), (sqlite, Ledger(sqlite))):
        one.set_up()
        one.start()
        one.sign_in()
        _, machines = one.add_machines(max(clients))
        senders[one] = Sender(programs['bench'], one, ledger, machines)
        senders[one].run(clients[0], 1, 1)
    for _ in range(rounds):
        done = {}
        for count in clients:
            done[f'pgbench_{count}'] = cluster.inserts_per_s(count, seconds)
            done[f'postgres_{count}'] = senders[service].run(count, seconds, 1)
            done[f'sqlite_{count}'] = senders[sqlite].run(count, seconds, 1)
        # In a second the machines go on by months, and the ledger takes nothing from the future.
        done['postgres_batches'] = senders[service].run(4, BATCH_SECONDS, 5_000)
        done['sqlite_batches'] = senders[sqlite].run(4, BATCH_SECONDS, 5_000)
        for one in senders:
            one.sign_in()
        measured.append(done)
    memory = {'postgres': service.memory_mib(), 'sqlite': sqlite.memory_mib()}
    for one in senders:
        one.stop()
    return {'rounds': measured, 'memory_mib': memory}
