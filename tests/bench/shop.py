"""A shop of 20 cells with 200 pallets and 2,000 open jobs: what one act on its floor takes, in turns with a bare durable
insert on the same engine; how much memory it costs; how soon the pool of a cell is told.

One client sends one command after the other, as one tablet does: what counts is how long a person waits.
"""
import sqlite3
import time

from commands import load, per_s
from service import Service
from start import bench

SQLITE_TABLE = 'create table event (id integer primary key, site int not null, at text not null, body text not null)'
SQLITE_INSERT = "insert into event (site, at, body) values (1, '2026-01-01T00:00:00Z', ?)"
# About as long as a payload of ours.
BODY = '{"pallet":"0193f0c2-6f4e-7c0a-9a39-5a3c0f6e1b02","from":{"stand":{"number":10}},"to":{"stand":{"number":11}},"at":1735689600000000}'
SECONDS_PER_POOL = 4


def sqlite_inserts_per_s(folder, seconds):
    """One row, one transaction, durable by itself: WAL and synchronous=FULL, as the service has it."""
    path = folder / 'bare.sqlite'
    path.unlink(missing_ok=True)
    with sqlite3.connect(path, isolation_level=None) as database:
        database.execute('pragma journal_mode = wal')
        database.execute('pragma synchronous = full')
        database.execute(SQLITE_TABLE)
        began, done = time.perf_counter(), 0
        while time.perf_counter() - began < seconds:
            database.execute(SQLITE_INSERT, (BODY,))
            done += 1
        took = time.perf_counter() - began
        assert database.execute('select count(*) from event').fetchone() == (done,)
    return done / took


class Shop:
    def __init__(self, programs, folder, cluster=None):
        self.programs, self.cluster, self.folder = programs, cluster, folder
        self.folder.mkdir(parents=True, exist_ok=True)
        name = 'postgres' if cluster else 'sqlite'
        self.empty_mib = self.alone(name)
        url = cluster.new_database('shop') if cluster else None
        self.service = Service(programs['spindlebook'], folder / 'shop', url)
        file = self.service.folder / 'spindlebook.sqlite'
        self.made = bench(programs, 'shop', url or f'sqlite://{file}?mode=rwc')
        self.service.add_user()
        self.service.start()
        self.service.sign_in()
        time.sleep(2)
        self.full_mib = self.service.memory_mib()['now']

    def alone(self, name):
        """The service with a site in which there is nothing."""
        url = self.cluster.new_database('empty') if self.cluster else None
        service = Service(self.programs['spindlebook'], self.folder / f'empty-{name}', url)
        service.set_up()
        service.start()
        service.sign_in()
        time.sleep(2)
        used = service.memory_mib()['now']
        service.stop()
        return used

    def moves(self, seconds):
        pallet = self.made['movable'][0]
        # The first move goes where it does not stand already.
        stands = sorted(self.made['stands'], key=lambda number: str(number) == self.stand_of(pallet))
        return load(self.programs['bench'], self.service, 1, seconds, 'moves', '--stand', *stands, '--', pallet)

    def stand_of(self, pallet):
        return str(self.service.ask('GET', f'/v1/pallets/{pallet}')['position'].get('number'))

    def bare_per_s(self, seconds):
        return self.cluster.inserts_per_s(1, seconds) if self.cluster else sqlite_inserts_per_s(self.folder, seconds)

    def pools(self, clients):
        paths = [f'/v1/cells/{cell}/pool' for cell in self.made['cells']]
        return load(self.programs['bench'], self.service, clients, SECONDS_PER_POOL, 'get', *paths)


def measure(programs, folder, cluster, rounds, seconds):
    result = {}
    for name in ('postgres', 'sqlite'):
        shop = Shop(programs, folder / f'shop-{name}', cluster if name == 'postgres' else None)
        shop.moves(1)
        shop.pools(1)
        measured = []
        for _ in range(rounds):
            bare = shop.bare_per_s(seconds)
            moves = shop.moves(seconds)
            shop.service.sign_in()
            measured.append({'bare_ms': 1_000 / bare, 'act_ms': 1_000 / per_s(moves), 'act_p50_ms': moves['p50_ms'],
                             'act_p99_ms': moves['p99_ms'], 'pool_1': shop.pools(1), 'pool_4': shop.pools(4)})
        memory = {'empty': shop.empty_mib, 'full': shop.full_mib, 'most': shop.service.memory_mib()['most']}
        shop.service.stop()
        result[name] = {'made': shop.made, 'rounds': measured, 'memory_mib': memory}
    return {'engines': result}
